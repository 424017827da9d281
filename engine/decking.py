"""Wood decking laid flat across joists: bending and deflection of one board.

Only boards 2 in nominal and thicker have NDS design values; for 5/4 boards the published joist spacing is the only
basis (see `engine.codes`). Source: NDS 2018 3.3, 4.3; Cfu of NDS-S Tables 4A and 4B.
"""

from __future__ import annotations

import math

from engine.comparison import Comparison
from engine.errors import require_between, require_positive
from engine.loads import Loads, combination_step
from engine.lumber import DesignValues, Lumber, adjusted_values, value_step
from engine.results import Step


def board_span_in(joist_spacing_in: float, angle_deg: float = 0.0) -> float:
    """Span of a board between joist centres; `angle_deg` is 0 square across, 45 on the usual diagonal."""
    require_positive(joist_spacing_in=joist_spacing_in)
    require_between(0, 60, angle_deg=angle_deg)
    return joist_spacing_in / math.cos(math.radians(angle_deg))


def decking_bending(
    board: Lumber, joist_spacing_in: float, loads: Loads, *, angle_deg: float = 0.0, point_load_lb: float = 0.0
) -> Comparison:
    """Compare the bending stress of one board lying flat with the adjusted value (psi).

    The moment is that of a single span, which is also the support moment of two equal spans. A point load, if given,
    stands at midspan of one board and replaces the live load.

    Raises NotPublished for boards under 2 in nominal.
    """
    span_in = board_span_in(joist_spacing_in, angle_deg)
    combination = loads.strength
    values = _board_values(board, combination.load_duration)
    width_in = board.depth_in  # lying flat, the wide face carries
    uniform_psf = loads.dead if point_load_lb else combination.total_psf
    w = uniform_psf * width_in / 144
    moment_in_lb = w * span_in**2 / 8 + point_load_lb * span_in / 4
    stress_psi = moment_in_lb / board.s_yy_in3
    steps = (
        _span_step(joist_spacing_in, angle_deg, span_in),
        *(() if point_load_lb else (combination_step(loads, combination),)),
        Step("w", "q * b / 144", {"q": uniform_psf, "b": width_in}, w, "lb/in", "statics"),
        Step(
            "M",
            "w * l**2 / 8 + P * l / 4",
            {"w": w, "l": span_in, "P": point_load_lb},
            moment_in_lb,
            "in-lb",
            "statics",
        ),
        Step("fb", "M / S", {"M": moment_in_lb, "S": board.s_yy_in3}, stress_psi, "psi", "NDS 3.3.2"),
        value_step(values, "fb"),
    )
    return Comparison(stress_psi, values.fb, "psi", "bending of a board", steps, values.assumptions, "NDS 3.3")


def decking_deflection(
    board: Lumber, joist_spacing_in: float, loads: Loads, *, angle_deg: float = 0.0, deflection: float = 360
) -> Comparison:
    """Compare the live-load deflection of one board on two joists with span/`deflection` (in)."""
    require_positive(deflection=deflection)
    span_in = board_span_in(joist_spacing_in, angle_deg)
    values = _board_values(board, 1.0)
    w = loads.variable_psf * board.depth_in / 144
    bend_in = 5 * w * span_in**4 / (384 * values.e * board.i_yy_in4)
    limit_in = span_in / deflection
    steps = (
        _span_step(joist_spacing_in, angle_deg, span_in),
        Step("w", "q * b / 144", {"q": loads.variable_psf, "b": board.depth_in}, w, "lb/in", "statics"),
        value_step(values, "e"),
        Step(
            "bend",
            "5 * w * l**4 / (384 * E * I)",
            {"w": w, "l": span_in, "E": values.e, "I": board.i_yy_in4},
            bend_in,
            "in",
            "statics, single span",
        ),
        Step("limit", "l / n", {"l": span_in, "n": deflection}, limit_in, "in", "IRC Table R301.7"),
    )
    return Comparison(bend_in, limit_in, "in", "deflection of a board", steps, (), "IRC Table R301.7")


def _board_values(board: Lumber, load_duration: float) -> DesignValues:
    return adjusted_values(board, load_duration, members=1, flat_use=True)


def _span_step(spacing_in: float, angle_deg: float, span_in: float) -> Step:
    inputs = {"s": spacing_in, "angle": angle_deg}
    return Step("l", "s / cos(radians(angle))", inputs, span_in, "in", "geometry")
