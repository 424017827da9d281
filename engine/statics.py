"""Statics of straight members of constant section: simple spans, overhangs, continuous beams.

Lengths in inches, loads in lb and lb per inch, moments in in-lb, E in psi, I in in4. A sagging moment is positive, a
reaction that pushes up is positive, a deflection down is positive. Nothing here knows wood.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache

from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.records import dataclass

_PLACES = 32  # along a span at which its deflection is worked out


def simple_span_moment(load_lb_per_in: float, span_in: float) -> float:
    """Largest moment (in-lb) of a simple span under a uniform load."""
    return load_lb_per_in * span_in**2 / 8


def simple_span_deflection(load_lb_per_in: float, span_in: float, e_psi: float, i_in4: float) -> float:
    """Midspan deflection (in) of a simple span under a uniform load, bending only."""
    return 5 * load_lb_per_in * span_in**4 / (384 * e_psi * i_in4)


def overhang_support_moment(load_lb_per_in: float, overhang_in: float, tip_load_lb: float = 0.0) -> float:
    """Hogging moment (in-lb, given positive) over the support of an overhang."""
    return load_lb_per_in * overhang_in**2 / 2 + tip_load_lb * overhang_in


def overhang_tip_deflection(
    tip_load_lb: float, overhang_in: float, span_in: float, e_psi: float, i_in4: float
) -> float:
    """Deflection (in) of the tip under a load at the tip, the back span being simply supported: P a2 (L + a) / 3EI."""
    return tip_load_lb * overhang_in**2 * (span_in + overhang_in) / (3 * e_psi * i_in4)


@dataclass(frozen=True)
class PointLoad:
    """A load across a member; `at_in` is measured from its left end, overhang included."""

    load_lb: float
    at_in: float


@dataclass(frozen=True)
class LineResult:
    """What a beam line does under one arrangement of loads.

    Lists go from left to right. `support_moments_in_lb` are positive where they sag, so over inner supports they are
    negative. `span_moments_in_lb` hold the largest sagging moment of each span (zero where it only hogs).
    `shears_lb` hold (left end, right end) of each span, upward on the part to the right of the cut. `reactions_lb`
    may be negative: uplift.
    """

    support_moments_in_lb: tuple[float, ...]
    span_moments_in_lb: tuple[float, ...]
    shears_lb: tuple[tuple[float, float], ...]
    reactions_lb: tuple[float, ...]
    overhang_shears_lb: tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A continuous beam of constant section on knife edges, with or without overhangs.

    Raises OutOfRange for no span, a span that is not above zero, or a negative overhang.
    """

    spans_in: tuple[float, ...]
    left_overhang_in: float = 0.0
    right_overhang_in: float = 0.0

    def __post_init__(self) -> None:
        if not self.spans_in:
            raise OutOfRange("spans_in", self.spans_in, "at least one span")
        for span_in in self.spans_in:
            require_positive(span_in=span_in)
        require_not_negative(left_overhang_in=self.left_overhang_in, right_overhang_in=self.right_overhang_in)

    @property
    def supports_in(self) -> tuple[float, ...]:
        """Where the supports stand, from the left end of the line."""
        found = [self.left_overhang_in]
        for span_in in self.spans_in:
            found.append(found[-1] + span_in)
        return tuple(found)

    @property
    def length_in(self) -> float:
        return self.supports_in[-1] + self.right_overhang_in

    def solve(
        self,
        span_loads_lb_per_in: Sequence[float],
        left_load_lb_per_in: float = 0.0,
        right_load_lb_per_in: float = 0.0,
        point_loads: Iterable[PointLoad] = (),
    ) -> LineResult:
        """Moments, shears and reactions by the theorem of three moments.

        `span_loads_lb_per_in` has one uniform load for each span. Raises OutOfRange if their number differs from
        the spans, or for a point load off the line.
        """
        placed = self._place(span_loads_lb_per_in, left_load_lb_per_in, right_load_lb_per_in, tuple(point_loads))
        moments = _three_moments(self.spans_in, placed)
        spans = self.spans_in
        shears, span_moments = [], []
        for i, span_in in enumerate(spans):
            left_lb = _simple_left_shear(span_in, placed.uniform[i], placed.points[i])
            left_lb += (moments[i + 1] - moments[i]) / span_in
            total_lb = placed.uniform[i] * span_in + sum(p for p, _ in placed.points[i])
            shears.append((left_lb, left_lb - total_lb))
            span_moments.append(_largest_sag(span_in, placed.uniform[i], placed.points[i], moments[i], left_lb))
        reactions = [0.0] * (len(spans) + 1)
        reactions[0] += placed.overhang_lb[0]
        reactions[-1] += placed.overhang_lb[1]
        for i, (left_lb, right_lb) in enumerate(shears):
            reactions[i] += left_lb
            reactions[i + 1] -= right_lb
        return LineResult(tuple(moments), tuple(span_moments), tuple(shears), tuple(reactions), placed.overhang_lb)

    def deflections(
        self,
        span_loads_lb_per_in: Sequence[float],
        e_psi: float,
        i_in4: float,
        left_load_lb_per_in: float = 0.0,
        right_load_lb_per_in: float = 0.0,
        point_loads: Iterable[PointLoad] = (),
    ) -> tuple[float, ...]:
        """The largest deflection (in, down positive) of each span, bending only, found at 32 places along it."""
        require_positive(e_psi=e_psi, i_in4=i_in4)
        placed = self._place(span_loads_lb_per_in, left_load_lb_per_in, right_load_lb_per_in, tuple(point_loads))
        moments = _three_moments(self.spans_in, placed)
        found = []
        for i, span_in in enumerate(self.spans_in):
            bends = _span_deflections(span_in, placed.uniform[i], placed.points[i], moments[i], moments[i + 1])
            found.append(max(bends) / (e_psi * i_in4))
        return tuple(found)

    def tip_deflections(
        self,
        span_loads_lb_per_in: Sequence[float],
        e_psi: float,
        i_in4: float,
        left_load_lb_per_in: float = 0.0,
        right_load_lb_per_in: float = 0.0,
    ) -> tuple[float, float]:
        """Deflection (in, down positive) of the left and the right free end under uniform loads, bending only.

        The end follows the slope of the line at its last support and bends by itself; zero where there is no overhang.
        """
        require_positive(e_psi=e_psi, i_in4=i_in4)
        placed = self._place(span_loads_lb_per_in, left_load_lb_per_in, right_load_lb_per_in, ())
        moments = _three_moments(self.spans_in, placed)
        ends = (
            (self.left_overhang_in, left_load_lb_per_in, self.spans_in[0], placed.uniform[0], moments[:2]),
            (self.right_overhang_in, right_load_lb_per_in, self.spans_in[-1], placed.uniform[-1], moments[:-3:-1]),
        )
        left, right = (
            overhang_in * -(w * span_in**3 / 24 + near * span_in / 3 + far * span_in / 6) + tip_w * overhang_in**4 / 8
            for overhang_in, tip_w, span_in, w, (near, far) in ends
        )
        return left / (e_psi * i_in4), right / (e_psi * i_in4)

    def _place(
        self,
        span_loads: Sequence[float],
        left_load: float,
        right_load: float,
        point_loads: tuple[PointLoad, ...],
    ) -> _Placed:
        if len(span_loads) != len(self.spans_in):
            raise OutOfRange(
                "span_loads_lb_per_in", tuple(span_loads), f"{len(self.spans_in)} loads, one for each span"
            )
        supports = self.supports_in
        left_moment = -left_load * self.left_overhang_in**2 / 2
        right_moment = -right_load * self.right_overhang_in**2 / 2
        left_lb, right_lb = left_load * self.left_overhang_in, right_load * self.right_overhang_in
        points: list[list[tuple[float, float]]] = [[] for _ in self.spans_in]
        for point in point_loads:
            if not 0 <= point.at_in <= self.length_in:
                raise OutOfRange("at_in", point.at_in, f"on the line, from 0 to {self.length_in:g}")
            if point.at_in < supports[0]:
                left_moment -= point.load_lb * (supports[0] - point.at_in)
                left_lb += point.load_lb
            elif point.at_in > supports[-1]:
                right_moment -= point.load_lb * (point.at_in - supports[-1])
                right_lb += point.load_lb
            else:
                i = max(k for k in range(len(self.spans_in)) if supports[k] <= point.at_in)
                points[i].append((point.load_lb, point.at_in - supports[i]))
        return _Placed(tuple(span_loads), points, (left_moment, right_moment), (left_lb, right_lb))


