"""Beams of sawn lumber, solid or built of plies: the longest span; `engine.beam_checks` has the checks of a given one.

Source: NDS 2018 chapters 3 and 4. The load of the joists includes their overhang, as in the IRC beam tables.
"""

from __future__ import annotations

import math

from engine.beam_checks import (
    BeamForces,
    BeamLine,
    beam_bearing,
    beam_bending,
    beam_forces,
    beam_live_deflection,
    beam_reactions,
    beam_shear,
    beam_tip_deflection,
    beam_total_deflection,
    beam_values,
    joist_tributary_in,
)
from engine.constants import constant, model_rule
from engine.errors import require_not_negative, require_positive
from engine.loads import Loads, combination_step
from engine.lumber import Lumber, value_step
from engine.results import Limit, Step

__all__ = [
    "BeamForces",
    "BeamLine",
    "beam_bearing",
    "beam_bending",
    "beam_forces",
    "beam_live_deflection",
    "beam_reactions",
    "beam_shear",
    "beam_tip_deflection",
    "beam_total_deflection",
    "joist_tributary_in",
    "max_beam_span",
]


def max_beam_span(
    lumber: Lumber,
    joist_span_in: float,
    loads: Loads,
    joist_overhang_in: float | None = None,
    deflection: float = 360,
    *,
    ply_factor: float | None = None,
    size_factor_fb: float | None = None,
    dead_deflection_share: float | None = None,
) -> Limit:
    """The longest simple span (in), centre to centre, of a beam that carries joists from one side.

    The joists overhang the beam by `joist_overhang_in` (None: a quarter of their span, as in the IRC tables). Shear
    takes the full reaction. The deflection is that of the live load and a share of the dead load, by default the half
    that stands behind the published tables. `ply_factor` and `size_factor_fb` replace Cr and CF and serve only to
    reproduce tables: by NDS 4.3.9 two plies have no repetitive factor, three have 1.15.

    Raises OutOfRange for lengths that are not above zero. Bearing on the posts is a check of its own.
    """
    overhang_in = (
        model_rule("joist.max_cantilever_ratio") * joist_span_in if joist_overhang_in is None else joist_overhang_in
    )
    require_positive(joist_span_in=joist_span_in, deflection=deflection)
    require_not_negative(joist_overhang_in=overhang_in)
    share = constant("live_half_dead_share") if dead_deflection_share is None else dead_deflection_share
    tributary_in = joist_tributary_in(joist_span_in, overhang_in)
    combination = loads.strength
    values = beam_values(lumber, combination.load_duration, ply_factor=ply_factor, size_factor_fb=size_factor_fb)
    w = combination.total_psf * tributary_in / 144
    bending_in = math.sqrt(8 * values.fb * lumber.s_xx_in3 / w)
    shear_in = 4 / 3 * values.fv * lumber.area_in2 / w
    bent_psf = loads.variable_psf + share * loads.dead
    bent = bent_psf * tributary_in / 144
    deflection_in = (384 * values.e * lumber.i_xx_in4 / (5 * bent * deflection)) ** (1 / 3)
    joists = {"lj": joist_span_in, "a": overhang_in}
    steps = (
        Step("b", "(lj + a)**2 / (2 * lj)", joists, tributary_in, "in", "statics; joists from one side, overhang full"),
        combination_step(loads, combination),
        Step("w", "q * b / 144", {"q": combination.total_psf, "b": tributary_in}, w, "lb/in", "statics"),
        value_step(values, "fb"),
        lumber.s_step,
        Step(
            "l_bending",
            "sqrt(8 * Fb * S / w)",
            {"Fb": values.fb, "S": lumber.s_xx_in3, "w": w},
            bending_in,
            "in",
            "NDS 3.3.2; statics",
        ),
        value_step(values, "fv"),
        Step(
            "l_shear",
            "4 / 3 * Fv * bm * d / w",
            {"Fv": values.fv, "bm": lumber.width_in, "d": lumber.depth_in, "w": w},
            shear_in,
            "in",
            "NDS 3.4.2; full reaction",
        ),
        value_step(values, "e"),
        lumber.i_step,
        Step(
            "l_deflection",
            "(384 * E * I / (5 * (qL + k * D) * b / 144 * n))**(1 / 3)",
            {
                "E": values.e,
                "I": lumber.i_xx_in4,
                "qL": loads.variable_psf,
                "k": share,
                "D": loads.dead,
                "b": tributary_in,
                "n": deflection,
            },
            deflection_in,
            "in",
            f"statics, L/{deflection:g} under the live load and {share:g} of the dead load",
        ),
    )
    candidates = {"bending": bending_in, "shear": shear_in, "live deflection": deflection_in}
    governs = min(candidates, key=lambda name: candidates[name])
    assumptions = ["the beam is held against rolling over by the joists", "joists bear on the beam from one side"]
    if joist_overhang_in is None:
        assumptions.append("the joists overhang the beam by a quarter of their span")
    if ply_factor is not None or size_factor_fb is not None:
        assumptions.append("a factor of a published table stands in place of the NDS factor")
    return Limit(candidates[governs], governs, steps, candidates, (*assumptions, *values.assumptions))
