"""Where the ledger's fasteners stand: edges, ends, rows and stagger against the published figure."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from engine.comparison import Comparison
from engine.errors import OutOfRange, require_positive
from engine.measures import at_least, at_most
from engine.records import dataclass


@dataclass(frozen=True)
class LayoutRule:
    """Least and greatest distances of the adopted edition, in, and where they stand. `end_most_in` may be None."""

    top_least_in: float
    bottom_least_in: float
    end_least_in: float
    end_most_in: float | None
    rows_least_in: float
    rows_most_in: float
    citation: str

    def __post_init__(self) -> None:
        require_positive(
            top_least_in=self.top_least_in,
            bottom_least_in=self.bottom_least_in,
            end_least_in=self.end_least_in,
            rows_least_in=self.rows_least_in,
            rows_most_in=self.rows_most_in,
        )
        if self.end_most_in is not None:
            require_positive(end_most_in=self.end_most_in)


def edge_distances(
    rule: LayoutRule,
    depth_in: float,
    *,
    upper_row_from_top_in: float | None = None,
    lower_row_from_bottom_in: float | None = None,
) -> tuple[Comparison, ...]:
    """Compare the fastener rows with the ledger's edges and with each other; what was not measured is left out.

    Raises OutOfRange where the two rows lie outside the depth or have changed places.
    """
    require_positive(depth_in=depth_in)
    found = []
    if upper_row_from_top_in is not None:
        found.append(at_least(rule.top_least_in, upper_row_from_top_in, "upper row to top edge", rule.citation))
    if lower_row_from_bottom_in is not None:
        found.append(
            at_least(rule.bottom_least_in, lower_row_from_bottom_in, "lower row to bottom edge", rule.citation)
        )
    if upper_row_from_top_in is not None and lower_row_from_bottom_in is not None:
        between_in = depth_in - upper_row_from_top_in - lower_row_from_bottom_in
        if between_in < 0:
            raise OutOfRange("lower_row_from_bottom_in", lower_row_from_bottom_in, "a lower row below the upper one")
        if between_in > 0:  # a single row in the middle has nothing between
            found.append(at_least(rule.rows_least_in, between_in, "between the rows, at least", rule.citation))
            found.append(at_most(rule.rows_most_in, between_in, "between the rows, at most", rule.citation))
    return tuple(found)


def end_distances(rule: LayoutRule, positions_in: Sequence[float], ledger_length_in: float) -> tuple[Comparison, ...]:
    """Compare the outermost working fasteners with the ledger's two ends. Raises OutOfRange for no fastener."""
    if not positions_in:
        raise OutOfRange("positions_in", (), "at least one working fastener")
    require_positive(ledger_length_in=ledger_length_in)
    found = []
    for end, distance_in in (("left", min(positions_in)), ("right", ledger_length_in - max(positions_in))):
        if distance_in < 0:
            raise OutOfRange("positions_in", max(positions_in), f"on the ledger, from 0 to {ledger_length_in:g}")
        found.append(at_least(rule.end_least_in, distance_in, f"{end} end, at least", rule.citation))
        if rule.end_most_in is not None:
            found.append(at_most(rule.end_most_in, distance_in, f"{end} end, at most", rule.citation))
    return tuple(found)


def unstaggered_neighbours(positions_in: Sequence[float], rows: Sequence[str]) -> tuple[tuple[int, int], ...]:
    """Pairs of neighbours (by index) in the same row, where the figure asks for upper and lower in turn.

    Raises OutOfRange where the number of rows differs from that of the positions.
    """
    if len(rows) != len(positions_in):
        raise OutOfRange("rows", tuple(rows), f"{len(positions_in)} rows, one for each fastener")
    order = sorted(range(len(rows)), key=lambda i: positions_in[i])
    return tuple((a, b) for a, b in pairwise(order) if rows[a] == rows[b])
