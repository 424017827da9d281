"""Joists: how far they may span and overhang; the checks of a given joist stand in `engine.joist_checks`.

Source: NDS 2018 chapters 3 and 4; the overhang rule is AWC DCA 6-2012 Table 2 note 3.
"""

from __future__ import annotations

import math

from engine.constants import constant, model_rule
from engine.errors import OutOfRange, require_positive
from engine.joist_checks import (
    BRACED,
    joist_bearing,
    joist_bending,
    joist_bending_over_support,
    joist_live_deflection,
    joist_notch_depth,
    joist_reactions,
    joist_shear,
    joist_tip_deflection,
    joist_total_deflection,
    joist_values,
    line_load_lb_per_in,
    line_load_step,
    require_joist_geometry,
    tip_load,
)
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values, value_step
from engine.results import Limit, Step

__all__ = [
    "joist_bearing",
    "joist_bending",
    "joist_bending_over_support",
    "joist_live_deflection",
    "joist_notch_depth",
    "joist_reactions",
    "joist_shear",
    "joist_tip_deflection",
    "joist_total_deflection",
    "max_joist_overhang",
    "max_joist_span",
]


def max_joist_span(
    lumber: Lumber,
    spacing_in: float,
    loads: Loads,
    overhang_in: float = 0.0,
    deflection: float = 360,
    *,
    cap_in: float | None = None,
) -> Limit:
    """The longest span (in) at which bending, shear, live deflection and the tip of the overhang still hold.

    The span is capped at `cap_in`, by default the 18 ft at which the published joist tables end; math.inf takes the
    cap away. Bearing is a check of its own.

    Raises OutOfRange where no span holds: an overhang that is too much by itself, or longer than a quarter of the
    longest span.
    """
    require_joist_geometry(spacing_in, 1.0, overhang_in)
    require_positive(deflection=deflection)
    combination = loads.strength
    values = joist_values(lumber, spacing_in, combination.load_duration)
    load_steps, w = line_load_step(loads, combination, spacing_in)
    variable = line_load_lb_per_in(loads.variable_psf, spacing_in)
    section = {"S": lumber.s_xx_in3, "I": lumber.i_xx_in4, "A": lumber.area_in2}
    bending_in = math.sqrt(8 * values.fb * section["S"] / w)
    shear_lb = 2 / 3 * values.fv * section["A"]
    over_w = shear_lb / w
    if over_w <= overhang_in:
        raise OutOfRange(
            "overhang_in", overhang_in, f"less than {over_w:.1f} in, where the overhang alone fails in shear"
        )
    shear_in = over_w + math.sqrt(over_w**2 - overhang_in**2)
    inputs = {"Fb": values.fb, "S": section["S"], "w": w}
    steps = [
        *load_steps,
        value_step(values, "fb"),
        lumber.s_step,
        Step("l_bending", "sqrt(8 * Fb * S / w)", inputs, bending_in, "in", "NDS 3.3.2; statics"),
        value_step(values, "fv"),
        Step(
            "l_shear",
            "2 / 3 * Fv * b * d / w + sqrt((2 / 3 * Fv * b * d / w)**2 - a**2)",
            {"Fv": values.fv, "b": lumber.width_in, "d": lumber.depth_in, "w": w, "a": overhang_in},
            shear_in,
            "in",
            "NDS 3.4.2; statics",
        ),
    ]
    candidates = {"bending": bending_in, "shear": shear_in}
    if variable:
        inputs = {"E": values.e, "I": section["I"], "wL": variable, "n": deflection}
        bent_in = (384 * values.e * section["I"] / (5 * variable * deflection)) ** (1 / 3)
        formula = "(384 * E * I / (5 * wL * n))**(1 / 3)"
        source = f"statics, L/{deflection:g} under the load that comes and goes"
        line = Step("wL", "q * s / 144", {"q": loads.variable_psf, "s": spacing_in}, variable, "lb/in", "statics")
        found = Step("l_deflection", formula, inputs, bent_in, "in", source)
        steps += [line, value_step(values, "e"), lumber.i_step, found]
        candidates["live deflection"] = bent_in
    if overhang_in:
        over = joist_bending_over_support(lumber, spacing_in, overhang_in, loads)
        if over.ratio > 1:
            raise OutOfRange("overhang_in", overhang_in, "an overhang that holds in bending over the beam by itself")
        tip_lb = tip_load(None)
        limit = constant("tip_deflection_limit")
        inputs = {"E": values.e, "I": section["I"], "n": limit, "P": tip_lb, "a": overhang_in}
        tip_in = 3 * values.e * section["I"] / (limit * tip_lb * overhang_in) - overhang_in
        steps.append(
            Step("l_tip", "3 * E * I / (n * P * a) - a", inputs, tip_in, "in", "AWC DCA 6-2012 Table 2 note 3")
        )
        candidates["tip deflection"] = tip_in
    candidates["end of the published tables"] = model_rule("joist.length_limit") if cap_in is None else cap_in
    governs = min(candidates, key=lambda name: candidates[name])
    value_in = candidates[governs]
    ratio = model_rule("joist.max_cantilever_ratio")
    if overhang_in > ratio * value_in:
        raise OutOfRange("overhang_in", overhang_in, f"at most a quarter of the span, here {ratio * value_in:.1f}")
    assumptions = (BRACED, "bearing at the ends is checked apart", *values.assumptions)
    return Limit(value_in, governs, tuple(steps), candidates, assumptions)


def max_joist_overhang(
    lumber: Lumber, span_in: float, *, tip_load_lb: float | None = None, deflection: float | None = None
) -> Limit:
    """The longest overhang (in) past the beam by the published rule: tip deflection a/180 under 220 lb, a quarter span.

    Source: AWC DCA 6-2012 Table 2 note 3.
    """
    limit = constant("tip_deflection_limit") if deflection is None else deflection
    require_positive(span_in=span_in, deflection=limit)
    load_lb = tip_load(tip_load_lb)
    values = adjusted_values(lumber)
    inputs = {"l": span_in, "E": values.e, "I": lumber.i_xx_in4, "n": limit, "P": load_lb}
    tip_in = -span_in / 2 + math.sqrt((span_in / 2) ** 2 + 3 * values.e * lumber.i_xx_in4 / (limit * load_lb))
    ratio = model_rule("joist.max_cantilever_ratio")
    quarter_in = ratio * span_in
    formula = "-l / 2 + sqrt((l / 2)**2 + 3 * E * I / (n * P))"
    source = "AWC DCA 6-2012 Table 2 note 3"
    steps = (
        value_step(values, "e"),
        lumber.i_step,
        Step("a_tip", formula, inputs, tip_in, "in", source),
        Step("a_quarter", "k * l", {"k": ratio, "l": span_in}, quarter_in, "in", source),
    )
    candidates = {"tip deflection": tip_in, "a quarter of the span": quarter_in}
    governs = min(candidates, key=lambda name: candidates[name])
    return Limit(candidates[governs], governs, steps, candidates, ("one joist takes the tip load alone",))