@dataclass(frozen=True)
class _Placed:
    uniform: tuple[float, ...]
    points: list[list[tuple[float, float]]]
    end_moments: tuple[float, float]
    overhang_lb: tuple[float, float]


def _three_moments(spans: Sequence[float], placed: _Placed) -> list[float]:
    """Support moments: the end ones come from the overhangs, the inner ones from the equation of three moments."""
    n = len(spans)
    moments = [0.0] * (n + 1)
    moments[0], moments[-1] = placed.end_moments
    if n == 1:
        return moments
    diagonal, right = [], []
    for k in range(1, n):
        a, b = spans[k - 1], spans[k]
        load = -(placed.uniform[k - 1] * a**3 + placed.uniform[k] * b**3) / 4
        load -= sum(p * x * (a * a - x * x) / a for p, x in placed.points[k - 1])
        load -= sum(p * (b - x) * (b * b - (b - x) ** 2) / b for p, x in placed.points[k])
        diagonal.append(2 * (a + b))
        right.append(load)
    right[0] -= spans[0] * moments[0]
    right[-1] -= spans[-1] * moments[-1]
    for k in range(1, n - 1):  # the matrix has three diagonals and is symmetric: off-diagonal = the span in between
        factor = spans[k] / diagonal[k - 1]
        diagonal[k] -= factor * spans[k]
        right[k] -= factor * right[k - 1]
    for k in range(n - 2, -1, -1):
        following = spans[k + 1] * moments[k + 2] if k < n - 2 else 0.0
        moments[k + 1] = (right[k] - following) / diagonal[k]
    return moments


