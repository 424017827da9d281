"""Stairs: stringers and treads by calculation. A stringer is judged by the wood its cuts have left."""

from __future__ import annotations

from engine.comparison import Comparison
from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.loads import Loads
from engine.records import dataclass
from engine.results import Step

STAIR_LOAD = "IRC Table R301.5"
TREAD_LOAD = "IRC Table R301.5 note c"
PROJECTION = "loads and span along the ground (horizontal projection); the thrust along the stringer is left out"


@dataclass(frozen=True)
class StringerLoad:
    """What one stringer carries: lb per inch along the ground, the moment and the end reaction of each of two cases.

    The uniform load and the load on one tread are not added: the larger governs.
    """

    span_in: float
    moment_in_lb: float
    reaction_lb: float
    governs: str
    steps: tuple[Step, ...]


def stringer_load(
    span_in: float, tributary_width_in: float, loads: Loads, tread_load_lb: float = 300.0
) -> StringerLoad:
    """Moment and end reaction of one stringer under the uniform stair load or one loaded tread.

    `span_in` is horizontal between supports, `tributary_width_in` the width of stair that this stringer carries (half
    of each neighbouring space). The tread load stands on this stringer: at midspan for the moment, at the end for
    the reaction, with the dead load beside it. Source: statics; IRC Table R301.5 and its note c.
    """
    require_positive(span_in=span_in, tributary_width_in=tributary_width_in)
    require_not_negative(tread_load_lb=tread_load_lb)
    width = {"b": tributary_width_in}
    line = Step("w", "q / 144 * b", {"q": loads.total_psf, **width}, loads.total_psf / 144 * tributary_width_in,
                "lb/in", STAIR_LOAD)  # fmt: skip
    dead = Step("wD", "D / 144 * b", {"D": loads.dead, **width}, loads.dead / 144 * tributary_width_in,
                "lb/in", "statics")  # fmt: skip
    span = {"l": span_in}
    uniform = Step(
        "M_uniform", "w * l**2 / 8", {"w": line.value, **span}, line.value * span_in**2 / 8, "in-lb", "statics"
    )
    point = Step("M_tread", "P * l / 4 + wD * l**2 / 8", {"P": tread_load_lb, "wD": dead.value, **span},
                 tread_load_lb * span_in / 4 + dead.value * span_in**2 / 8, "in-lb", "statics")  # fmt: skip
    r_uniform = Step("R_uniform", "w * l / 2", {"w": line.value, **span}, line.value * span_in / 2, "lb", "statics")
    r_point = Step("R_tread", "P + wD * l / 2", {"P": tread_load_lb, "wD": dead.value, **span},
                   tread_load_lb + dead.value * span_in / 2, "lb", "statics")  # fmt: skip
    governs = "uniform load" if uniform.value >= point.value else "load on one tread"
    return StringerLoad(
        span_in,
        max(uniform.value, point.value),
        max(r_uniform.value, r_point.value),
        governs,
        (line, dead, uniform, point, r_uniform, r_point),
    )


def stringer_bending(carried: StringerLoad, width_in: float, throat_in: float, fb_adjusted_psi: float) -> Comparison:
    """Compare the bending stress at the throat (solid stringer: the whole depth) with its bending value, psi.

    `throat_in` is the wood left below the cuts, square to the lower edge. Source: NDS 3.3.2; net section NDS 3.1.2.
    """
    section = _section(width_in, throat_in)
    require_positive(fb_adjusted_psi=fb_adjusted_psi)
    inputs = {"M": carried.moment_in_lb, "S": section.value}
    stress = Step("fb", "M / S", inputs, carried.moment_in_lb / section.value, "psi", "NDS 3.3.2")
    assumptions = (PROJECTION, "stress concentrations at the corners of the cuts are left out")
    steps = (*carried.steps, section, stress)
    return Comparison(stress.value, fb_adjusted_psi, "psi", carried.governs, steps, assumptions, "NDS 3.3.2")


def stringer_shear(carried: StringerLoad, width_in: float, throat_in: float, fv_adjusted_psi: float) -> Comparison:
    """Compare the shear stress at the end of the throat with its shear value, psi. Source: NDS 3.4.2."""
    require_positive(width_in=width_in, throat_in=throat_in, fv_adjusted_psi=fv_adjusted_psi)
    inputs = {"V": carried.reaction_lb, "b": width_in, "d": throat_in}
    value = 1.5 * carried.reaction_lb / (width_in * throat_in)
    stress = Step("fv", "1.5 * V / (b * d)", inputs, value, "psi", "NDS 3.4.2")
    return Comparison(value, fv_adjusted_psi, "psi", "shear", (*carried.steps, stress), (PROJECTION,), "NDS 3.4.2")


