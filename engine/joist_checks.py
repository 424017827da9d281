"""Whether a given joist holds: bending, shear, notch, deflection, bearing, the tip of its overhang.

A joist is simply supported at the ledger (or a beam) and at a beam, and may run past it. Every function takes the
spacing as the width of deck that one joist carries. Lengths in inches, loads in psf, results as `Comparison`.
Source: NDS 2018 chapters 3 and 4; the overhang rule is AWC DCA 6-2012 Table 2 note 3.
"""

from __future__ import annotations

from engine.bearing import bearing
from engine.comparison import Comparison
from engine.constants import constant, model_rule
from engine.errors import OutOfRange, require_between, require_not_negative, require_positive
from engine.loads import Combination, Loads, combination_step
from engine.lumber import DesignValues, Lumber, adjusted_values, value_step
from engine.results import Step
from engine.statics import overhang_tip_deflection, simple_span_deflection

BRACED = "the joist is held against rolling over (decking above, blocking or hangers at its ends)"


def joist_values(lumber: Lumber, spacing_in: float, load_duration: float = 1.0) -> DesignValues:
    """Adjusted values of a joist in a field: repetitive if it is said to be, up to 24 in apart. Source: NDS 4.3.9."""
    together = spacing_in <= constant("repetitive_max_spacing")
    return adjusted_values(lumber, load_duration, members=3 if together else 1)


def line_load_lb_per_in(load_psf: float, width_in: float) -> float:
    """Uniform load on a member that carries `width_in` of deck."""
    return load_psf * width_in / 144


def joist_reactions(spacing_in: float, span_in: float, loads: Loads, overhang_in: float = 0.0) -> tuple[float, float]:
    """Largest reaction (lb) at the ledger end and at the beam end of one joist.

    The ledger end is at its largest with the overhang empty, the beam end with all of it loaded.
    """
    require_joist_geometry(spacing_in, span_in, overhang_in)
    load_lb_per_in = line_load_lb_per_in(loads.total_psf, spacing_in)
    return load_lb_per_in * span_in / 2, load_lb_per_in * (span_in + overhang_in) ** 2 / (2 * span_in)


def joist_bending(lumber: Lumber, spacing_in: float, span_in: float, loads: Loads) -> Comparison:
    """Compare the bending stress at midspan with the adjusted bending value; the overhang is taken as empty."""
    require_joist_geometry(spacing_in, span_in, 0.0)
    combination = loads.strength
    values = joist_values(lumber, spacing_in, combination.load_duration)
    load_step, load_lb_per_in = line_load_step(loads, combination, spacing_in)
    moment_in_lb = load_lb_per_in * span_in**2 / 8
    steps = (
        *load_step,
        Step("M", "w * l**2 / 8", {"w": load_lb_per_in, "l": span_in}, moment_in_lb, "in-lb", "statics, simple span"),
        *_stress_steps(lumber, values, moment_in_lb),
    )
    return Comparison(
        moment_in_lb / lumber.s_xx_in3, values.fb, "psi", "bending", steps, (BRACED, *values.assumptions), "NDS 3.3"
    )


