"""A whole new pattern of ledger fasteners, which counts on none of the old ones: its rows, and the fewest that hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.changes import Change
from engine.remedies.ledger_parts import ends_of, facts_of, joint_holds, metal_for, put_in, require_covered_band
from engine.remedies.ledger_pattern import Place, filled, gaps_to_try
from engine.sections import find_size

WIDEST_IN = 36.0  # the published tables print no wider spacing


def rows_in(bench: Bench, size: str) -> tuple[float, float] | None:
    """Upper row below the top and lower row above the bottom of a ledger of that size, in; None where none is held."""
    depth_in = find_size(size).depth_in
    least = {name: bench.rule(f"ledger.{name}").value for name in ("edge_top_min", "edge_bottom_min")}
    apart_most_in = bench.rule("ledger.row_spacing_max").value
    lower_in = bench.rule_or(f"ledger.lower_row_to_top_{size}", 0.0)
    if not lower_in:
        return None
    upper_in = max(least["edge_top_min"], lower_in - apart_most_in)
    from_bottom_in = max(least["edge_bottom_min"], depth_in - lower_in)
    return upper_in, from_bottom_in


def whole_pattern(
    bench: Bench, ledger: Part, keys: Sequence[Key], kind: str, size: str, board: Mapping[str, Value | None]
) -> tuple[tuple[Place, ...], Change] | None:
    """The fewest fasteners of a kind on a ledger of a size, none of the old ones counted; None where none are enough.

    `board` are facts of the ledger that are written with it. Worked out once for a ledger.
    """
    key = ("whole pattern", ledger.id, kind, size, tuple(board))
    if key not in bench.kept:
        bench.kept[key] = _fewest(bench, ledger, keys, kind, size, board)
    found: tuple[tuple[Place, ...], Change] | None = bench.kept[key]
    return found


def _fewest(
    bench: Bench, ledger: Part, keys: Sequence[Key], kind: str, size: str, board: Mapping[str, Value | None]
) -> tuple[tuple[Place, ...], Change] | None:
    require_covered_band(bench, ledger)
    rows = rows_in(bench, size)
    if rows is None:
        return None
    names = {**board, "upper_row_from_top_in": rows[0], "lower_row_from_bottom_in": rows[1]}
    old = tuple(part.id for part in bench.referring(ledger.id, "fastener"))
    first = Change({f"{ledger.id}.{name}": value for name, value in names.items()}, removed=old)
    ends, ledger_in = ends_of(bench), bench.number(ledger.id, "length_in")
    facts = facts_of(bench, ledger, kind, metal_for(bench, ()))
    tried: set[int] = set()
    for gap_in in gaps_to_try((), ledger_in, WIDEST_IN, ends):
        places = filled((), ledger_in, gap_in, ends)
        if len(places) in tried:
            continue
        tried.add(len(places))
        change = first.with_(put_in(bench, ledger, places, facts))
        if joint_holds(bench.trial(change), ledger.id, keys):
            return places, change
    return None