def stringer_bearing(
    carried: StringerLoad, width_in: float, bearing_in: float, fc_perp_adjusted_psi: float
) -> Comparison:
    """Compare the end bearing of a stringer with the bearing value across the grain, psi. Source: NDS 3.10.2."""
    require_positive(width_in=width_in, bearing_in=bearing_in, fc_perp_adjusted_psi=fc_perp_adjusted_psi)
    inputs = {"R": carried.reaction_lb, "b": width_in, "lb": bearing_in}
    value = carried.reaction_lb / (width_in * bearing_in)
    stress = Step("fc_perp", "R / (b * lb)", inputs, value, "psi", "NDS 3.10.2")
    assumptions = (PROJECTION, "bearing taken as square across the grain")
    steps = (*carried.steps, stress)
    return Comparison(value, fc_perp_adjusted_psi, "psi", "bearing", steps, assumptions, "NDS 3.10.2")


def stringer_hanger(carried: StringerLoad, rated_lb: float) -> Comparison:
    """Compare the end reaction with the allowable load of the stringer's hanger, as its maker states it, lb."""
    require_positive(rated_lb=rated_lb)
    assumptions = (PROJECTION, "allowable load as entered from the maker's document")
    return Comparison(carried.reaction_lb, rated_lb, "lb", "hanger", carried.steps, assumptions, STAIR_LOAD)


def tread_bending(
    span_in: float,
    width_in: float,
    thickness_in: float,
    fb_adjusted_psi: float,
    load_lb: float = 300.0,
    patch_in: float = 2.0,
) -> Comparison:
    """Compare the bending stress of a tread under its point load at midspan with its bending value, psi.

    `span_in` is between stringers, `width_in` the depth of the board that carries the patch (one board of a tread made
    of several), `thickness_in` its thickness. The value is for flat use. Source: NDS 3.3.2; IRC Table R301.5 note c.
    """
    moment = _tread_moment(span_in, load_lb, patch_in)
    section = _section(width_in, thickness_in)
    require_positive(fb_adjusted_psi=fb_adjusted_psi)
    inputs = {"M": moment.value, "S": section.value}
    stress = Step("fb", "M / S", inputs, moment.value / section.value, "psi", "NDS 3.3.2")
    assumptions = ("the tread as a simple span", "one board carries the whole load")
    steps = (moment, section, stress)
    return Comparison(stress.value, fb_adjusted_psi, "psi", "bending", steps, assumptions, TREAD_LOAD)


def tread_deflection(
    span_in: float, width_in: float, thickness_in: float, e_psi: float, limit: float, load_lb: float = 300.0
) -> Comparison:
    """Compare the deflection of a tread under its load at midspan with span / `limit`, in. Source: statics."""
    require_positive(span_in=span_in, width_in=width_in, thickness_in=thickness_in, e_psi=e_psi, limit=limit)
    require_positive(load_lb=load_lb)
    inertia = Step("I", "b * t**3 / 12", {"b": width_in, "t": thickness_in}, width_in * thickness_in**3 / 12,
                   "in4", "geometry")  # fmt: skip
    inputs = {"P": load_lb, "l": span_in, "E": e_psi, "I": inertia.value}
    bent = Step("y", "P * l**3 / (48 * E * I)", inputs, load_lb * span_in**3 / (48 * e_psi * inertia.value),
                "in", "statics")  # fmt: skip
    most = Step("y_most", "l / n", {"l": span_in, "n": limit}, span_in / limit, "in", TREAD_LOAD)
    return Comparison(bent.value, most.value, "in", "deflection", (inertia, bent, most), ("a simple span",), TREAD_LOAD)


def _tread_moment(span_in: float, load_lb: float, patch_in: float) -> Step:
    require_positive(span_in=span_in, load_lb=load_lb, patch_in=patch_in)
    if patch_in > span_in:
        raise OutOfRange("span_in", span_in, f"at least the loaded length, {patch_in:g} in")
    inputs = {"P": load_lb, "l": span_in, "c": patch_in}
    value = load_lb * (span_in / 4 - patch_in / 8)
    return Step("M", "P * (l / 4 - c / 8)", inputs, value, "in-lb", "statics", "load over c at midspan")


def _section(width_in: float, depth_in: float) -> Step:
    require_positive(width_in=width_in, depth_in=depth_in)
    return Step("S", "b * d**2 / 6", {"b": width_in, "d": depth_in}, width_in * depth_in**2 / 6, "in3", "geometry")