def joist_bending_over_support(
    lumber: Lumber, spacing_in: float, overhang_in: float, loads: Loads, tip_load_lb: float | None = None
) -> Comparison:
    """Compare the bending stress over the beam with the adjusted value: overhang full, or dead load and a tip load.

    `tip_load_lb` defaults to the published 220 lb (AWC DCA 6-2012 Table 2 note 3).
    """
    require_joist_geometry(spacing_in, 1.0, 0.0)
    require_positive(overhang_in=overhang_in)
    tip_lb = tip_load(tip_load_lb)
    combination = loads.strength
    full_lb_per_in = line_load_lb_per_in(combination.total_psf, spacing_in)
    dead_lb_per_in = line_load_lb_per_in(loads.dead, spacing_in)
    full_in_lb = full_lb_per_in * overhang_in**2 / 2
    tip_in_lb = dead_lb_per_in * overhang_in**2 / 2 + tip_lb * overhang_in
    uniform_governs = full_in_lb / combination.load_duration >= tip_in_lb
    duration = combination.load_duration if uniform_governs else 1.0
    values = joist_values(lumber, spacing_in, duration)
    moment_in_lb = full_in_lb if uniform_governs else tip_in_lb
    if uniform_governs:
        load_steps, _ = line_load_step(loads, combination, spacing_in)
        inputs = {"w": full_lb_per_in, "a": overhang_in}
        moment_steps: tuple[Step, ...] = (
            *load_steps,
            Step("M", "w * a**2 / 2", inputs, moment_in_lb, "in-lb", "statics"),
        )
    else:
        inputs = {"wD": dead_lb_per_in, "a": overhang_in, "P": tip_lb}
        source = "statics; AWC DCA 6-2012 Table 2 note 3 for the tip load"
        moment_steps = (
            Step("wD", "D * s / 144", {"D": loads.dead, "s": spacing_in}, dead_lb_per_in, "lb/in", "statics"),
            Step("M", "wD * a**2 / 2 + P * a", inputs, moment_in_lb, "in-lb", source),
        )
    steps = (*moment_steps, *_stress_steps(lumber, values, moment_in_lb))
    governs = "uniform load" if uniform_governs else "tip load"
    return Comparison(
        moment_in_lb / lumber.s_xx_in3, values.fb, "psi", governs, steps, (BRACED, *values.assumptions), "NDS 3.3"
    )


def joist_shear(
    lumber: Lumber,
    spacing_in: float,
    span_in: float,
    loads: Loads,
    overhang_in: float = 0.0,
    notch_depth_in: float = 0.0,
) -> Comparison:
    """Compare the largest shear (lb) with what the joist can take, reduced for a notch at the bottom of its end.

    Without a notch the shear beside the beam counts, overhang full; with a notch the shear at the notched ledger end.
    The full reaction is used: load near the support is not left out.

    Raises OutOfRange for a notch as deep as the joist. Source: NDS 3.4.2, 3.4.3.2(a).
    """
    require_joist_geometry(spacing_in, span_in, overhang_in)
    depth_in = lumber.depth_in
    require_not_negative(notch_depth_in=notch_depth_in)
    if notch_depth_in >= depth_in:
        raise OutOfRange("notch_depth_in", notch_depth_in, f"less than the depth of the joist, {depth_in:g}")
    combination = loads.strength
    values = joist_values(lumber, spacing_in, combination.load_duration)
    load_steps, w = line_load_step(loads, combination, spacing_in)
    if notch_depth_in:
        shear_lb = w * span_in / 2
        shear_step = Step("V", "w * l / 2", {"w": w, "l": span_in}, shear_lb, "lb", "statics, ledger end")
        left_in = depth_in - notch_depth_in
        capacity_lb = 2 / 3 * values.fv * lumber.width_in * left_in * (left_in / depth_in) ** 2
        capacity_step = Step(
            "Vr'",
            "2 / 3 * Fv * b * dn * (dn / d)**2",
            {"Fv": values.fv, "b": lumber.width_in, "dn": left_in, "d": depth_in},
            capacity_lb,
            "lb",
            "NDS 3.4.3.2(a)",
        )
    else:
        shear_lb = max(w * span_in / 2 + w * overhang_in**2 / (2 * span_in), w * overhang_in)
        inputs = {"w": w, "l": span_in, "a": overhang_in}
        formula = "max(w * l / 2 + w * a**2 / (2 * l), w * a)"
        shear_step = Step("V", formula, inputs, shear_lb, "lb", "statics, beside the beam")
        capacity_lb = 2 / 3 * values.fv * lumber.area_in2
        inputs = {"Fv": values.fv, "b": lumber.width_in, "d": depth_in}
        capacity_step = Step("Vr'", "2 / 3 * Fv * b * d", inputs, capacity_lb, "lb", "NDS 3.4.2")
    steps = (*load_steps, shear_step, value_step(values, "fv"), capacity_step)
    governs = "shear at the notch" if notch_depth_in else "shear"
    return Comparison(shear_lb, capacity_lb, "lb", governs, steps, values.assumptions, "NDS 3.4")


