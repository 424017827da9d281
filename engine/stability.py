"""Stability: how much a slender column or an unbraced beam loses. Plain numbers in, a factor and its steps out.

Sources: NDS 3.7.1 (columns, CP), NDS 3.3.3 (beams, CL), NDS 15.3.2 (built-up columns, Kf).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache

from engine import tables
from engine.constants import constant
from engine.errors import OutOfRange, require_between, require_positive
from engine.records import dataclass
from engine.results import Step


@dataclass(frozen=True)
class Stability:
    """A stability factor (no unit), the critical stress behind it (psi), and the steps."""

    factor: float
    critical_psi: float
    steps: tuple[Step, ...]


def column_stability(
    slenderness: float, fc_star_psi: float, e_min_psi: float, *, built_up_factor: float = 1.0
) -> Stability:
    """CP of a column of slenderness le/d; `fc_star_psi` is Fc with every factor but CP, `e_min_psi` is Emin'.

    `built_up_factor` is Kf. Raises OutOfRange above a slenderness of 50. Source: NDS 3.7.1.5, 15.3.2.
    """
    require_positive(fc_star_psi=fc_star_psi, e_min_psi=e_min_psi)
    limit = constant("slenderness_column_max")
    require_positive(slenderness=slenderness)
    if slenderness > limit:
        raise OutOfRange("slenderness", slenderness, f"at most {limit:g} in service (NDS 3.7.1.4)")
    euler, c = constant("euler_column"), constant("column_c_sawn")
    critical_psi = euler * e_min_psi / slenderness**2
    b = critical_psi / fc_star_psi
    middle = (1 + b) / (2 * c)
    factor = built_up_factor * (middle - math.sqrt(middle**2 - b / c))
    formula = "(1 + FcE / Fc) / (2 * c) - sqrt(((1 + FcE / Fc) / (2 * c))**2 - FcE / Fc / c)"
    inputs = {"FcE": critical_psi, "Fc": fc_star_psi, "c": c}
    if built_up_factor != 1.0:
        formula, inputs = f"Kf * ({formula})", {"Kf": built_up_factor, **inputs}
    source = "NDS 15.3.2" if built_up_factor != 1.0 else "NDS 3.7.1.5"
    steps = (
        Step(
            "FcE",
            "k * Emin / r**2",
            {"k": euler, "Emin": e_min_psi, "r": slenderness},
            critical_psi,
            "psi",
            "NDS 3.7.1.5",
            "r is the slenderness le/d",
        ),
        Step("CP", formula, inputs, factor, "-", source),
    )
    return Stability(factor, critical_psi, steps)


def beam_effective_length_in(unbraced_in: float, depth_in: float, loading: str = "uniform") -> float:
    """Effective length le of a single span, or of a cantilever, between places held against rolling over.

    `loading` is uniform, centre point, cantilever uniform, cantilever tip or other. Source: NDS Table 3.3.3.
    """
    require_positive(unbraced_in=unbraced_in, depth_in=depth_in)
    ratio = unbraced_in / depth_in
    row = _effective_lengths().get(loading)
    if row is None:
        raise OutOfRange("loading", loading, "one of " + ", ".join(_effective_lengths()))
    short, long, very_long = row
    if ratio < 7:
        return short * unbraced_in
    if very_long is not None and ratio > 14.3:
        return very_long * unbraced_in
    return long * unbraced_in + 3 * depth_in


@cache
def _effective_lengths() -> Mapping[str, tuple[float, float, float | None]]:
    found = {}
    for row in tables.load("beam_effective_lengths").rows:
        very_long = row["very_long_times_lu"]
        found[str(row["loading"])] = (
            float(str(row["short_times_lu"])),
            float(str(row["long_times_lu"])),
            None if very_long is None else float(str(very_long)),
        )
    return found


def beam_stability(
    effective_length_in: float, width_in: float, depth_in: float, fb_star_psi: float, e_min_psi: float
) -> Stability:
    """CL of a beam; `fb_star_psi` is Fb with every factor but CL (and Cfu), `e_min_psi` is Emin'.

    Raises OutOfRange above RB = 50. Source: NDS 3.3.3.
    """
    require_positive(
        effective_length_in=effective_length_in,
        width_in=width_in,
        depth_in=depth_in,
        fb_star_psi=fb_star_psi,
        e_min_psi=e_min_psi,
    )
    rb = math.sqrt(effective_length_in * depth_in / width_in**2)
    require_between(0, constant("slenderness_beam_max"), beam_slenderness=rb)
    euler = constant("euler_beam")
    critical_psi = euler * e_min_psi / rb**2
    b = critical_psi / fb_star_psi
    middle = (1 + b) / 1.9
    factor = middle - math.sqrt(middle**2 - b / 0.95)
    inputs = {"le": effective_length_in, "d": depth_in, "b": width_in}
    formula = "(1 + FbE / Fb) / 1.9 - sqrt(((1 + FbE / Fb) / 1.9)**2 - FbE / Fb / 0.95)"
    steps = (
        Step("RB", "sqrt(le * d / b**2)", inputs, rb, "-", "NDS 3.3.3.6"),
        Step("FbE", "k * Emin / RB**2", {"k": euler, "Emin": e_min_psi, "RB": rb}, critical_psi, "psi", "NDS 3.3.3.8"),
        Step("CL", formula, {"FbE": critical_psi, "Fb": fb_star_psi}, factor, "-", "NDS 3.3.3.8"),
    )
    return Stability(factor, critical_psi, steps)


def combined_bending_ratio(
    fc_psi: float,
    fc_adjusted_psi: float,
    strong: tuple[float, float, float],
    weak: tuple[float, float, float] = (0.0, 1.0, math.inf),
    fbe_psi: float = math.inf,
) -> float:
    """Left side of the interaction of axial compression with bending about one or both axes; above 1 does not hold.

    `strong` and `weak` are (bending stress, Fb' with every factor, FcE) in psi about each axis, `fbe_psi` is FbE of the
    strong axis. Raises OutOfRange where the axial stress reaches a critical one. Source: NDS 3.9.2, Eq. 3.9-3.
    """
    require_positive(fc_adjusted_psi=fc_adjusted_psi)
    fb1, fb1_adjusted, fce1 = strong
    fb2, fb2_adjusted, fce2 = weak
    left1 = 1 - fc_psi / fce1
    left2 = 1 - fc_psi / fce2 - (fb1 / fbe_psi) ** 2
    if left1 <= 0 or left2 <= 0:
        raise OutOfRange("fc_psi", fc_psi, "less than the critical stress FcE of each axis (NDS 3.9.2)")
    return (fc_psi / fc_adjusted_psi) ** 2 + fb1 / (fb1_adjusted * left1) + fb2 / (fb2_adjusted * left2)
