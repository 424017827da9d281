"""How a beam sits and where it is joined: posts under it instead of beside it, more bearing, joints over posts."""

from __future__ import annotations

from collections.abc import Sequence

from engine.checks.plies import NOTCH, ON_TOP
from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.beams import length_of_in
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.posts import POST, new_post_facts
from engine.remedies.sizes import inches, one, several
from engine.sections import find_size
from engine.vocabulary import BY_NAME, POST_SIZES

PARTLY = ("beam.bearing_width", "beam.ply_hold")
FULL_BEARING = "IRC R507.5.1; AWC FAQ"
CAP = "steel post cap with its maker's fasteners, G185 galvanized or stainless"


@repair(
    kind="seat-on-top",
    owner="beam",
    answers=("beam.seat", "beam.bearing_width", "beam.ply_hold", "beam.bearing_on_post", "post.seat_bolts", *POST),
    title="Posts under the whole beam, not beside it",
)
def on_top(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """New posts with their caps under a beam that hangs on bolts beside its posts, or stands only partly on them."""
    seat = bench.text(beam.id, "seat")
    is_partly = seat == NOTCH and any(key.check_id in PARTLY for key in keys)
    if seat != "bolted to the side of the post" and not is_partly:
        return None
    posts = bench.referring(beam.id, "post")
    if not posts:
        return None
    width_in = bench.count(beam.id, "plies") * find_size(bench.text(beam.id, "size")).width_in

    def change(made: tuple[str, float]) -> Change:
        size, bearing_in = made
        facts: dict[str, Value | None] = {
            f"{beam.id}.seat": ON_TOP,
            f"{beam.id}.bearing_in": bearing_in,
            f"{beam.id}.seat_bolts": None,
            f"{beam.id}.seat_bolt_diameter_in": None,
        }
        for post in posts:
            facts |= {f"{post.id}.{name}": value for name, value in new_post_facts(size).items()}
        return Change(facts)

    sizes = [each for each in POST_SIZES if find_size(each).depth_in >= width_in]
    found = bench.first([(size, find_size(size).width_in) for size in sizes], change, keys)
    if found is None:
        return None
    size, least_in = found
    lengths_in = [least_in + one("bearing_step") * n for n in range(13)]
    bearing_in = next((each for each in lengths_in if _bears(bench, change((size, each)), posts)), least_in)
    moved_in = (find_size(size).depth_in + width_in) / 2
    at = tuple(value for post in posts if isinstance(value := bench.recorded(post.id, "position_in"), float))
    post_line = Line(
        "post",
        size,
        len(posts),
        "cut to the underside of the beam, in place of " + ", ".join(post.id for post in posts),
        at,
        "from the left end of the beam",
        material=bench.wood_words(posts[0].id),
    )
    cap = Line(
        "post cap",
        f"for a {size} post and a beam {inches(width_in)} wide",
        len(posts),
        f"one on each post, with a seat {inches(bearing_in)} long",
        material=CAP,
    )
    title = f"Set {several(len(posts), f'new {size} post')} with post caps under {beam.subject}"
    return Draft(
        "seat-on-top",
        title,
        change((size, bearing_in)),
        (post_line, cap),
        FULL_BEARING,
        tuple(Mark(post.id, "new post") for post in posts),
        ("each new post stands in the middle of its footing",),
        (
            f"a post that moves under the beam stands about {inches(moved_in)} beside the old one: where that is not"
            " the middle of the footing, the footing is made new too",
            "the beam must be held up while a post is changed",
        ),
    )


def _bears(bench: Bench, change: Change, posts: Sequence[Part]) -> bool:
    asked = bench.trial(change)
    return not any(asked.fails(Key("beam.bearing_on_post", post.id)) for post in posts)


@repair(
    kind="seat-cap",
    owner="beam",
    answers=("beam.bearing_length", "beam.bearing_at_splice", "beam.bearing_on_post"),
    title="More bearing on the posts",
)
def longer_bearing(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """Post caps with a seat long enough for the load, in half inches."""
    now_in, step_in = bench.number(beam.id, "bearing_in"), one("bearing_step")
    fact = BY_NAME["beam"].index["bearing_in"]

    def change(bearing_in: float) -> Change:
        return Change({f"{beam.id}.bearing_in": bearing_in})

    lengths = [step_in * n for n in range(1, int(fact.high / step_in) + 1) if step_in * n > now_in]
    found_in = bench.first(lengths, change, keys)
    if found_in is None:
        return None
    posts = bench.referring(beam.id, "post")
    line = Line(
        "post cap or bearing plate",
        f"at least {inches(found_in)} of bearing along the beam",
        len(posts) or None,
        "one on each post",
        material=CAP,
    )
    return Draft(
        "seat-cap",
        f"Give {beam.subject} at least {inches(found_in)} of bearing on its posts",
        change(found_in),
        (line,),
        "IRC R507.5.1; NDS 3.10",
        tuple(Mark(post.id, "post cap") for post in posts),
    )


@repair(kind="beam-rejoin", owner="beam", answers=("beam.splice",), title="The joints of the beam over its posts")
def joints_over_posts(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    change = Change({f"{beam.id}.runs": "spliced over posts", f"{beam.id}.decay_depth_in": 0.0})
    if not bench.clears(change, keys):
        return None
    plies, size = bench.count(beam.id, "plies"), bench.text(beam.id, "size")
    line = Line(
        "beam",
        f"{plies} plies of {size}",
        1,
        f"{inches(length_of_in(bench, beam))} in all; every ply runs from post to post and is joined over a post only",
        material=bench.wood_words(beam.id),
    )
    return Draft(
        "beam-rejoin",
        f"Rebuild {beam.subject} with its joints over the posts",
        change,
        (line,),
        "statics; IRC R507.5",
        (Mark(beam.id, "new plies"),),
        (),
        ("the joists must be held up while the plies are changed",),
    )
