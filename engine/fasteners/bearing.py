"""Dowel bearing strength: how hard a part bears on the fastener, by specific gravity, diameter and grain."""

from __future__ import annotations

import math

from engine.fasteners.parts import LARGE_DIAMETER_IN, Fastener, Part, material_fe_psi
from engine.results import Step

NOMINAL = "D is the nominal diameter, also of a threaded fastener"


def round_to_50(value_psi: float) -> float:
    """To the nearest 50 psi, as NDS Table 12.3.3 prints it and as its connection tables use it."""
    return math.floor(value_psi / 50 + 0.5) * 50.0


def dowel_bearing(part: Part, fastener: Fastener, letter: str) -> tuple[float, tuple[Step, ...]]:
    """Dowel bearing strength of `part` in psi, with its derivation; `letter` is m (main) or s (side).

    From 1/4 in the strength depends on the angle to the grain (Hankinson, on the rounded strengths); below it does
    not. The nominal diameter counts, even for a screw whose root diameter enters the yield equations.
    Source: NDS Table 12.3.3 with footnote 2, Eq. 12.3-11; steel and concrete from Tables 12B, 12K, 12E.
    """
    symbol = f"Fe{letter}"
    if part.bearing_psi is not None:
        return part.bearing_psi, (Step(symbol, "Fe", {"Fe": part.bearing_psi}, part.bearing_psi, "psi", "entered"),)
    if not part.is_wood:
        fe_psi = material_fe_psi(part.material or "")
        return fe_psi, (Step(symbol, "Fe", {"Fe": fe_psi}, fe_psi, "psi", f"NDS footnotes: {part.material}"),)
    gravity = part.specific_gravity or 0.0
    if fastener.diameter_in < LARGE_DIAMETER_IN:
        fe_psi = round_to_50(16600 * gravity**1.84)
        formula = "floor(16600 * G**1.84 / 50 + 0.5) * 50"
        return fe_psi, (Step(symbol, formula, {"G": gravity}, fe_psi, "psi", "NDS Table 12.3.3 fn 2"),)
    return _by_grain(gravity, fastener.diameter_in, part.angle_deg, symbol)


def _by_grain(gravity: float, diameter_in: float, angle_deg: float, symbol: str) -> tuple[float, tuple[Step, ...]]:
    source = "NDS Table 12.3.3 fn 2"
    par_psi = round_to_50(11200 * gravity)
    perp_psi = round_to_50(6100 * gravity**1.45 / math.sqrt(diameter_in))
    par = Step(f"{symbol}_par", "floor(11200 * G / 50 + 0.5) * 50", {"G": gravity}, par_psi, "psi", source)
    formula = "floor(6100 * G**1.45 / sqrt(D) / 50 + 0.5) * 50"
    perp = Step(f"{symbol}_perp", formula, {"G": gravity, "D": diameter_in}, perp_psi, "psi", source, NOMINAL)
    if angle_deg == 0:
        return par_psi, (par, Step(symbol, "Fe_par", {"Fe_par": par_psi}, par_psi, "psi", "load along the grain"))
    if angle_deg == 90:
        return perp_psi, (
            perp,
            Step(symbol, "Fe_perp", {"Fe_perp": perp_psi}, perp_psi, "psi", "load across the grain"),
        )
    theta = math.radians(angle_deg)
    fe_psi = par_psi * perp_psi / (par_psi * math.sin(theta) ** 2 + perp_psi * math.cos(theta) ** 2)
    inputs = {"Fe_par": par_psi, "Fe_perp": perp_psi, "theta": angle_deg}
    hankinson = "Fe_par * Fe_perp / (Fe_par * sin(radians(theta))**2 + Fe_perp * cos(radians(theta))**2)"
    return fe_psi, (par, perp, Step(symbol, hankinson, inputs, fe_psi, "psi", "NDS Eq. 12.3-11"))
