"""Footings: the next size that spreads the load, thick enough, below the frost."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import several
from engine.remedies.supports import depth_below_ground_in, footing_line, footings_change, smallest_footings

FOOTING = ("footing.bearing", "footing.thickness", "footing.depth", "footing.table")
CITATION = "IRC R507.3, R403.1.4, R401.4.1"


@repair(kind="footing-new", owner="beam", answers=FOOTING, title="New footings")
def new_footings(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """For each failing footing of a beam the smallest of its shape that holds, as deep as frost and rule ask."""
    failing = list(dict.fromkeys(key.part_id for key in keys))
    depth_in = depth_below_ground_in(bench)
    wanted = []
    for footing_id in failing:
        post_id = str(bench.part(footing_id).facts["post"])
        shape = bench.recorded(footing_id, "shape")
        wanted.append((footing_id, post_id, str(shape or "round"), bench.text(post_id, "size")))
    made = smallest_footings(bench, Change(), wanted, depth_in)
    if made is None:
        return None
    post_of = {each[0]: each[1] for each in wanted}
    lines: list[Line] = []
    for facts, ids in _alike(made):
        lines.append(footing_line(facts, len(ids), "under " + ", ".join(post_of[each] for each in ids)))
    return Draft(
        "footing-new",
        f"Cast {several(len(failing), 'new footing')} under {beam.subject}",
        footings_change(bench, made, post_of),
        tuple(lines),
        CITATION,
        tuple(Mark(footing_id, "new footing") for footing_id in failing),
        ("the load stands in the middle of the footing",),
        (
            "dig to undisturbed soil; the beam must be held up while a footing is changed",
            "the soil is taken to bear what is recorded for the place; softer soil needs a larger footing",
        ),
    )


def _alike(made: dict[str, dict[str, Value]]) -> list[tuple[dict[str, Value], list[str]]]:
    found: list[tuple[dict[str, Value], list[str]]] = []
    for footing_id, facts in made.items():
        same = next((ids for other, ids in found if other == facts), None)
        if same is None:
            found.append((facts, [footing_id]))
        else:
            same.append(footing_id)
    return found