def _simple_left_shear(span: float, uniform: float, points: Sequence[tuple[float, float]]) -> float:
    return uniform * span / 2 + sum(p * (span - x) / span for p, x in points)


def _largest_sag(
    span: float, uniform: float, points: Sequence[tuple[float, float]], left_moment: float, left_shear: float
) -> float:
    def moment(x: float) -> float:
        bent = left_moment + left_shear * x - uniform * x * x / 2
        return bent - sum(p * (x - at) for p, at in points if at < x)

    places = [at for _, at in points]
    if uniform > 0:  # where the shear passes through zero between two point loads
        for start, end in zip([0.0, *sorted(places)], [*sorted(places), span], strict=True):
            before = sum(p for p, at in points if at <= start)
            x = (left_shear - before) / uniform
            if start <= x <= end:
                places.append(x)
    return max(0.0, *(moment(x) for x in places)) if places else 0.0


def _span_deflections(
    span: float,
    uniform: float,
    points: Sequence[tuple[float, float]],
    left_moment: float,
    right_moment: float,
) -> list[float]:
    """Deflections times EI along a span: uniform load, point loads, and the two end moments of a simple span, added."""
    found = []
    square, cube, six = span * span, span**3, 6 * span
    for k in range(1, _PLACES):
        x = span * k / _PLACES
        bend = uniform * x * (cube - 2 * span * x * x + x**3) / 24
        for load, at in points:
            near, far = (x, span - at) if x <= at else (span - x, at)
            bend += load * far * near * (square - far * far - near * near) / six
        bend += left_moment * (span - x) * (square - (span - x) ** 2) / six
        bend += right_moment * x * (square - x * x) / six
        found.append(bend)
    return found


Pattern = tuple[bool, tuple[bool, ...], bool]


@cache
def loading_patterns(spans: int, *, overhangs: bool = True) -> tuple[Pattern, ...]:
    """Which parts of a line to load so that each effect is at its largest: (left overhang, spans, right overhang).

    All loaded; every other segment (both ways); the two segments at each support with every other one beyond, which
    gives the largest moment and reaction there; and the segments that these leave empty, which lift that support most.
    """
    segments = range(spans + 2)
    found: dict[tuple[bool, ...], None] = {(True,) * len(segments): None}
    for first in (0, 1):
        found[tuple(k % 2 == first for k in segments)] = None
    for left in range(spans + 1):  # the segment to the left of each support
        right = left + 1
        beside = tuple((left - k) % 2 == 0 if k <= left else (k - right) % 2 == 0 for k in segments)
        found[beside] = None
        found[tuple(not each for each in beside)] = None
    patterns: dict[Pattern, None] = {}
    for loaded in found:
        ends = (loaded[0], loaded[-1]) if overhangs else (False, False)
        patterns[(ends[0], loaded[1:-1], ends[1])] = None
    return tuple(patterns)
