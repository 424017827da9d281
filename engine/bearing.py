"""Bearing across the grain: a reaction spread over a seat, a hanger or a post top."""

from __future__ import annotations

from engine.comparison import Comparison
from engine.constants import constant
from engine.errors import require_not_negative, require_positive
from engine.lumber import Lumber, adjusted_values, value_step
from engine.results import Step


def bearing(
    lumber: Lumber,
    reaction_lb: float,
    bearing_length_in: float,
    distance_to_end_in: float = 0.0,
    width_in: float | None = None,
) -> Comparison:
    """Compare a reaction spread over a bearing with the adjusted value across the grain (psi).

    `distance_to_end_in` is from the end of the member to the near edge of the bearing; `width_in` is the part of the
    member's width that bears, None for all of it. Source: NDS 3.10.2, 3.10.4.
    """
    width_in = lumber.width_in if width_in is None else min(width_in, lumber.width_in)
    require_positive(bearing_length_in=bearing_length_in, width_in=width_in)
    require_not_negative(reaction_lb=reaction_lb)
    values = adjusted_values(lumber)
    area_in2 = width_in * bearing_length_in
    stress_psi = reaction_lb / area_in2
    short = bearing_length_in < constant("bearing_area_max_length")
    inner = distance_to_end_in >= constant("bearing_area_from_end")
    more_in = constant("bearing_area_add") if short and inner else 0.0
    cb = (bearing_length_in + more_in) / bearing_length_in
    allowed_psi = values.fc_perp * cb
    inputs = {"R": reaction_lb, "b": width_in, "lb": bearing_length_in}
    steps = (
        Step("fc_perp", "R / (b * lb)", inputs, stress_psi, "psi", "NDS 3.10.2"),
        value_step(values, "fc_perp"),
        Step("Cb", "(lb + k) / lb", {"lb": bearing_length_in, "k": more_in}, cb, "-", "NDS 3.10.4"),
        Step("limit", "Fc_perp * Cb", {"Fc_perp": values.fc_perp, "Cb": cb}, allowed_psi, "psi", "NDS 3.10.4"),
    )
    return Comparison(stress_psi, allowed_psi, "psi", "bearing across the grain", steps, (), "NDS 3.10")
