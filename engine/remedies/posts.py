"""Posts: a larger one, a brace, a base that keeps its foot dry."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, several
from engine.remedies.supports import ABOVE_CONCRETE
from engine.sections import find_size
from engine.vocabulary import POST_SIZES

POST = ("post.compression", "post.slenderness", "post.height_table", "post.size")
CITATION = "NDS 3.7; IRC R507.4"


def new_post_facts(size: str) -> dict[str, Value]:
    """A new post of that size: whole, sound, on a base above the concrete."""
    return {"size": size, "notch_depth_in": 0.0, "base": ABOVE_CONCRETE, "decay_depth_in": 0.0}


@repair(kind="post-larger", owner="beam", answers=POST, title="Larger posts")
def larger(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """The smallest size that holds for all posts of a beam that fail; a notch for the beam is kept as deep as it is."""
    posts = _of(bench, beam, keys)

    def change(size: str) -> Change:
        facts: dict[str, Value | None] = {}
        for post in posts:
            made = new_post_facts(size)
            if bench.recorded(beam.id, "seat") == "in a notch of the post":
                del made["notch_depth_in"]
            facts |= {f"{post.id}.{name}": value for name, value in made.items()}
        return Change(facts)

    size = bench.first(POST_SIZES, change, keys)
    if size is None:
        return None
    heights = ", ".join(f"{post.id} {inches(bench.number(post.id, 'height_in'))}" for post in posts)
    width_in = find_size(size).width_in
    line = Line(
        "post",
        size,
        len(posts),
        f"in place of the old ones; heights: {heights}; on a metal base above the concrete",
        _places(bench, posts),
        "from the left end of the beam",
        material=bench.wood_words(posts[0].id),
    )
    return Draft(
        "post-larger",
        f"Put {several(len(posts), f'new {size} post')} under {beam.subject} in place of"
        f" {', '.join(post.id for post in posts)}",
        change(size),
        (line,),
        CITATION,
        tuple(Mark(post.id, "new post") for post in posts),
        (),
        (
            "the beam must be held up while a post is changed",
            f"bases and caps for a {size} post; the footing must be wider than {inches(width_in)}",
        ),
    )


def _of(bench: Bench, beam: Part, keys: Sequence[Key]) -> list[Part]:
    failing = {key.part_id for key in keys}
    return [post for post in bench.referring(beam.id, "post") if post.id in failing]


def _places(bench: Bench, posts: Sequence[Part]) -> tuple[float, ...]:
    found = [bench.recorded(post.id, "position_in") for post in posts]
    return tuple(value for value in found if isinstance(value, float))


@repair(
    kind="post-brace",
    owner="beam",
    answers=("post.bracing", "post.bracing_across"),
    title="Diagonal braces at the posts",
)
def braces(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    posts = _of(bench, beam, keys)
    drop_in = bench.rule_or("brace.drop", 24.0)
    level = bench.level_of(beam.id)
    is_free = level is not None and bench.recorded(level.id, "stands") == "free-standing"
    names = ("is_braced", "is_braced_across") if is_free else ("is_braced",)
    made: dict[str, Value | None] = {
        **dict.fromkeys(names, True),
        "brace_size": "2x4",
        "brace_lies": "lapped on their sides",
        "brace_drop_in": drop_in,
        "brace_run_in": drop_in,
        "brace_fastener": "bolt",
        "brace_fasteners": 1,
        "brace_fastener_diameter_in": 0.5,
    }
    change = Change({f"{post.id}.{name}": value for post in posts for name, value in made.items()})
    ways = "along the beam and across it" if is_free else "along the beam"
    line = Line(
        "diagonal brace",
        "2x4 or larger, at 45 degrees",
        len(posts) * (2 if is_free else 1),
        f"{ways}, from"
        " each post"
        f" about {inches(drop_in)} below the beam up to beam or joists; a half-inch bolt at each"
        " end",
        _places(bench, posts),
        "from the left end of the beam",
        material="preservative-treated; hot-dip galvanized bolts",
    )
    return Draft(
        "post-brace",
        f"Brace {several(len(posts), 'post')} of {beam.subject}",
        change,
        (line,),
        bench.rule("brace.post_height_trigger").citation,
        tuple(Mark(post.id, "new brace") for post in posts),
        ("a brace is a prescribed detail; what it carries sideways is worked out for a free-standing deck only",),
    )


@repair(kind="post-base", owner="beam", answers=("post.foot",), title="Bases that hold the posts above the concrete")
def bases(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    posts = _of(bench, beam, keys)
    facts: dict[str, Value | None] = {f"{post.id}.base": ABOVE_CONCRETE for post in posts}
    line = Line(
        "post base",
        "for the size of each post, standing off at least 1 in (common practice, no published source)",
        len(posts),
        "cast or anchored into the footing: " + ", ".join(post.id for post in posts),
        _places(bench, posts),
        "from the left end of the beam",
        material="steel, hot-dip galvanized or stainless",
    )
    bare = [post for post in posts if not bench.referring(post.id, "footing")]
    cautions = ["a base needs concrete to be anchored in: under a loose block a footing is cast first"]
    if bare:
        cautions.append("no footing is recorded under " + ", ".join(post.id for post in bare))
    return Draft(
        "post-base",
        f"Set {several(len(posts), 'post')} of {beam.subject} on metal bases above the concrete",
        Change(facts),
        (line,),
        "IRC R507.4.1",
        tuple(Mark(post.id, "new base") for post in posts),
        ("the footings under them are good enough to anchor in",),
        tuple(cautions),
    )
