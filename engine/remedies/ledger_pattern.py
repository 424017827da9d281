"""Where new fasteners of a ledger go: the fewest that leave no gap wider than asked, high and low in turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from engine.records import dataclass

OTHER_ROW = {"upper": "lower", "lower": "upper"}
LEAST_GAP_IN = 4.0  # eight diameters of a 1/2 in fastener (common practice, no published source)
_SLACK_IN = 1e-6


@dataclass(frozen=True)
class Place:
    """A fastener of a pattern: where along the ledger (in), in which row ("" where that is not known)."""

    position_in: float
    row: str
    is_new: bool = True


@dataclass(frozen=True)
class Ends:
    """Nearest and farthest place of the outermost fastener from the ledger's end, in."""

    least_in: float
    most_in: float

    @property
    def usual_in(self) -> float:
        """Midway, where both sides of the rule have the most room."""
        return (self.least_in + self.most_in) / 2


def filled(
    fixed: Sequence[Place], length_in: float, gap_in: float, ends: Ends, *, in_turn: bool = True
) -> tuple[Place, ...]:
    """The fewest new places that leave no gap wider than `gap_in`, evenly spread between the fixed ones.

    The outermost stand by the rule of the ends. With `in_turn` high and low change from each to the next, where the
    rows of the fixed ones are known: a gap between two in one row takes an odd number of new ones, else an even one.
    """
    best: tuple[Place, ...] | None = None
    for left_in in (ends.usual_in, ends.most_in):
        for right_in in (ends.usual_in, ends.most_in):
            found = _between(_anchored(fixed, length_in, ends, left_in, right_in), gap_in, in_turn)
            if best is None or len(found) < len(best):
                best = found
    assert best is not None
    return best


def _anchored(fixed: Sequence[Place], length_in: float, ends: Ends, left_in: float, right_in: float) -> list[Place]:
    anchors = sorted(fixed, key=lambda place: place.position_in)
    if not anchors or anchors[0].position_in > ends.most_in + _SLACK_IN:
        anchors.insert(0, Place(left_in, ""))
    if length_in - anchors[-1].position_in > ends.most_in + _SLACK_IN:
        anchors.append(Place(length_in - right_in, ""))
    return anchors


def _between(anchors: Sequence[Place], gap_in: float, in_turn: bool) -> tuple[Place, ...]:
    if len(anchors) == 1:
        return _named(anchors[0], anchors[0].row or "upper")
    counts = [_count(a, b, gap_in, in_turn) for a, b in pairwise(anchors)]
    rows = _rows(anchors, counts)
    found: list[Place] = []
    for (left, right), count, row in zip(pairwise(anchors), counts, rows, strict=False):
        found += _named(left, row)
        for number in range(1, count + 1):
            step_in = (right.position_in - left.position_in) / (count + 1)
            row = OTHER_ROW.get(row, row)
            found.append(Place(left.position_in + number * step_in, row))
    return (*found, *_named(anchors[-1], rows[-1]))


def _named(place: Place, row: str) -> tuple[Place, ...]:
    return (Place(place.position_in, row, True),) if place.is_new else (place,)


def _count(left: Place, right: Place, gap_in: float, in_turn: bool) -> int:
    wide_in = right.position_in - left.position_in
    count = max(0, math.ceil(wide_in / gap_in - 1e-9) - 1)
    known = left.row in OTHER_ROW and right.row in OTHER_ROW
    if in_turn and known and (count % 2 == 1) != (left.row == right.row):
        count += 1
    return count


def _rows(anchors: Sequence[Place], counts: Sequence[int]) -> list[str]:
    """A row for each anchor: its own, or for a new one the row that lets high and low change without a break."""
    rows = [place.row for place in anchors]
    if not any(row in OTHER_ROW for row in rows):
        rows[0] = rows[0] or "upper"
    for number in range(len(rows) - 1):  # to the right of a known row
        if not rows[number + 1] and rows[number] in OTHER_ROW:
            rows[number + 1] = _along(rows[number], counts[number] + 1)
    for number in reversed(range(len(rows) - 1)):  # and to the left of one
        if not rows[number] and rows[number + 1] in OTHER_ROW:
            rows[number] = _along(rows[number + 1], counts[number] + 1)
    return [row or "upper" for row in rows]


def _along(row: str, steps: int) -> str:
    return OTHER_ROW[row] if steps % 2 else row


def gaps_to_try(fixed: Sequence[Place], length_in: float, widest_in: float, ends: Ends) -> list[float]:
    """The gaps at which the number of new fasteners changes, from the widest allowed down to the least."""
    anchors = _anchored(fixed, length_in, ends, ends.usual_in, ends.usual_in)
    spans = {b.position_in - a.position_in for a, b in pairwise(anchors)}
    steps = {span / count for span in spans for count in range(1, int(span / LEAST_GAP_IN) + 1)}
    return [widest_in, *sorted((step for step in steps if step < widest_in - _SLACK_IN), reverse=True)]
