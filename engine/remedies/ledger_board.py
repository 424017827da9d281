"""The ledger as a board: a whole new pattern of fasteners, and a new board where the old one is soft or too small."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.ledger_fasteners import CITATION, FACING, WIDEST_IN, edges_words, joint_holds
from engine.remedies.ledger_parts import OF_THE_JOINT, ends_of, facts_of, length_in, metal_for, put_in
from engine.remedies.ledger_pattern import Place, filled, gaps_to_try
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, several
from engine.sections import find_size
from engine.vocabulary import JOIST_SIZES


@repair(kind="ledger-refasten", owner="ledger", answers=(*OF_THE_JOINT, "ledger.edges"), title="A new fastener pattern")
def refasten(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    """A pattern of through-bolts that counts on none of the old fasteners."""
    size = bench.text(ledger.id, "size")
    return _on_board(bench, ledger, keys, size, {}, "ledger-refasten")


@repair(
    kind="ledger-new-board",
    owner="ledger",
    answers=("ledger.size", "water.decay"),
    title="A new ledger board",
    of="ledger",
)
def new_board(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    """A new ledger of treated wood, as deep as the joists and at least as deep as the rule asks, freshly bolted."""
    least_in = bench.rule("ledger.min_size").value
    joists = [bench.depth_in(part.id) for part in bench.referring(ledger.id, "joist_field")]
    needed_in = max(least_in, bench.depth_in(ledger.id), *joists, 0.0)
    size = next((each for each in JOIST_SIZES if find_size(each).depth_in >= needed_in), None)
    if size is None:
        return None
    return _on_board(bench, ledger, keys, size, {"size": size, "decay_depth_in": 0.0}, "ledger-new-board")


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


def _on_board(
    bench: Bench, ledger: Part, keys: Sequence[Key], size: str, board: dict[str, Value | None], kind: str
) -> Draft | None:
    rows = rows_in(bench, size)
    if rows is None:
        return None
    upper_in, lower_in = rows
    old = bench.referring(ledger.id, "fastener")
    names = {**board, "upper_row_from_top_in": upper_in, "lower_row_from_bottom_in": lower_in}
    first = Change({f"{ledger.id}.{name}": value for name, value in names.items()}, (), tuple(part.id for part in old))
    found = _fewest(bench, ledger, keys, first)
    if found is None:
        return None
    places, change = found
    metal, long_in = metal_for(bench, ()), length_in(bench, ledger, "bolt")
    ledger_in = bench.number(ledger.id, "length_in")
    at = tuple(round(place.position_in, 4) for place in places)
    lines = []
    if board:
        lines.append(
            Line(
                "ledger board",
                size,
                1,
                f"{inches(ledger_in)} long, in place of the old one",
                material=bench.wood_words(ledger.id),
            )
        )
    turns = ", ".join(f"{inches(place.position_in)} {place.row}" for place in places)
    where = f"upper row {inches(upper_in)} below the top, lower row {inches(lower_in)} above the bottom"
    material = f"{metal}, with washers under head and nut"
    lines.append(
        Line(
            "half-inch through-bolt",
            f"1/2 in x {inches(long_in)}",
            len(places),
            f"{where}; {turns}",
            at,
            FACING,
            edges_words(bench),
            material,
        )
    )
    title = f"Refasten {ledger.subject} with {several(len(places), 'half-inch through-bolt')}"
    cautions = [
        "needs a way to the inside face of the house band; look for pipes and wires before drilling",
        "keep clear of the joists and their hangers; where they stand is not recorded",
    ]
    if board:
        title = (
            f"Put a new {size} ledger in place of {ledger.subject}, on {several(len(places), 'half-inch through-bolt')}"
        )
        cautions.insert(0, "the joists must be held up while the board is off; probe the house band once it is open")
        cautions.append("new flashing goes in with the board, lapped behind the wall covering")
    else:
        cautions.append("the old fasteners may stay where they are not in the way; none of them is counted")
    marks = tuple(Mark(ledger.id, "new fastener", place.position_in, place.row) for place in places)
    return Draft(kind, title, change, tuple(lines), CITATION + "; IRC R507.9.1.1", marks, (), tuple(cautions))


def _fewest(bench: Bench, ledger: Part, keys: Sequence[Key], first: Change) -> tuple[tuple[Place, ...], Change] | None:
    ends, ledger_in = ends_of(bench), bench.number(ledger.id, "length_in")
    facts = facts_of(bench, ledger, "bolt", metal_for(bench, ()))
    fewest: list[int] = []
    for gap_in in gaps_to_try((), ledger_in, WIDEST_IN, ends):
        places = filled((), ledger_in, gap_in, ends)
        if len(places) in fewest:
            continue
        fewest.append(len(places))
        change = first.with_(put_in(bench, ledger, places, facts))
        if joint_holds(bench.trial(change), ledger.id, keys):
            return places, change
    return None
