"""The ledger as a board: a whole new pattern of fasteners, and a new board where the old one is soft or too small."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import Work, repair
from engine.remedies.ledger_fasteners import (
    CITATION,
    FACING,
    NAMES,
    edges_words,
    replace_and_add_bolts,
    replace_and_add_lags,
)
from engine.remedies.ledger_parts import OF_THE_JOINT, length_in, metal_for, old_holes
from engine.remedies.ledger_whole import rows_in, whole_pattern
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, several
from engine.sections import find_size
from engine.vocabulary import JOIST_SIZES

_ALL = (*OF_THE_JOINT, "ledger.edges", "ledger.lag_reach")


@repair(kind="ledger-refasten", owner="ledger", answers=_ALL, title="A new pattern of through-bolts")
def refasten(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    """Through-bolts that count on none of the old fasteners, where patching takes more or the rows are wrong."""
    if _patched(bench, ledger, keys, replace_and_add_bolts):
        return None
    return _on_board(bench, ledger, keys, "bolt", bench.text(ledger.id, "size"), {}, "ledger-refasten")


@repair(kind="ledger-refasten-lags", owner="ledger", answers=_ALL, title="A new pattern of lag screws")
def refasten_with_lags(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    """The same with lag screws, for a band that cannot be reached from inside, where patching takes more of them."""
    if _patched(bench, ledger, keys, replace_and_add_lags):
        return None
    return _on_board(bench, ledger, keys, "lag screw", bench.text(ledger.id, "size"), {}, "ledger-refasten-lags")


def _patched(bench: Bench, ledger: Part, keys: Sequence[Key], patch: Work) -> bool:
    """Whether the fasteners can be made good with fewer, the rows being where they should."""
    if not all(key.check_id in OF_THE_JOINT for key in keys):
        return False
    return patch(bench, ledger, keys) is not None


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
    board: dict[str, Value | None] = {"size": size, "decay_depth_in": 0.0}
    return _on_board(bench, ledger, keys, "bolt", size, board, "ledger-new-board")


def _on_board(
    bench: Bench, ledger: Part, keys: Sequence[Key], fastener: str, size: str, board: dict[str, Value | None], kind: str
) -> Draft | None:
    rows = rows_in(bench, size)
    found = whole_pattern(bench, ledger, keys, fastener, size, board)
    if rows is None or found is None:
        return None
    (upper_in, lower_in), (places, change) = rows, found
    metal, long_in = metal_for(bench, ()), length_in(bench, ledger, fastener)
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
    washers = "washers under head and nut" if fastener == "bolt" else "a washer under the head"
    material = f"{metal}, with {washers}"
    lines.append(
        Line(
            NAMES[fastener],
            f"1/2 in x {inches(long_in)}",
            len(places),
            f"{where}; {turns}",
            at,
            FACING,
            edges_words(bench),
            material,
        )
    )
    title = f"Refasten {ledger.subject} with {several(len(places), NAMES[fastener])}"
    cautions = ["keep clear of the joists and their hangers; where they stand is not recorded"]
    if fastener == "bolt":
        cautions.append("needs a way to the inside face of the house band; look for pipes and wires before drilling")
    if board:
        title = f"Put a new {size} ledger in place of {ledger.subject}, on {several(len(places), NAMES[fastener])}"
        cautions.insert(0, "the joists must be held up while the board is off; probe the house band once it is open")
        cautions.append("new flashing goes in with the board, lapped behind the wall covering")
    else:
        cautions.append("the old fasteners may stay where they are not in the way; none of them is counted")
        cautions += old_holes(bench, places, bench.referring(ledger.id, "fastener"))
    marks = tuple(Mark(ledger.id, "new fastener", place.position_in, place.row) for place in places)
    return Draft(kind, title, change, tuple(lines), CITATION + "; IRC R507.9.1.1", marks, (), tuple(cautions))
