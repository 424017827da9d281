"""Guard posts: whole posts on bolts with a hold-down, rated for the pull that a push at the top makes."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Asking, Key
from engine.remedies.bench import Bench, Needs
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, listed, one, round_up
from engine.sections import find_size
from engine.vocabulary import BY_NAME, POST_SIZES

POSTS = (
    "guard.post_detail",
    "guard.post_notch",
    "guard.post_bending",
    "guard.pull_outward",
    "guard.pull_inward",
    "guard.push_down",
    "guard.tested",
)
HELD_DOWN = "bolts with a hold-down tension device"
CITATION = "IRC R301.5 note d; DCA 6-2012 Figures 24-25"
_RATING = BY_NAME["guard"].index["hold_down_rated_lb"]


@repair(kind="guard-posts", owner="guard", answers=POSTS, title="New guard posts with hold-downs")
def new_posts(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """The smallest whole post that holds, on two bolts through the rim with a hold-down of the rating it needs."""
    made = sized_posts(bench, guard, Change(), keys)
    if made is None:
        return None
    change, size, rated_lb = made
    return Draft(
        kind="guard-posts",
        title=f"Put whole {size} posts with hold-downs rated for at least {rated_lb:g} lb in {guard.subject}",
        change=change,
        schedule=post_lines(bench, guard, change, size, rated_lb),
        citation=CITATION,
        marks=(Mark(guard.id, "new posts"),),
        assumptions=("the joist behind the rim is sound and carries the hold-down's pull along its grain",),
        cautions=(
            "a post between joists needs blocking that carries the pull to the next joists",
            "an inward push pulls the lower bolt: it is compared with the same rating, so it must be tied back as well",
        ),
    )


@repair(
    kind="guard-hold-down",
    owner="guard",
    answers=("guard.pull_outward", "guard.pull_inward", "guard.tested"),
    title="Hold-downs at the guard posts",
)
def hold_downs(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """Hold-downs at the posts as they stand, where post and bolts are good enough."""
    held = bench.text(guard.id, "attachment")
    if not held.startswith("bolts"):
        return None
    first = Change({f"{guard.id}.attachment": HELD_DOWN})
    rated_lb = needed_rating_lb(bench, guard, first)
    if rated_lb is None:
        return None
    change = first.with_(Change({f"{guard.id}.hold_down_rated_lb": rated_lb}))
    asked = bench.trial(change)
    if not all(asked.clears(key) for key in keys) or _fails(asked, guard):
        return None
    return Draft(
        kind="guard-hold-down",
        title=f"Add hold-downs rated for at least {rated_lb:g} lb at the posts of {guard.subject}",
        change=change,
        schedule=(_hold_down(rated_lb),),
        citation=CITATION,
        marks=(Mark(guard.id, "new hold-downs"),),
        cautions=("the device bolts to a joist, not to the rim alone",),
    )


def sized_posts(bench: Bench, guard: Part, base: Change, keys: Sequence[Key]) -> tuple[Change, str, float] | None:
    """`base` with new posts of the smallest size that holds; their size and the rating of their hold-downs (lb)."""
    rim = rim_of(bench, guard, base)
    for size in POST_SIZES:
        first = base.with_(
            Change({f"{guard.id}.{name}": value for name, value in _made(bench, guard, size, rim).items()})
        )
        rated_lb = needed_rating_lb(bench, guard, first)
        if rated_lb is None:
            continue
        change = first.with_(Change({f"{guard.id}.hold_down_rated_lb": rated_lb}))
        asked = bench.trial(change)
        if all(asked.clears(key) for key in keys) and not _fails(asked, guard):
            return change, size, rated_lb
    return None


def _made(bench: Bench, guard: Part, size: str, rim: str) -> dict[str, Value]:
    """A new post: whole, two bolts as far apart as the rim allows (four diameters from its lower edge).

    Where washers were recorded the new ones are the widest that are listed.
    """
    washers: dict[str, Value] = {"washer_in": listed("plate_washer")[-1]} if "washer_in" in guard.facts else {}
    diameter_in = bench.rule("guard_post.bolt_diameter").value
    top_in = bench.rule("guard_post.bolt_edge_top_min").value
    return {
        **washers,
        "post_size": size,
        "post_notch_in": 0.0,
        "attachment": HELD_DOWN,
        "bolts": int(bench.rule("guard_post.bolts").value),
        "bolt_diameter_in": diameter_in,
        "rim_size": rim,
        "upper_bolt_from_top_in": top_in,
        "bolt_spacing_in": find_size(rim).depth_in - top_in - 4 * diameter_in,
        "decay_depth_in": 0.0,
    }


def rim_of(bench: Bench, guard: Part, base: Change) -> str:
    """The rim joist as recorded, else as deep as the joists of the level. Raises Needs where neither is known."""
    there = base.facts.get(f"{guard.id}.rim_size") or bench.recorded(guard.id, "rim_size")
    if isinstance(there, str):
        return there
    level = bench.level_of(guard.id)
    fields = bench.of_level(level.id, "joist_field") if level is not None else []
    sizes = [size for field in fields if isinstance(size := bench.recorded(field.id, "size"), str)]
    if not sizes:
        raise Needs(f"rim size of {guard.subject} (the rim joist the posts are fastened to)")
    return min(sizes, key=lambda each: find_size(each).depth_in)


def needed_rating_lb(bench: Bench, guard: Part, change: Change) -> float | None:
    """The tension (lb) that a hold-down needs: the larger pull of a push outward and inward, and the detail's least."""
    asked = bench.trial(change.with_(Change({f"{guard.id}.hold_down_rated_lb": _RATING.high})))
    pulls = [asked.check(name, guard.id) for name in ("guard.pull_outward", "guard.pull_inward")]
    if not all(check is not None and check.demand is not None for check in pulls):
        return None
    pull_lb = max(check.demand for check in pulls if check is not None and check.demand is not None)
    needed = max(pull_lb, bench.rule_or("guard_post.holddown_min_tension", 0.0))
    rated_lb = round_up(needed, one("hold_down_step"))
    return rated_lb if rated_lb <= _RATING.high else None


