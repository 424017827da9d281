"""Lateral value of a fastener across a gap (sheathing, spacers) between the two parts it joins."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

from engine.errors import require_not_negative
from engine.fasteners.parts import Fastener, Part
from engine.fasteners.yield_limits import Lateral, lateral
from engine.results import Step

SOURCE = "AWC TR 12, general dowel equations (from memory; equal to NDS Table 12.3.1A at no gap)"
QUADRATIC = "(-B + sqrt(B**2 + 4 * A * C)) / (2 * A) / Rd"
# How A, B and C of each mode are printed: the formula, what it reads, the unit.
COEFFICIENTS = {
    "II": (
        ("1 / (4 * qs) + 1 / (4 * qm)", "qs qm", "in/lb"),
        ("ls / 2 + g + lm / 2", "ls g lm", "in"),
        ("qs * ls**2 / 4 + qm * lm**2 / 4", "qs ls qm lm", "in-lb"),
    ),
    "IIIm": (
        ("1 / (2 * qs) + 1 / (4 * qm)", "qs qm", "in/lb"),
        ("g + lm / 2", "g lm", "in"),
        ("My + qm * lm**2 / 4", "My qm lm", "in-lb"),
    ),
    "IIIs": (
        ("1 / (4 * qs) + 1 / (2 * qm)", "qs qm", "in/lb"),
        ("ls / 2 + g", "ls g", "in"),
        ("qs * ls**2 / 4 + My", "qs ls My", "in-lb"),
    ),
    "IV": (("1 / (2 * qs) + 1 / (2 * qm)", "qs qm", "in/lb"), ("g", "g", "in"), ("2 * My", "My", "in-lb")),
}


@lru_cache(maxsize=4096)
def lateral_across_gap(
    fastener: Fastener, main: Part, side: Part, gap_in: float, permit_short_penetration: bool = False
) -> Lateral:
    """Reference lateral value in single shear with `gap_in` of air, foam or sheathing between the parts, lb.

    The gap carries nothing: wood sheathing that bears on the fastener too is left out, on the safe side. The same
    yield model as `lateral`, with the lever arm of the gap in it; at a gap of zero both agree.

    Raises OutOfRange and NotPublished as `lateral` does, and OutOfRange for a negative gap.
    Source: statics of the yield model as AWC Technical Report 12 prints it (from memory), checked against the NDS.
    """
    require_not_negative(gap_in=gap_in)
    tight = lateral(fastener, main, side, 1, permit_short_penetration)
    if gap_in == 0:
        return tight
    known = {step.symbol: step.value for step in tight.steps}
    d = known["D"]
    qm, qs = known["Fem"] * d, known["Fes"] * d
    lm, ls, hinge = main.bearing_length_in, side.bearing_length_in, known["Fyb"] * d**3 / 6
    steps = [
        Step("qm", "Fem * D", {"Fem": known["Fem"], "D": d}, qm, "lb/in", SOURCE),
        Step("qs", "Fes * D", {"Fes": known["Fes"], "D": d}, qs, "lb/in", SOURCE),
        Step("My", "Fyb * D**3 / 6", {"Fyb": known["Fyb"], "D": d}, hinge, "in-lb", SOURCE),
    ]
    held = {"qm": qm, "qs": qs, "lm": lm, "ls": ls, "g": gap_in, "My": hinge}
    coefficients = {
        "II": (1 / (4 * qs) + 1 / (4 * qm), ls / 2 + gap_in + lm / 2, qs * ls**2 / 4 + qm * lm**2 / 4),
        "IIIm": (1 / (2 * qs) + 1 / (4 * qm), gap_in + lm / 2, hinge + qm * lm**2 / 4),
        "IIIs": (1 / (4 * qs) + 1 / (2 * qm), ls / 2 + gap_in, qs * ls**2 / 4 + hinge),
        "IV": (1 / (2 * qs) + 1 / (2 * qm), gap_in, 2 * hinge),
    }
    modes = {name: tight.modes[name] for name in ("Im", "Is")}  # bearing of one part does not know the gap
    for name, (a, b, c) in coefficients.items():
        rd = next(s.inputs["Rd"] for s in tight.steps if s.symbol == f"Z_{name}")
        modes[name] = (-b + math.sqrt(b**2 + 4 * a * c)) / (2 * a) / rd
        for symbol, value, (formula, reads, unit) in zip("ABC", (a, b, c), COEFFICIENTS[name], strict=True):
            inputs = {key: held[key] for key in reads.split()}
            steps.append(Step(f"{symbol}_{name}", formula, inputs, value, unit, SOURCE))
        inputs = {"A": a, "B": b, "C": c, "Rd": rd}
        note = f"gap {gap_in:g} in; A, B and C of this mode"
        steps.append(Step(f"Z_{name}", QUADRATIC, inputs, modes[name], "lb", SOURCE, note))
    mode = min(modes, key=lambda name: modes[name])
    before = tuple(s for s in tight.steps if s.symbol != "Z" and s.symbol not in ("Z_II", "Z_IIIm", "Z_IIIs", "Z_IV"))
    least = Step("Z", f"min({', '.join('Z_' + m for m in modes)})", {f"Z_{m}": v for m, v in modes.items()},
                 modes[mode], "lb", "NDS 12.3.1", f"mode {mode} governs")  # fmt: skip
    return replace(tight, z_lb=modes[mode], mode=mode, modes=modes, steps=(*before, *steps, least))
