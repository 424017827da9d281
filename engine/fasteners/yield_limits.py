"""Reference lateral value of one dowel-type fastener by the yield-limit equations (NDS 12.3)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache

from engine.errors import OutOfRange
from engine.fasteners.bearing import dowel_bearing
from engine.fasteners.parts import LARGE_DIAMETER_IN, Fastener, Part, minimum_penetration_in, penetration_in
from engine.records import dataclass
from engine.results import Step

EQUATIONS = "NDS Table 12.3.1A"
REDUCTION = "NDS Table 12.3.1B"
PENETRATION = "NDS 12.1.4.6, 12.1.5.6, 12.1.6.4"


@dataclass(frozen=True)
class Lateral:
    """Reference lateral value Z of one fastener, before any adjustment: `z_lb`, the governing `mode`, all `modes`.

    `objections` is empty unless the caller asked for a value that the standard does not permit.
    """

    fastener: Fastener
    main: Part
    side: Part
    shear_planes: int
    z_lb: float
    mode: str
    modes: Mapping[str, float]
    steps: tuple[Step, ...]
    objections: tuple[str, ...] = ()

    @property
    def is_permitted(self) -> bool:
        return not self.objections


@lru_cache(maxsize=4096)
def lateral(
    fastener: Fastener, main: Part, side: Part, shear_planes: int = 1, permit_short_penetration: bool = False
) -> Lateral:
    """Reference lateral design value of one fastener, lb, by all yield modes with their reduction terms.

    Single shear joins `main` (where the point is) and `side`; in double shear (`shear_planes=2`) `main` is the
    middle part and `side` stands for each of two equal outer parts. Bearing lengths are those of the parts.
    Penetration in the main member is checked in single shear: where it is below the least one the answer is
    OutOfRange, unless `permit_short_penetration` asks for the bare equations; then `.objections` says so.

    Raises OutOfRange for values the tables do not cover, NotPublished for a fastener with no published strength.
    Source: NDS 12.3.1, Tables 12.3.1A and 12.3.1B, 12.3.7 (root diameter of lag and wood screws).
    """
    if shear_planes not in (1, 2):
        raise OutOfRange("shear_planes", shear_planes, "1 or 2")
    objections = _objections(fastener, main) if shear_planes == 1 else ()
    if objections and not permit_short_penetration:
        raise OutOfRange("penetration_in", round(penetration_in(fastener, main), 4), f"{objections[0]} ({PENETRATION})")
    fem_psi, main_steps = dowel_bearing(main, fastener, "m")
    fes_psi, side_steps = dowel_bearing(side, fastener, "s")
    rd, rd_steps = _reduction_terms(fastener, main, side)
    values = {
        "D": fastener.yield_diameter_in,
        "lm": main.bearing_length_in,
        "ls": side.bearing_length_in,
        "Fem": fem_psi,
        "Fes": fes_psi,
        "Fyb": fastener.fyb_psi,
    }
    ratio_steps = _ratios(values)
    values.update({step.symbol: step.value for step in ratio_steps})
    mode_steps = _modes(values, rd, shear_planes)
    modes = {step.symbol.removeprefix("Z_"): step.value for step in mode_steps}
    mode = min(modes, key=lambda name: modes[name])
    steps = (
        *_diameter_steps(fastener),
        *_length_steps(fastener, main),
        *main_steps,
        *side_steps,
        *rd_steps,
        *ratio_steps,
        *mode_steps,
    )
    least = Step(
        "Z", f"min({', '.join('Z_' + m for m in modes)})", {f"Z_{m}": v for m, v in modes.items()}, modes[mode], "lb",
        "NDS 12.3.1", f"mode {mode} governs",
    )  # fmt: skip
    return Lateral(fastener, main, side, shear_planes, modes[mode], mode, modes, (*steps, least), objections)


def _objections(fastener: Fastener, main: Part) -> tuple[str, ...]:
    least_in = minimum_penetration_in(fastener)
    actual_in = penetration_in(fastener, main)
    if not main.is_wood or actual_in >= least_in - 1e-9:
        return ()
    times, counted = ("4D", "without the tip") if fastener.kind == "lag screw" else ("6D", "tip included")
    return (f"at least {least_in:g} in of penetration, {times}, {counted}",)


def _diameter_steps(fastener: Fastener) -> tuple[Step, ...]:
    made_in = fastener.made_yield_diameter_in
    used = "root diameter" if fastener.is_threaded else "diameter"
    left_in = fastener.yield_diameter_in
    inputs = {"made": made_in, "loss": fastener.loss_in}
    strength = Step("Fyb", "Fyb", {"Fyb": fastener.fyb_psi}, fastener.fyb_psi, "psi", "NDS Table I1")
    return (Step("D", "made - 2 * loss", inputs, left_in, "in", f"NDS 12.3.7: {used}, less corrosion"), strength)


def _length_steps(fastener: Fastener, main: Part) -> tuple[Step, ...]:
    """The dowel bearing length in the main member, where it follows from the length of the fastener."""
    if main.before_in is None or main.thickness_in is None or fastener.length_in is None:
        return ()
    inputs = {"tm": main.thickness_in, "L": fastener.length_in, "ts": main.before_in, "E": fastener.tip_in}
    note = "E is the tip; ts is what lies before the main member"
    return (Step("lm", "min(tm, L - ts - E / 2)", inputs, main.bearing_length_in, "in", "NDS 12.3.5.3", note),)


def _reduction_terms(fastener: Fastener, main: Part, side: Part) -> tuple[Mapping[str, float], tuple[Step, ...]]:
    """Rd of each mode. It follows the fastener as made: what rust took must not lower the divisor."""
    made_in = fastener.made_yield_diameter_in
    theta_deg = max((part.angle_deg for part in (main, side) if part.is_wood), default=0.0)
    steps: list[Step] = []
    if fastener.diameter_in < LARGE_DIAMETER_IN:
        steps.append(_kd(made_in))
        rd = steps[0].value
        steps.append(Step("Rd", "K_D", {"K_D": rd}, rd, "-", REDUCTION))
        return dict.fromkeys(("Im", "Is", "II", "IIIm", "IIIs", "IV"), rd), tuple(steps)
    k_theta = 1 + 0.25 * theta_deg / 90
    steps.append(Step("K_theta", "1 + 0.25 * theta / 90", {"theta": theta_deg}, k_theta, "-", REDUCTION))
    if made_in < LARGE_DIAMETER_IN:
        kd = _kd(made_in)
        rd = kd.value * k_theta
        inputs = {"K_D": kd.value, "K_theta": k_theta}
        steps += [kd, Step("Rd", "K_D * K_theta", inputs, rd, "-", REDUCTION + " fn 1")]
        return dict.fromkeys(("Im", "Is", "II", "IIIm", "IIIs", "IV"), rd), tuple(steps)
    terms: dict[str, float] = {}
    for names, factor in ((("Im", "Is"), 4.0), (("II",), 3.6), (("IIIm", "IIIs", "IV"), 3.2)):
        value = factor * k_theta
        symbol = "Rd_" + "_".join(names)
        steps.append(Step(symbol, f"{factor:g} * K_theta", {"K_theta": k_theta}, value, "-", REDUCTION))
        terms.update(dict.fromkeys(names, value))
    return terms, tuple(steps)


def _kd(diameter_in: float) -> Step:
    value = 2.2 if diameter_in <= 0.17 else 10 * diameter_in + 0.5
    # 10 * 0.17 + 0.5 is 2.2, so the two branches of the table are one expression.
    return Step("K_D", "max(2.2, 10 * D + 0.5)", {"D": diameter_in}, value, "-", REDUCTION)


def _ratios(v: Mapping[str, float]) -> tuple[Step, ...]:
    re, rt = v["Fem"] / v["Fes"], v["lm"] / v["ls"]
    k1 = (math.sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)) / (1 + re)
    k2 = -1 + math.sqrt(2 * (1 + re) + 2 * v["Fyb"] * (1 + 2 * re) * v["D"] ** 2 / (3 * v["Fem"] * v["lm"] ** 2))
    k3 = -1 + math.sqrt(2 * (1 + re) / re + 2 * v["Fyb"] * (2 + re) * v["D"] ** 2 / (3 * v["Fem"] * v["ls"] ** 2))
    both = {"Re": re, "Rt": rt}
    bend = {"Re": re, "Fyb": v["Fyb"], "D": v["D"], "Fem": v["Fem"]}
    k1_formula = "(sqrt(Re + 2 * Re**2 * (1 + Rt + Rt**2) + Rt**2 * Re**3) - Re * (1 + Rt)) / (1 + Re)"
    k2_formula = "-1 + sqrt(2 * (1 + Re) + 2 * Fyb * (1 + 2 * Re) * D**2 / (3 * Fem * lm**2))"
    k3_formula = "-1 + sqrt(2 * (1 + Re) / Re + 2 * Fyb * (2 + Re) * D**2 / (3 * Fem * ls**2))"
    return (
        Step("Re", "Fem / Fes", {"Fem": v["Fem"], "Fes": v["Fes"]}, re, "-", EQUATIONS),
        Step("Rt", "lm / ls", {"lm": v["lm"], "ls": v["ls"]}, rt, "-", EQUATIONS),
        Step("k1", k1_formula, both, k1, "-", EQUATIONS),
        Step("k2", k2_formula, {**bend, "lm": v["lm"]}, k2, "-", EQUATIONS),
        Step("k3", k3_formula, {**bend, "ls": v["ls"]}, k3, "-", EQUATIONS),
    )


def _modes(v: Mapping[str, float], rd: Mapping[str, float], shear_planes: int) -> tuple[Step, ...]:
    """The value of each yield mode: bearing (I), rotation (II), one (III) or two (IV) plastic hinges a shear plane."""
    root = math.sqrt(2 * v["Fem"] * v["Fyb"] / (3 * (1 + v["Re"])))
    planes = float(shear_planes)
    single = {
        "Im": ("D * lm * Fem / Rd", ("D", "lm", "Fem"), v["D"] * v["lm"] * v["Fem"]),
        "Is": ("n * D * ls * Fes / Rd", ("D", "ls", "Fes"), planes * v["D"] * v["ls"] * v["Fes"]),
        "II": ("k1 * D * ls * Fes / Rd", ("k1", "D", "ls", "Fes"), v["k1"] * v["D"] * v["ls"] * v["Fes"]),
        "IIIm": (
            "k2 * D * lm * Fem / ((1 + 2 * Re) * Rd)",
            ("k2", "D", "lm", "Fem", "Re"),
            v["k2"] * v["D"] * v["lm"] * v["Fem"] / (1 + 2 * v["Re"]),
        ),
        "IIIs": (
            "n * k3 * D * ls * Fem / ((2 + Re) * Rd)",
            ("k3", "D", "ls", "Fem", "Re"),
            planes * v["k3"] * v["D"] * v["ls"] * v["Fem"] / (2 + v["Re"]),
        ),
        "IV": (
            "n * D**2 / Rd * sqrt(2 * Fem * Fyb / (3 * (1 + Re)))",
            ("D", "Fem", "Fyb", "Re"),
            planes * v["D"] ** 2 * root,
        ),
    }
    names = ("Im", "Is", "II", "IIIm", "IIIs", "IV") if shear_planes == 1 else ("Im", "Is", "IIIs", "IV")
    steps = []
    for name in names:
        formula, used, product = single[name]
        inputs = {key: v[key] for key in used} | {"Rd": rd[name]}
        if "n *" in formula:
            inputs["n"] = planes
        steps.append(Step(f"Z_{name}", formula, inputs, product / rd[name], "lb", EQUATIONS))
    return tuple(steps)
