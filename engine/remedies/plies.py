"""Beams built of plies: nails that hold the plies together, bolts that hold a ply which hangs beside its post."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.checks.plies import NOTCH
from engine.deck import Part
from engine.remedies.asking import Key
from engine.remedies.beams import length_of_in
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.new_beam import ply_nails
from engine.remedies.sizes import inches, one, several
from engine.sections import find_size
from engine.vocabulary import BY_NAME


@repair(kind="beam-ply-nails", owner="beam", answers=("beam.ply_fastening",), title="Nails through the beam's plies")
def nails(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """The rule's own nailing, all anew: what is there already is not counted."""
    rows, spacing, diameter, length = (
        bench.rule(f"beam.ply_nail_{name}") for name in ("rows", "spacing", "diameter", "length")
    )
    change = Change({f"{beam.id}.{name}": value for name, value in ply_nails(bench).items()})
    if not bench.clears(change, keys):
        return None
    joints = bench.count(beam.id, "plies") - 1
    in_a_row = int(length_of_in(bench, beam) // spacing.value) + 1
    line = Line(
        "nail",
        f"10d: {diameter.value:g} by {length.value:g} in",
        joints * int(rows.value) * in_a_row,
        f"{int(rows.value)} rows, one along each edge, {spacing.value:g} in apart, through each joint between plies",
        material="hot-dip galvanized or stainless",
    )
    return Draft(
        "beam-ply-nails",
        f"Nail the plies of {beam.subject} together",
        change,
        (line,),
        rows.citation,
        (Mark(beam.id, "new nails"),),
        (),
        ("the plies are drawn tight with clamps before they are nailed",),
    )


@repair(
    kind="notch-bolts", owner="beam", answers=("beam.ply_hold",), title="Bolts through the plies at the notched posts"
)
def bolts(bench: Bench, beam: Part, keys: Sequence[Key]) -> Draft | None:
    """The fewest bolts through beam and post that hold the ply which hangs beside its post."""
    if bench.text(beam.id, "seat") != NOTCH:
        return None
    now, diameter_in = bench.recorded(beam.id, "seat_bolts") or 0, one("notch_bolt")
    least = int(now) if isinstance(now, (int, float)) and not isinstance(now, bool) else 0

    def change(number: int) -> Change:
        return Change({f"{beam.id}.seat_bolts": number, f"{beam.id}.seat_bolt_diameter_in": diameter_in})

    most = int(BY_NAME["beam"].index["seat_bolts"].high)
    number = bench.first(range(max(least, 1), most + 1), change, keys)
    depth_in = find_size(bench.text(beam.id, "size")).depth_in
    if number is None or not _fit(number, depth_in, diameter_in):
        return None
    posts = bench.referring(beam.id, "post")
    line = Line(
        "bolt with washers",
        f"{inches(diameter_in)}",
        number * len(posts),
        f"{several(number, 'bolt')} at each post, through all plies and what is left of the post;"
        f" {inches(4 * diameter_in)} from the edges of the beam and from each other, two side by side",
        material="hot-dip galvanized or stainless",
    )
    return Draft(
        "notch-bolts",
        f"Bolt the plies of {beam.subject} together at its notched posts",
        change(number),
        (line,),
        "NDS 12.3, 12.5.1",
        tuple(Mark(post.id, "new bolts") for post in posts),
        (),
        ("the beam still does not bear over its whole width: the rule for that stays unmet",),
    )


def _fit(number: int, depth_in: float, diameter_in: float) -> bool:
    """Whether the bolts, two side by side, find room up the beam: four diameters from edges and from each other."""
    return (math.ceil(number / 2) + 1) * 4 * diameter_in <= depth_in
