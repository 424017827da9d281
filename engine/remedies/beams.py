"""Beams that are too weak: another ply, a deeper beam, or a post in the middle of the span."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import OneOf, Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import PRACTICE, Draft, Line, Mark
from engine.remedies.new_beam import ply_nails
from engine.remedies.sizes import inches
from engine.remedies.supports import NewPost, stand_up
from engine.sections import find_size
from engine.vocabulary import BEAM_SIZES, BY_NAME

STRENGTH = (
    "beam.bending", "beam.shear", "beam.live_deflection", "beam.total_deflection", "beam.tip_deflection",
    "beam.span_table",
)  # fmt: skip
CITATION = "NDS 3.3, 3.4; IRC R507.5"
MOST_PLIES = int(BY_NAME["beam"].index["plies"].high)


@repair(kind="beam-ply", owner="beam", answers=STRENGTH, title="Another ply on the beam")
def another_ply(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    plies = bench.count(beam.id, "plies")
    if not bench.text(beam.id, "size").startswith("2x"):
        return None  # a solid beam is not built up of plies

    def change(more: int) -> Change:
        nails = {f"{beam.id}.{name}": value for name, value in ply_nails(bench).items()} if plies == 1 else {}
        return Change({**nails, f"{beam.id}.plies": plies + more})

    more = bench.first(range(1, MOST_PLIES - plies + 1), change, keys)
    if more is None:
        return None
    size, length_in = bench.text(beam.id, "size"), length_of_in(bench, beam)
    line = Line(
        "ply of the beam",
        size,
        more,
        f"{inches(length_in)} long, joined over a post only; 10d nails in two"
        " rows"
        f" at 16 in along each edge ({PRACTICE})",
        material=bench.wood_words(beam.id),
    )
    word = "a ply" if more == 1 else f"{more} plies"
    return Draft(
        "beam-ply",
        f"Add {word} of {size} to {beam.subject}",
        change(more),
        (line,),
        CITATION,
        (Mark(beam.id, "new ply"),),
        (),
        _width_cautions(bench, beam, plies + more),
    )


def _width_cautions(bench: Bench, beam: Part, plies: int) -> tuple[str, ...]:
    """Each ply must stand on the posts: which of them are too narrow for that."""
    width_in = plies * find_size(bench.text(beam.id, "size")).width_in
    words = ["each ply must bear on the posts like the others, or it carries nothing"]
    for post in bench.referring(beam.id, "post"):
        size = bench.recorded(post.id, "size")
        if isinstance(size, str) and find_size(size).depth_in < width_in:
            words.append(
                f"{post.subject} ({size}) is narrower than the {inches(width_in)} of the beam: post cap or larger post"
            )
    return tuple(words)


@repair(kind="beam-deeper", owner="beam", answers=STRENGTH, title="A deeper beam")
def deeper(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """A beam of the same thickness and wood, of the next depth that holds; the posts become shorter by as much."""
    size = find_size(bench.text(beam.id, "size"))
    posts = [post for post in bench.referring(beam.id, "post") if isinstance(post.facts.get("height_in"), float)]

    def change(name: str) -> Change:
        lower_in = find_size(name).depth_in - size.depth_in
        facts: dict[str, Value | None] = {f"{beam.id}.size": name, f"{beam.id}.decay_depth_in": 0.0}
        for post in posts:
            height_in = post.facts["height_in"]
            assert isinstance(height_in, float)
            facts[f"{post.id}.height_in"] = height_in - lower_in
        return Change(facts)

    room_in = min((float(str(post.facts["height_in"])) for post in posts), default=0.0)
    sizes = [
        name
        for name in BEAM_SIZES
        if find_size(name).width_in == size.width_in and 0 < find_size(name).depth_in - size.depth_in < room_in - 1
    ]
    name = bench.first(sizes, change, keys)
    if name is None:
        return None
    plies = bench.count(beam.id, "plies")
    lower_in = find_size(name).depth_in - size.depth_in
    line = Line(
        "beam",
        f"{plies} plies of {name}",
        1,
        f"{inches(length_of_in(bench, beam))} long, in place of the old one; posts cut {inches(lower_in)} shorter",
        material=bench.wood_words(beam.id),
    )
    return Draft(
        "beam-deeper",
        f"Put a {plies}-ply {name} beam in place of {beam.subject}",
        change(name),
        (line,),
        CITATION,
        (Mark(beam.id, "new beam"),),
        (),
        ("the joists must be held up while the beam is off",),
    )


@repair(kind="beam-post", owner="beam", answers=STRENGTH, title="A post in the middle of the beam's span")
def post_in_the_middle(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """A post in the middle of every span that fails; of every span if the failing check names none."""
    spans_in = bench.numbers(beam.id, "spans_in")
    posts = bench.referring(beam.id, "post")
    named = sorted({key.place for key in keys if key.place >= 0})
    for wanted in dict.fromkeys((tuple(named), tuple(range(len(spans_in))))):
        if not wanted:
            continue
        draft = _with_posts(bench, beam, keys, spans_in, list(posts), wanted)
        if draft is not None:
            return draft
    return None


def _with_posts(
    bench: Bench,
    beam: Part,
    keys: Sequence[Key],
    spans_in: tuple[float, ...],
    posts: list[Part],
    wanted: Sequence[int],
) -> Draft | None:
    if len(posts) != len(spans_in) + 1:
        return None  # it is not known which posts a span stands on
    have_places = all(bench.recorded(post.id, "position_in") is not None for post in posts)
    if have_places:
        posts = sorted(posts, key=lambda post: bench.number(post.id, "position_in"))
    halves: list[float] = []
    new: list[NewPost] = []
    along_in = bench.number(beam.id, "overhang_left_in")
    for number, span_in in enumerate(spans_in):
        if number in wanted:
            halves += [span_in / 2, span_in / 2]
            heights = [bench.number(post.id, "height_in") for post in posts[number : number + 2]]
            at_in = along_in + span_in / 2 if have_places else None
            new.append(NewPost(at_in, max(heights), before=posts[number + 1].id))
        else:
            halves.append(span_in)
        along_in += span_in
    facts: dict[str, Value | None] = {
        f"{beam.id}.spans_in": tuple(halves),
        f"{beam.id}.runs": _runs(bench, beam, spans_in),
    }
    seat = bench.recorded(beam.id, "seat")
    if seat == "bolted to the side of the post":
        return None  # the new post would stand under a beam that is not over the others
    seat_in = bench.recorded(beam.id, "bearing_in")
    stand = stand_up(
        bench, Change(facts), beam.id, new, keys=keys, seat_in=seat_in if isinstance(seat_in, float) else 1.5
    )
    if stand is None:
        return None
    spans = " and ".join(f"span {number + 1}" for number in wanted)
    return Draft(
        kind="beam-post",
        title=f"Put {stand.words} under {beam.subject}, in the middle of {spans}",
        change=stand.change,
        schedule=stand.lines,
        citation=CITATION + "; IRC R507.3, R507.4",
        marks=stand.marks,
        assumptions=(
            "each new post as tall as the taller of its two neighbours",
            *(
                (
                    "plies run through over the new post; the old joints stay over the old posts: both ways of"
                    " running were"
                    " tried",
                )
                if isinstance(facts[f"{beam.id}.runs"], OneOf)
                else ()
            ),
        ),
        cautions=("shim tight before the post is fastened, so that it takes its share",),
    )


def _runs(bench: Bench, beam: Part, spans_in: tuple[float, ...]) -> Value:
    """A single span runs through over its new post; of several with joints, either way of running is tried."""
    if len(spans_in) == 1:
        return "continuous"
    runs = bench.text(beam.id, "runs")
    return OneOf(("continuous", runs)) if runs == "spliced over posts" else runs


def length_of_in(bench: Bench, beam: Part) -> float:
    """Length of a beam from end to end, in."""
    ends_in = bench.number(beam.id, "overhang_left_in") + bench.number(beam.id, "overhang_right_in")
    return sum(bench.numbers(beam.id, "spans_in")) + ends_in
