"""Guards: built where one is missing, raised, closed up, lowered at the bottom, with posts closer together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.guard_posts import POSTS, post_lines, sized_posts
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, listed, one, several
from engine.sections import find_size
from engine.vocabulary import BY_NAME, JOIST_SIZES

WOOD = "preservative-treated or naturally durable"


def _height_rule(bench: Bench, guard: Part) -> str:
    return "guard.min_height_stair_side" if "stair" in guard.facts else "guard.min_height"


def clear_in(bench: Bench, rule: str) -> float:
    """The widest opening that is built: the ball that must not pass less an allowance for shrinking and tolerance."""
    return bench.rule(rule).value - one("opening_allowance")


@repair(kind="guard-build", owner="guard", answers=("guard.present",), title="A guard")
def build(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """A whole new guard by the adopted rules, its posts sized and its hold-downs rated."""
    is_at_stair = "stair" in guard.facts
    height_in = bench.rule(_height_rule(bench, guard)).value
    opening_in = clear_in(bench, "guard.opening_stair_side" if is_at_stair else "guard.opening_sphere")
    gap_in = clear_in(bench, "guard.opening_stair_triangle" if is_at_stair else "guard.opening_sphere")
    spacing_in = bench.rule("guard_post.max_spacing").value
    facts: dict[str, Value | None] = {
        f"{guard.id}.{name}": value
        for name, value in {
            "is_present": True,
            "height_in": height_in,
            "largest_opening_in": opening_in,
            "bottom_gap_in": gap_in,
            "post_spacing_in": spacing_in,
            **_wood_of(bench, guard),
        }.items()
    }
    made = sized_posts(bench, guard, Change(facts), keys)
    if made is None:
        return None
    change, size, rated_lb = made
    rails = Line(
        "top and bottom rail with balusters",
        "2x2 balusters",
        None,
        f"top {inches(height_in)} above the surface, posts at most {inches(spacing_in)} apart, openings at most"
        f" {inches(opening_in)}, gap at the bottom at most {inches(gap_in)}",
        material=WOOD,
    )
    return Draft(
        kind="guard-build",
        title=f"Build {guard.subject}: {inches(height_in)} high, on whole {size} posts with hold-downs",
        change=change,
        schedule=(rails, *post_lines(bench, guard, change, size, rated_lb)),
        citation="IRC R312.1; IRC Table R301.5 note d",
        marks=(Mark(guard.id, "new guard"),),
        cautions=("until it stands, keep people away from this edge",),
    )


def _wood_of(bench: Bench, guard: Part) -> dict[str, Value]:
    """Species and grade of new guard posts: as recorded for this guard, another guard, or the joists."""
    for part in (guard, *bench.deck.of_kind("guard"), *bench.deck.of_kind("joist_field")):
        if "species" in part.facts:
            return {name: value for name, value in bench.wood(part.id).items() if name in BY_NAME["guard"].index}
    return {}


@repair(kind="guard-raise", owner="guard", answers=("guard.height",), title="A higher guard")
def raise_it(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """The guard raised to the rule; with new posts where the higher lever is too much for those that are there."""
    rule = bench.rule(_height_rule(bench, guard))
    now_in = bench.number(guard.id, "height_in")
    change = Change({f"{guard.id}.height_in": rule.value})
    line = Line(
        "top rail on longer posts",
        f"{inches(rule.value - now_in)} higher",
        None,
        f"top of the guard {inches(rule.value)} above the surface, infill carried up with it",
        material=WOOD,
    )
    lines: tuple[Line, ...] = (line,)
    words = ""
    asked = bench.trial(change)
    newly = [name for name in POSTS if asked.fails(Key(name, guard.id)) and not bench.now.fails(Key(name, guard.id))]
    if newly:
        made = sized_posts(bench, guard, change, keys)
        if made is None:
            return None
        change, size, rated_lb = made
        lines = (line, *post_lines(bench, guard, change, size, rated_lb))
        words = f", on new {size} posts with hold-downs"
    return Draft(
        kind="guard-raise",
        title=f"Raise {guard.subject} to {inches(rule.value)}{words}",
        change=change,
        schedule=lines,
        citation=rule.citation,
        marks=(Mark(guard.id, "guard raised"),),
        cautions=("a rail on top of old posts must carry the push at its new height: new posts where it cannot",),
    )


@repair(kind="guard-balusters", owner="guard", answers=("guard.opening",), title="Openings closed with balusters")
def balusters(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """Balusters so close that the ball does not pass; counted for each bay where the post spacing is known."""
    rule = "guard.opening_stair_side" if "stair" in guard.facts else "guard.opening_sphere"
    clear, side_in = clear_in(bench, rule), one("baluster_side")
    spacing, size = bench.recorded(guard.id, "post_spacing_in"), bench.value(guard.id, "post_size")
    pattern = f"clear openings of at most {inches(clear)}: at most {inches(clear + side_in)} on centre"
    opening_in, along = clear, ""
    places: tuple[float, ...] = ()
    count: int | None = None
    if isinstance(spacing, float) and isinstance(size, str):
        bay_in = spacing - find_size(size).width_in
        count = max(0, math.ceil((bay_in - clear) / (clear + side_in) - 1e-9))
        opening_in = (bay_in - count * side_in) / (count + 1)
        places = tuple(round(opening_in + side_in / 2 + n * (opening_in + side_in), 4) for n in range(count))
        pattern = (
            f"{count} in each bay of {inches(bay_in)} between posts: {inches(opening_in)} clear,"
            f" {inches(opening_in + side_in)} on centre"
        )
        along = "centres, from the face of a post"
    line = Line("2x2 baluster", "1 1/2 in", count, pattern, places, along, material=WOOD)
    return Draft(
        kind="guard-balusters",
        title=f"Close the openings of {guard.subject} with balusters, {inches(opening_in)} clear",
        change=Change({f"{guard.id}.largest_opening_in": opening_in}),
        schedule=(line,),
        citation=bench.rule(rule).citation,
        marks=(Mark(guard.id, "new balusters"),),
        cautions=("the count is for each bay; a shorter bay at the end is set out anew",) if count else (),
    )


@repair(kind="guard-bottom", owner="guard", answers=("guard.bottom_gap",), title="A lower bottom rail")
def lower_bottom(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    rule = "guard.opening_stair_triangle" if "stair" in guard.facts else "guard.opening_sphere"
    gap_in = clear_in(bench, rule)
    line = Line(
        "bottom rail lowered, or a second one below it",
        "2x4",
        None,
        f"gap under it at most {inches(gap_in)}",
        material=WOOD,
    )
    return Draft(
        kind="guard-bottom",
        title=f"Close the gap under {guard.subject} to {inches(gap_in)}",
        change=Change({f"{guard.id}.bottom_gap_in": gap_in}),
        schedule=(line,),
        citation=bench.rule(rule).citation,
        marks=(Mark(guard.id, "bottom rail"),),
    )


@repair(kind="guard-more-posts", owner="guard", answers=("guard.post_spacing",), title="More guard posts")
def more_posts(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """The fewest posts put into each bay that bring them as close as the detail asks."""
    spacing_in = bench.number(guard.id, "post_spacing_in")

    def change(more: int) -> Change:
        return Change({f"{guard.id}.post_spacing_in": spacing_in / (more + 1)})

    more = bench.first((1, 2, 3, 4), change, keys)
    if more is None:
        return None
    size = str(bench.value(guard.id, "post_size"))
    step_in = spacing_in / (more + 1)
    line = Line(
        "guard post",
        size,
        more,
        f"in each bay of more than {inches(bench.rule('guard_post.max_spacing').value)}: {inches(step_in)} post to"
        " post;"
        " fastened like a new post, not like a notched or lagged old one",
        tuple(step_in * (n + 1) for n in range(more)),
        "from a post",
        material=bench.wood_words(guard.id),
    )
    return Draft(
        kind="guard-more-posts",
        title=f"Put {several(more, 'more post')} into each bay of {guard.subject}",
        change=change(more),
        schedule=(line,),
        citation=bench.rule("guard_post.max_spacing").citation,
        marks=(Mark(guard.id, "new posts"),),
    )


@repair(kind="guard-rim", owner="guard", answers=("guard.rim",), title="A deeper rim")
def deeper_rim(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    def change(size: str) -> Change:
        return Change({f"{guard.id}.rim_size": size})

    size = bench.first(JOIST_SIZES, change, keys)
    if size is None:
        return None
    line = Line(
        "rim joist",
        size,
        None,
        f"along {guard.subject}, fastened to every joist end with"
        f" {bench.rule('joist.rim_nails').value:g} 10d nails and blocked at the guard posts",
        material=WOOD,
    )
    return Draft(
        kind="guard-rim",
        title=f"Put a {size} rim behind {guard.subject}",
        change=change(size),
        schedule=(line,),
        citation=bench.rule("joist.rim_min_where_guards").citation,
        marks=(Mark(guard.id, "new rim"),),
    )


@repair(kind="guard-rail", owner="guard", answers=("guard.rail",), title="A stronger top rail")
def stronger_rail(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """A wider top rail, or posts closer together: the first that holds."""
    spacing_in = bench.number(guard.id, "post_spacing_in")
    sizes = BY_NAME["guard"].index["rail_size"].choices
    now = bench.text(guard.id, "rail_size")

    def change(made: tuple[int, str]) -> Change:
        facts: dict[str, Value | None] = {f"{guard.id}.rail_size": made[1]}
        if made[0]:
            facts[f"{guard.id}.post_spacing_in"] = spacing_in / (made[0] + 1)
        return Change(facts)

    found = bench.first([(more, size) for more in (0, 1, 2) for size in sizes], change, keys)
    if found is None:
        return None
    more, size = found
    lines = [Line("top rail", size, None, f"along all of {guard.subject}, over posts only joined", material=WOOD)]
    words = [] if size == now else [f"a {size} top rail"]
    if more:
        post = str(bench.value(guard.id, "post_size"))
        step_in = spacing_in / (more + 1)
        lines.append(Line("guard post", post, more, f"in each bay: {inches(step_in)} post to post", material=WOOD))
        words.append(several(more, "more post") + " in each bay")
    return Draft(
        kind="guard-rail",
        title=f"Give {guard.subject} {' and '.join(words)}",
        change=change(found),
        schedule=tuple(lines if size != now or not more else lines[1:]),
        citation="IRC Table R301.5 note d; NDS 3.3",
        marks=(Mark(guard.id, "top rail"),),
        cautions=("a new post is fastened like the tested ones, with a hold-down",) if more else (),
    )


@repair(
    kind="guard-balusters-refasten",
    owner="guard",
    answers=("guard.baluster_fastening",),
    title="Balusters screwed to their rails",
)
def screwed_balusters(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """Two screws at each end, of the shortest listed length that holds."""
    diameter_in = one("baluster_screw")

    def change(length_in: float) -> Change:
        facts: dict[str, Value | None] = {
            "baluster_fastener": "wood screw",
            "baluster_fasteners": 2,
            "baluster_fastener_diameter_in": diameter_in,
            "baluster_fastener_length_in": length_in,
        }
        return Change({f"{guard.id}.{name}": value for name, value in facts.items()})

    length_in = bench.first(listed("baluster_screw_length"), change, keys)
    if length_in is None:
        return None
    line = Line(
        "wood screw",
        f"No. 10 x {inches(length_in)}",
        None,
        "two at each end of every baluster",
        material="hot-dip galvanized or stainless",
    )
    return Draft(
        kind="guard-balusters-refasten",
        title=f"Screw the balusters of {guard.subject} to their rails",
        change=change(length_in),
        schedule=(line,),
        citation="IRC Table R301.5 note f; NDS 12.2",
        marks=(Mark(guard.id, "balusters screwed"),),
    )


@repair(kind="guard-rail-ends", owner="guard", answers=("guard.rail_end",), title="Rail ends screwed to their posts")
def screwed_rail_ends(bench: Bench, guard: Part, keys: Sequence[Key]) -> Draft | None:
    """The fewest screws of the longest listed length that hold each end of the top rail."""
    diameter_in, length_in = one("baluster_screw"), listed("baluster_screw_length")[-1]

    def change(count: int) -> Change:
        facts: dict[str, Value | None] = {
            "rail_fastener": "wood screw",
            "rail_fasteners": count,
            "rail_fastener_diameter_in": diameter_in,
            "rail_fastener_length_in": length_in,
        }
        return Change({f"{guard.id}.{name}": value for name, value in facts.items()})

    count = bench.first(range(2, 7), change, keys)
    if count is None:
        return None
    line = Line(
        "wood screw",
        f"No. 10 x {inches(length_in)}",
        None,
        f"{count} at each end of the top rail, through the rail into the post",
        material="hot-dip galvanized or stainless",
    )
    return Draft(
        kind="guard-rail-ends",
        title=f"Screw the ends of the top rail of {guard.subject} to its posts",
        change=change(count),
        schedule=(line,),
        citation="IRC Table R301.5 note d; NDS 12.3",
        marks=(Mark(guard.id, "rail ends screwed"),),
    )
