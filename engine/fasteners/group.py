"""Group action: fasteners in one row do not share the load evenly (NDS 11.3.6)."""

from __future__ import annotations

import math

from engine.errors import OutOfRange, require_positive
from engine.fasteners.parts import LARGE_DIAMETER_IN
from engine.results import Step

SOURCE = "NDS 11.3.6, Eq. 11.3-1"


def group_action_factor(
    count: int,
    spacing_in: float,
    diameter_in: float,
    main_stiffness_lb: float,
    side_stiffness_lb: float,
    *,
    is_metal_side: bool = False,
) -> tuple[float, tuple[Step, ...]]:
    """Group action factor Cg of `count` fasteners in one row, with its derivation.

    The stiffnesses are E times gross area, lb (side: the sum of the side parts). 1.0 for one fastener and for
    diameters below 1/4 in. Raises OutOfRange for values that are not above zero, or a count below one.
    """
    require_positive(
        spacing_in=spacing_in,
        diameter_in=diameter_in,
        main_stiffness_lb=main_stiffness_lb,
        side_stiffness_lb=side_stiffness_lb,
    )
    if count < 1:
        raise OutOfRange("count", count, "one or more")
    if count == 1 or diameter_in < LARGE_DIAMETER_IN:
        return 1.0, (Step("Cg", "1.0", {}, 1.0, "-", "NDS 11.3.6: one fastener, or D below 1/4 in"),)
    per_unit = 270000.0 if is_metal_side else 180000.0
    gamma = per_unit * diameter_in**1.5
    rea = min(side_stiffness_lb / main_stiffness_lb, main_stiffness_lb / side_stiffness_lb)
    u = 1 + gamma * spacing_in / 2 * (1 / main_stiffness_lb + 1 / side_stiffness_lb)
    m = u - math.sqrt(u**2 - 1)
    n = float(count)
    head = m * (1 - m ** (2 * n)) / (n * ((1 + rea * m**n) * (1 + m) - 1 + m ** (2 * n)))
    factor = head * (1 + rea) / (1 - m)
    stiffness = {"EAm": main_stiffness_lb, "EAs": side_stiffness_lb}
    final = "m * (1 - m**(2 * n)) / (n * ((1 + REA * m**n) * (1 + m) - 1 + m**(2 * n))) * (1 + REA) / (1 - m)"
    return factor, (
        Step("gamma", "q * D**1.5", {"q": per_unit, "D": diameter_in}, gamma, "lb/in", SOURCE, "load per inch of slip"),
        Step("REA", "min(EAs / EAm, EAm / EAs)", stiffness, rea, "-", SOURCE),
        Step(
            "u",
            "1 + gamma * s / 2 * (1 / EAm + 1 / EAs)",
            {"gamma": gamma, "s": spacing_in, **stiffness},
            u,
            "-",
            SOURCE,
        ),
        Step("m", "u - sqrt(u**2 - 1)", {"u": u}, m, "-", SOURCE),
        Step("Cg", final, {"m": m, "n": n, "REA": rea}, factor, "-", SOURCE),
    )