def _fails(asked: Asking, guard: Part) -> bool:
    return any(asked.fails(Key(name, guard.id)) for name in POSTS)


def _hold_down(rated_lb: float) -> Line:
    return Line(
        "hold-down tension device",
        f"allowable tension at least {rated_lb:g} lb",
        None,
        "at each post, from the bolt back to a joist",
        material="G185 galvanized or stainless",
    )


def post_lines(bench: Bench, guard: Part, change: Change, size: str, rated_lb: float) -> tuple[Line, ...]:
    """New posts with bolts and hold-downs, as lines of a schedule."""
    facts = {
        name: change.facts[f"{guard.id}.{name}"] for name in ("upper_bolt_from_top_in", "bolt_spacing_in", "bolts")
    }
    top_in, apart_in = float(str(facts["upper_bolt_from_top_in"])), float(str(facts["bolt_spacing_in"]))
    spacing = bench.recorded(guard.id, "post_spacing_in")
    apart = f"post to post {inches(spacing)}; " if isinstance(spacing, float) else ""
    return (
        Line(
            "guard post",
            size,
            None,
            f"{apart}every post of this guard; not notched",
            material=bench.wood_words(guard.id),
        ),
        Line(
            "half-inch through-bolt with washers",
            "1/2 in, through post and rim",
            None,
            f"{facts['bolts']} at each post",
            edges=f"upper bolt {inches(top_in)} below the top of the rim, lower bolt {inches(apart_in)} below the"
            " upper",
            material="hot-dip galvanized or stainless",
        ),
        _hold_down(rated_lb),
    )


@repair(
    kind="guard-washers",
    owner="guard",
    answers=("guard.washers", "guard.washer_bearing"),
    title="Wider washers at the guard posts",
)
def wider_washers(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """The smallest of the listed plate washers that holds."""

    def change(washer_in: float) -> Change:
        return Change({f"{guard.id}.washer_in": washer_in})

    washer_in = bench.first(listed("plate_washer"), change, keys)
    if washer_in is None:
        return None
    line = Line(
        "plate washer",
        f"{inches(washer_in)} across",
        None,
        "under the head and the nut of every bolt of the posts",
        material="hot-dip galvanized or stainless",
    )
    return Draft(
        kind="guard-washers",
        title=f"Put plate washers of {inches(washer_in)} under the bolts of {guard.subject}",
        change=change(washer_in),
        schedule=(line,),
        citation="NDS 12.1.3.3; NDS 3.10.2",
        marks=(Mark(guard.id, "new washers"),),
    )