def joist_notch_depth(lumber: Lumber, notch_depth_in: float) -> Comparison:
    """Compare the depth of a notch at the end of a joist with a quarter of its depth. Source: NDS 4.4.3 (memory)."""
    require_not_negative(notch_depth_in=notch_depth_in)
    share = constant("notch_end_max_share")
    limit_in = share * lumber.depth_in
    step = Step("limit", "k * d", {"k": share, "d": lumber.depth_in}, limit_in, "in", "NDS 4.4.3 (from memory)")
    return Comparison(notch_depth_in, limit_in, "in", "notch depth", (step,), (), "NDS 4.4.3")


def joist_live_deflection(
    lumber: Lumber, spacing_in: float, span_in: float, loads: Loads, deflection: float = 360
) -> Comparison:
    """Compare the midspan deflection (in) under the load that comes and goes with span/`deflection`."""
    require_joist_geometry(spacing_in, span_in, 0.0)
    require_positive(deflection=deflection)
    values = joist_values(lumber, spacing_in)
    w = line_load_lb_per_in(loads.variable_psf, spacing_in)
    bend_in = simple_span_deflection(w, span_in, values.e, lumber.i_xx_in4)
    limit_in = span_in / deflection
    steps = (
        Step("w", "q * s / 144", {"q": loads.variable_psf, "s": spacing_in}, w, "lb/in", "statics"),
        value_step(values, "e"),
        lumber.i_step,
        _deflection_step(w, span_in, values.e, lumber.i_xx_in4, bend_in),
        Step("limit", "l / n", {"l": span_in, "n": deflection}, limit_in, "in", "IRC Table R301.7"),
    )
    return Comparison(bend_in, limit_in, "in", "live deflection", steps, (), f"L/{deflection:g}, IRC Table R301.7")


def joist_total_deflection(
    lumber: Lumber, spacing_in: float, span_in: float, loads: Loads, deflection: float | None = None
) -> Comparison:
    """Compare the midspan deflection (in) with creep under the dead load with span/240 (or span/`deflection`).

    Source: NDS 3.5.2 (creep 2.0 wet, 1.5 dry) and IBC Table 1604.3 for the limit, both from memory.
    """
    require_joist_geometry(spacing_in, span_in, 0.0)
    limit = constant("total_deflection_limit") if deflection is None else deflection
    require_positive(deflection=limit)
    values = joist_values(lumber, spacing_in)
    creep = constant("creep_wet" if lumber.wet else "creep_dry")
    combined_psf = loads.variable_psf + creep * loads.dead
    w = line_load_lb_per_in(combined_psf, spacing_in)
    bend_in = simple_span_deflection(w, span_in, values.e, lumber.i_xx_in4)
    limit_in = span_in / limit
    inputs = {"qL": loads.variable_psf, "k": creep, "D": loads.dead, "s": spacing_in}
    steps = (
        Step("w", "(qL + k * D) * s / 144", inputs, w, "lb/in", "NDS 3.5.2 (creep, from memory)"),
        value_step(values, "e"),
        lumber.i_step,
        _deflection_step(w, span_in, values.e, lumber.i_xx_in4, bend_in),
        Step("limit", "l / n", {"l": span_in, "n": limit}, limit_in, "in", "IBC Table 1604.3 (from memory)"),
    )
    return Comparison(bend_in, limit_in, "in", "total deflection", steps, (), f"L/{limit:g}, IBC Table 1604.3")


