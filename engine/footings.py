"""Footings: the size that the soil asks for, and the checks of one that was measured.

Sources: IRC 2018 R507.3 (the size rule behind its table, which is the load over the soil bearing), R403.1.4 (depth).
"""

from __future__ import annotations

import math

from engine.comparison import Comparison
from engine.constants import constant, model_rule
from engine.errors import require_not_negative, require_positive
from engine.loads import Loads, combination_step
from engine.records import dataclass
from engine.results import Step

CONCRETE_PCF = "concrete_pcf"


@dataclass(frozen=True)
class RequiredFooting:
    """Side of a square footing, diameter of a round one and thickness (in), not rounded."""

    square_in: float
    round_in: float
    thickness_in: float
    load_lb: float
    steps: tuple[Step, ...] = ()
    assumptions: tuple[str, ...] = ()


def required_footing(
    tributary_area_sqft: float, loads: Loads, soil_psf: float, *, post_side_in: float | None = None
) -> RequiredFooting:
    """The footing that spreads the load of a deck area over the soil, not below the table's least sizes.

    The footing's own weight is left out, as in the IRC table. The thickness lets the load spread at 45 degrees from
    the post to the edge of the square footing.

    Raises OutOfRange for an area or soil bearing that is not above zero.
    """
    require_positive(tributary_area_sqft=tributary_area_sqft, soil_psf=soil_psf)
    side_in = constant("footing_post_side") if post_side_in is None else post_side_in
    require_positive(post_side_in=side_in)
    total = loads.largest
    load_lb = total.total_psf * tributary_area_sqft
    base_in2 = load_lb / soil_psf * 144
    least = [constant(f"footing_least_{name}") for name in ("square", "round", "thickness")]
    square_in = max(least[0], math.sqrt(base_in2))
    round_in = max(least[1], math.sqrt(4 * base_in2 / math.pi))
    thickness_in = max(least[2], (square_in - side_in) / 2)
    source = "IRC 2018 Table R507.3.1 (rule worked back from memory)"
    steps = (
        combination_step(loads, total),
        Step("P", "q * A", {"q": total.total_psf, "A": tributary_area_sqft}, load_lb, "lb", "statics"),
        Step("base", "P / soil * 144", {"P": load_lb, "soil": soil_psf}, base_in2, "in2", source),
        Step("square", "max(m, sqrt(base))", {"m": least[0], "base": base_in2}, square_in, "in", source),
        Step("round", "max(m, sqrt(4 * base / pi))", {"m": least[1], "base": base_in2}, round_in, "in", source),
        Step(
            "thickness",
            "max(m, (square - post) / 2)",
            {"m": least[2], "square": square_in, "post": side_in},
            thickness_in,
            "in",
            source,
        ),
    )
    assumptions = ("the weight of the footing itself is not counted", "the load stands in the middle of the footing")
    return RequiredFooting(square_in, round_in, thickness_in, load_lb, steps, assumptions)


def base_area_in2(size_in: float, *, is_round: bool) -> float:
    """Area of the underside of a footing from its side or its diameter."""
    require_positive(size_in=size_in)
    return math.pi * size_in**2 / 4 if is_round else size_in**2


def footing_bearing(
    load_lb: float, size_in: float, soil_psf: float, *, is_round: bool, thickness_in: float = 0.0
) -> Comparison:
    """Compare the pressure under a footing (psf) with the soil bearing; a thickness adds the concrete's weight.

    Concrete weighs 150 lb per cubic foot (common practice, no published source).
    """
    require_not_negative(load_lb=load_lb, thickness_in=thickness_in)
    require_positive(soil_psf=soil_psf)
    base_in2 = base_area_in2(size_in, is_round=is_round)
    weight_pcf = constant(CONCRETE_PCF)
    pressure_psf = load_lb / base_in2 * 144 + weight_pcf * thickness_in / 12
    formula = "pi * s**2 / 4" if is_round else "s**2"
    inputs = {"P": load_lb, "A": base_in2, "c": weight_pcf, "t": thickness_in}
    steps = (
        Step("A", formula, {"s": size_in}, base_in2, "in2", "geometry"),
        Step("pressure", "P / A * 144 + c * t / 12", inputs, pressure_psf, "psf", "statics"),
    )
    assumptions = ("the load stands in the middle of the footing",)
    return Comparison(pressure_psf, soil_psf, "psf", "soil bearing", steps, assumptions, "IRC R507.3, R401.4.1")


def footing_thickness(thickness_in: float, size_in: float, post_side_in: float | None = None) -> Comparison:
    """Compare the thickness needed for the load to spread at 45 degrees with the thickness measured (in)."""
    side_in = constant("footing_post_side") if post_side_in is None else post_side_in
    require_positive(thickness_in=thickness_in, size_in=size_in, post_side_in=side_in)
    least_in = constant("footing_least_thickness")
    needed_in = max(least_in, (size_in - side_in) / 2)
    source = "IRC 2018 Table R507.3.1 (rule worked back from memory)"
    inputs = {"m": least_in, "s": size_in, "post": side_in}
    step = Step("needed", "max(m, (s - post) / 2)", inputs, needed_in, "in", source)
    return Comparison(needed_in, thickness_in, "in", "thickness", (step,), (), source)


def footing_depth(depth_in: float, frost_depth_in: float, least_in: float | None = None) -> Comparison:
    """Compare the depth needed, below frost and at least 12 in, with the depth measured (in). Source: IRC R403.1.4."""
    require_not_negative(depth_in=depth_in, frost_depth_in=frost_depth_in)
    least = model_rule("footing.min_depth") if least_in is None else least_in
    needed_in = max(least, frost_depth_in)
    governs = "frost" if frost_depth_in > least else "least depth"
    inputs = {"m": least, "frost": frost_depth_in}
    step = Step("needed", "max(m, frost)", inputs, needed_in, "in", "IRC R403.1.4")
    return Comparison(needed_in, depth_in, "in", governs, (step,), (), "IRC R403.1.4")
