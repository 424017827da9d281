"""A new beam on new posts: the fewest posts, and the smallest beam of the usual sizes, that carry the joists."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from engine.deck import Value
from engine.records import dataclass
from engine.remedies.asking import Asking, Key
from engine.remedies.bench import Bench
from engine.remedies.changes import Change, NewPart
from engine.remedies.model import Line, Mark
from engine.remedies.sizes import inches, one
from engine.remedies.supports import NewPost, Stand, stand_up
from engine.results import Verdict
from engine.sections import find_size

PLIES = (2, 3)
_LEAST_POST_IN = 4.0  # lower than this there is no room for base, cap and a post between them
_STRENGTH = ("beam.bending", "beam.shear", "beam.live_deflection")


@dataclass(frozen=True)
class Carried:
    """A beam to be made: its id, length and facts, and how high the underside of its joists is above the ground."""

    beam_id: str
    length_in: float
    under_joists_in: float
    facts: dict[str, Value]


def ply_nails(bench: Bench) -> dict[str, Value]:
    """Plies held together by the nails of the rule: facts of a beam that is built or nailed anew."""
    return {
        "ply_fastener": "nail",
        "ply_fastener_rows": int(bench.rule("beam.ply_nail_rows").value),
        "ply_fastener_spacing_in": bench.rule("beam.ply_nail_spacing").value,
        "ply_fastener_diameter_in": bench.rule("beam.ply_nail_diameter").value,
        "ply_fastener_length_in": bench.rule("beam.ply_nail_length").value,
    }


def under_joists_in(bench: Bench, level_id: str, joist_depth_in: float) -> float:
    """Height of the underside of the joists above the ground, from the height of the level. May raise Needs."""
    return bench.number(level_id, "height_in") - one("decking_thickness") - joist_depth_in


def usual_size(bench: Bench, like: str | None) -> str:
    """The size of a beam that the deck already has, else 2x10."""
    size = bench.recorded(like, "size") if like else None
    return str(size) if isinstance(size, str) and size.startswith("2x") else "2x10"


def on_posts(
    bench: Bench,
    wanted: Carried,
    wood: dict[str, Value],
    size: str,
    base: Callable[[NewPart], Change],
    keys: Sequence[Key],
) -> tuple[Stand, NewPart] | None:
    """The new beam on its posts; `base` puts a beam into the change that hangs the joists on it."""
    depth_in = find_size(size).depth_in
    height_in = wanted.under_joists_in - depth_in
    if height_in < _LEAST_POST_IN:
        return None
    for count in range(2, int(one("beam_posts_most")) + 1):
        span_in = wanted.length_in / (count - 1)
        for plies in PLIES:
            beam = _beam(wanted, {**wood, **ply_nails(bench)}, size, plies, span_in, count)
            asked = bench.trial(base(beam))
            if not beam_carries(asked, wanted.beam_id):
                continue
            posts = [NewPost(span_in * number, height_in) for number in range(count)]
            stand = stand_up(bench, base(beam), wanted.beam_id, posts, keys=keys)
            if stand is not None:
                return stand, beam
    return None


def _beam(wanted: Carried, wood: dict[str, Value], size: str, plies: int, span_in: float, posts: int) -> NewPart:
    made: dict[str, Value] = {
        "size": size,
        "plies": plies,
        "spans_in": (span_in,) * (posts - 1),
        "runs": "continuous",
        "seat": "on top of the post",
        "bearing_in": 3.5,
        "decay_depth_in": 0.0,
    }
    return NewPart("beam", wanted.beam_id, {**wood, **made, **wanted.facts})


def beam_carries(asked: Asking, beam_id: str) -> bool:
    """Whether the beam holds by calculation and no published rule about it fails."""
    answers = asked.about(beam_id)
    if any(asked.fails(each.key) for each in answers):
        return False
    strength = [each for each in answers if each.key.check_id in _STRENGTH]
    return all(each.verdict is Verdict.HOLDS or asked.is_disputed(each) for each in strength)


def beam_line(beam: NewPart, wanted: Carried, where: str, words: str) -> Line:
    """The beam as a line of a schedule."""
    plies, size = beam.facts["plies"], beam.facts["size"]
    spans = beam.facts["spans_in"]
    assert isinstance(spans, tuple)
    pattern = (
        f"{inches(wanted.length_in)} long, {where}; {len(spans)} spans of {inches(float(spans[0]))}, each ply running"
        " through or joined over a post; plies nailed together with 10d nails in two rows at 16 in"
    )
    return Line("beam", f"{plies} plies of {size}", 1, pattern, material=words)


def beam_mark(beam: NewPart) -> Mark:
    return Mark(beam.id, "new beam")