def joist_bearing(
    lumber: Lumber,
    spacing_in: float,
    span_in: float,
    loads: Loads,
    bearing_length_in: float,
    overhang_in: float = 0.0,
    at_end: bool = True,
) -> Comparison:
    """Compare the bearing stress across the grain with the adjusted value.

    At the end of the joist the ledger reaction counts; `at_end=False` means at the beam, where the joist runs on by
    `overhang_in` and Cb applies if it does so by at least 3 in. Source: NDS 3.10.2, 3.10.4.
    """
    ledger_lb, beam_lb = joist_reactions(spacing_in, span_in, loads, overhang_in)
    reaction_lb = ledger_lb if at_end else beam_lb
    distance_in = 0.0 if at_end else overhang_in - bearing_length_in / 2
    return bearing(lumber, reaction_lb, bearing_length_in, distance_in)


def joist_tip_deflection(
    lumber: Lumber,
    span_in: float,
    overhang_in: float,
    tip_load_lb: float | None = None,
    deflection: float | None = None,
) -> Comparison:
    """Compare the tip deflection (in) of an overhang under a point load with its length/`deflection`.

    One joist alone, no load sharing. The load defaults to the published 220 lb (AWC DCA 6-2012 Table 2 note 3).
    """
    limit = constant("tip_deflection_limit") if deflection is None else deflection
    require_positive(span_in=span_in, overhang_in=overhang_in, deflection=limit)
    load_lb = tip_load(tip_load_lb)
    values = adjusted_values(lumber)
    bend_in = overhang_tip_deflection(load_lb, overhang_in, span_in, values.e, lumber.i_xx_in4)
    limit_in = overhang_in / limit
    inputs = {"P": load_lb, "a": overhang_in, "l": span_in, "E": values.e, "I": lumber.i_xx_in4}
    source = "AWC DCA 6-2012 Table 2 note 3"
    steps = (
        value_step(values, "e"),
        lumber.i_step,
        Step("tip", "P * a**2 * (l + a) / (3 * E * I)", inputs, bend_in, "in", "statics"),
        Step("limit", "a / n", {"a": overhang_in, "n": limit}, limit_in, "in", source),
    )
    return Comparison(bend_in, limit_in, "in", "tip deflection", steps, ("one joist takes the tip load alone",), source)


def tip_load(tip_load_lb: float | None) -> float:
    load_lb = model_rule("load.overhang_point_load") if tip_load_lb is None else tip_load_lb
    require_positive(tip_load_lb=load_lb)
    return load_lb


def require_joist_geometry(spacing_in: float, span_in: float, overhang_in: float) -> None:
    require_between(1, 96, spacing_in=spacing_in)
    require_between(1, 480, span_in=span_in)
    require_between(0, 240, overhang_in=overhang_in)


def line_load_step(loads: Loads, combination: Combination, spacing_in: float) -> tuple[tuple[Step, Step], float]:
    w = line_load_lb_per_in(combination.total_psf, spacing_in)
    inputs = {"q": combination.total_psf, "s": spacing_in}
    return (combination_step(loads, combination), Step("w", "q * s / 144", inputs, w, "lb/in", "statics")), w


def _stress_steps(lumber: Lumber, values: DesignValues, moment_in_lb: float) -> tuple[Step, Step, Step]:
    stress_psi = moment_in_lb / lumber.s_xx_in3
    inputs = {"M": moment_in_lb, "S": lumber.s_xx_in3}
    return lumber.s_step, Step("fb", "M / S", inputs, stress_psi, "psi", "NDS 3.3.2"), value_step(values, "fb")


def _deflection_step(w: float, span_in: float, e_psi: float, i_in4: float, value_in: float) -> Step:
    inputs = {"w": w, "l": span_in, "E": e_psi, "I": i_in4}
    return Step("bend", "5 * w * l**4 / (384 * E * I)", inputs, value_in, "in", "statics, simple span")
