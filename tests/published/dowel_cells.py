"""NDS 2018 dowel tables cell by cell: bearing and yield strengths, reduction terms, equations, Appendix L dimensions.

A printed formula is written out here once more, by hand, and compared with the engine at several points; a printed
number is compared as it stands. Two groups of the table are no part of this engine's fasteners: holes to be bored, and
the assigned specific gravities, which the wood data hold.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction

from engine.fasteners import (
    Fastener,
    Part,
    combined_load_capacity_lb,
    common_nail,
    head_pull_through,
    lag_thread_length_in,
    lateral,
    main_bearing_length_in,
    minimum_penetration_in,
    sheet_gauge_in,
    withdrawal,
    wood_screw,
)
from engine.fasteners.bearing import dowel_bearing
from engine.fasteners.parts import material_fe_psi
from engine.tables import load
from tests.published.cells import Cell, PublishedTable, read

ROWS = read("dowel_bearing")
ELSEWHERE = ("hole", "assigned specific gravity")


def inches(text: str) -> float:
    whole, _, rest = text.replace(" in", "").replace("D = ", "").replace("L = ", "").partition("-")
    return float(Fraction(whole)) + (float(Fraction(rest)) if rest else 0.0)


def fe(gravity: float, diameter_in: float, angle_deg: float = 0) -> float:
    kind = "bolt" if diameter_in >= 0.25 else "nail"
    return dowel_bearing(Part(gravity, 1.5, angle_deg), Fastener(kind, diameter_in, bending_yield_psi=1e5), "m")[0]


def joint(
    planes: int = 1, theta_deg: float = 0, fastener: Fastener | None = None, lm_in: float = 3.0, ls_in: float = 1.5
):
    return lateral(fastener or Fastener("bolt", 0.5), Part(0.55, lm_in, theta_deg), Part(0.43, ls_in, 0), planes)


def by_hand(name: str, planes: int) -> float:
    """The equations of Table 12.3.1A written out again: 1/2 in bolt, 3 in of G 0.55 on 1-1/2 in of G 0.43."""
    d, lm, ls, fem, fes, fyb = 0.5, 3.0, 1.5, 6150.0, 4800.0, 45000.0
    re_, rt = fem / fes, lm / ls
    k1 = (math.sqrt(re_ + 2 * re_**2 * (1 + rt + rt**2) + rt**2 * re_**3) - re_ * (1 + rt)) / (1 + re_)
    k2 = -1 + math.sqrt(2 * (1 + re_) + 2 * fyb * (1 + 2 * re_) * d**2 / (3 * fem * lm**2))
    k3 = -1 + math.sqrt(2 * (1 + re_) / re_ + 2 * fyb * (2 + re_) * d**2 / (3 * fem * ls**2))
    single = {
        "Im": d * lm * fem / 4,
        "Is": d * ls * fes / 4 * planes,
        "II": k1 * d * ls * fes / 3.6,
        "IIIm": k2 * d * lm * fem / ((1 + 2 * re_) * 3.2),
        "IIIs": k3 * d * ls * fem / ((2 + re_) * 3.2) * planes,
        "IV": d**2 / 3.2 * math.sqrt(2 * fem * fyb / (3 * (1 + re_))) * planes,
        "k1": k1,
        "k2": k2,
        "k3": k3,
        "Re, Rt": re_ + rt,
    }
    return single[name]


def step(answer, symbol: str) -> float:
    return next(s.value for s in answer.steps if s.symbol == symbol)


def formula(row: dict[str, str]) -> tuple[float, float]:
    match row["item"], row["condition"]:
        case "Fe_par", _:
            return 11200 * 0.5, fe(0.5, 0.5)
        case "Fe_perp", _:
            return 50 * round(6100 * 0.43**1.45 / math.sqrt(0.625) / 50), fe(0.43, 0.625, 90)
        case "Fe", _:
            return 50 * round(16600 * 0.55**1.84 / 50), fe(0.55, 0.148)
        case "Fe_theta", _:
            par, perp, t = 5600, 3150, math.radians(30)
            return par * perp / (par * math.sin(t) ** 2 + perp * math.cos(t) ** 2), fe(0.5, 0.5, 30)
        case "Fe end grain", _:
            return 3150, fe(0.5, 0.5, 90)  # a dowel along the fibres is loaded across them
    raise KeyError(row["item"])


def fe_value(row: dict[str, str]) -> tuple[float, float]:
    published = float(row["value_or_formula"])
    computed: dict[str, Callable[[], float]] = {
        "A36 steel plate 1/4 in": lambda: material_fe_psi("A36 steel"),
        "A653 Gr 33 sheet < 1/4 in": lambda: material_fe_psi("A653 steel"),
        "concrete (f_c >= 2500 psi)": lambda: material_fe_psi("concrete"),
        "Fe_perp tabulated": lambda: fe(0.5, inches(row["condition"].split(" in")[0]), 90),
        "Fe_par tabulated": lambda: fe(0.5, 0.5),
        "Fe, D < 1/4": lambda: fe(0.5, 0.148),
    }
    return published, computed[row["item"]]()


def fyb(row: dict[str, str]) -> tuple[float, float]:
    published = float(row["value_or_formula"])
    if band := re.match(r"([\d.]+) < D <= ([\d.]+) in", row["condition"]):
        hardened = "hardened" in row["item"]
        ends = [Fastener("nail", d, is_hardened=hardened).fyb_psi for d in (float(band[1]) + 0.001, float(band[2]))]
        assert ends[0] == ends[1]
        return published, ends[0]
    size = inches(row["item"].split()[2]) if row["item"].startswith("lag screw ") else 0.375
    return published, Fastener("lag screw", size).fyb_psi if "lag" in row["item"] else Fastener("bolt", size).fyb_psi


def rd(row: dict[str, str]) -> tuple[float, float]:
    match row["item"]:
        case "modes Im, Is":
            return 4 * 1.25, step(joint(theta_deg=90), "Rd_Im_Is")
        case "mode II":
            return 3.6 * 1.25, step(joint(theta_deg=90), "Rd_II")
        case "modes IIIm, IIIs, IV":
            return 3.2 * 1.25, step(joint(theta_deg=90), "Rd_IIIm_IIIs_IV")
        case "K_theta":
            return 1 + 0.25 * 40 / 90, step(joint(theta_deg=40), "K_theta")
        case "all modes":
            return 2.43, step(joint(fastener=Fastener("nail", 0.193)), "Rd")
        case "K_D":
            if "<= 0.17" in row["condition"]:
                return float(row["value_or_formula"]), step(joint(fastener=Fastener("nail", 0.17)), "K_D")
            return 10 * 0.225 + 0.5, step(joint(fastener=Fastener("nail", 0.225)), "K_D")
    quarter = Fastener("lag screw", 0.25)
    return (10 * 0.173 + 0.5) * 1.25, step(joint(theta_deg=90, fastener=quarter), "Rd")


def yield_equation(row: dict[str, str]) -> tuple[float, float]:
    planes = 2 if row["condition"] == "double shear" else 1
    name = row["item"]
    answer = joint(planes)
    if row["value_or_formula"] == "not applicable":
        return 0.0, float(name in answer.modes)
    if name == "D in the equations":
        screw = wood_screw(10)
        return 0.148 + 0.152, step(joint(fastener=common_nail("10d")), "D") + step(joint(fastener=screw), "D")
    if name == "Re, Rt":
        return by_hand(name, planes), step(answer, "Re") + step(answer, "Rt")
    return by_hand(name, planes), step(answer, name if name.startswith("k") else f"Z_{name}")


def bearing_length(row: dict[str, str]) -> tuple[float, float]:
    lag = Fastener("lag screw", 0.5, length_in=6)
    return 6 - 1.5 - 0.3125 / 2, main_bearing_length_in(lag, 1.5, 9.25)[0]


def penetration(row: dict[str, str]) -> tuple[float, float]:
    kind = row["item"].removeprefix("minimum, ")
    times = float(row["value_or_formula"].removesuffix("D"))
    return times * 0.3, minimum_penetration_in(Fastener(kind, 0.3, 0.2, bending_yield_psi=6e4))


def pull_out(row: dict[str, str]) -> tuple[float, float]:
    g, d = 0.46, 0.162
    match row["item"], row["condition"]:
        case "lag screw side grain", _:
            return 1800 * g**1.5 * 0.5**0.75, withdrawal(Fastener("lag screw", 0.5), g).w_lb_per_in
        case "wood screw side grain", _:
            return 2850 * g**2 * 0.19, withdrawal(wood_screw(10), g).w_lb_per_in
        case "smooth nail side grain", _:
            return 1380 * g**2.5 * d, withdrawal(Fastener("nail", d), g).w_lb_per_in
        case "stainless smooth nail", _:
            return 465 * g**1.5 * d, withdrawal(Fastener("nail", d, is_stainless=True), g).w_lb_per_in
        case "ring-shank nail (RSRS)", _:
            return 1800 * g**2 * d, withdrawal(Fastener("nail", d, shank="ring"), g).w_lb_per_in
        case "head pull-through", "side thickness <= 2.5 D_H":
            return 690 * math.pi * 0.3 * g**2 * 0.7, head_pull_through(0.3, g, 0.7)[0]
        case "head pull-through", "side thickness > 2.5 D_H":
            return 1725 * math.pi * 0.3**2 * g**2, head_pull_through(0.3, g, 0.8)[0]
    raise KeyError(row["item"])


def combined(row: dict[str, str]) -> tuple[float, float]:
    w, z, a = 400.0, 150.0, math.radians(35)
    if row["item"] == "nails":
        return w * z / (w * math.cos(a) + z * math.sin(a)), combined_load_capacity_lb("nail", w, z, 35)[0]
    by_angle = w * z / (w * math.cos(a) ** 2 + z * math.sin(a) ** 2)
    return by_angle, combined_load_capacity_lb("lag screw", w, z, 35)[0]


def hex_lag(row: dict[str, str]) -> tuple[float, float]:
    published = inches(row["value_or_formula"])
    size_in = inches(row["condition"])
    if row["item"].startswith("minimum thread length"):
        return published, lag_thread_length_in(size_in)
    column = {"D_r": "root_in", "tip E": "tip_in", "threads per inch": "threads_per_in"}[row["item"]]
    return published, next(r[column] for r in load("lag_screws").rows if r["diameter_in"] == size_in)


def hex_bolt(row: dict[str, str]) -> tuple[float, float]:
    size_in = inches(row["condition"])
    root = next(r["root_in"] for r in load("bolts").rows if r["diameter_in"] == size_in)
    return float(row["value_or_formula"]), root


def screw(row: dict[str, str]) -> tuple[float, float]:
    one = wood_screw(int(row["condition"].removeprefix("No. ")))
    value = {"D": one.diameter_in, "D_r": one.made_yield_diameter_in, "head D_H": one.head_diameter_in}[row["item"]]
    return float(row["value_or_formula"]), value


def nail(row: dict[str, str]) -> tuple[float, float]:
    one = common_nail(row["condition"], row["group"].split()[0])
    value = {"D": one.diameter_in, "L": one.length_in, "head": one.head_diameter_in}[row["item"]]
    return float(row["value_or_formula"]), value


def gauge(row: dict[str, str]) -> tuple[float, float]:
    return float(row["value_or_formula"]), sheet_gauge_in(int(row["condition"].split()[0]))


GROUPS = {
    "formula": formula,
    "Fe value": fe_value,
    "Fyb": fyb,
    "Rd": rd,
    "yield equation": yield_equation,
    "bearing length": bearing_length,
    "penetration": penetration,
    "withdrawal": pull_out,
    "combined load": combined,
    "hex lag screw (Table L2)": hex_lag,
    "hex bolt (Table L1)": hex_bolt,
    "wood screw (Table L3)": screw,
    "common nail (Table L4)": nail,
    "box nail (Table L4)": nail,
    "sinker nail (Table L4)": nail,
    "steel side plate gage": gauge,
}


# Formulas and rules are worked out twice, here and in the engine; dimensions and strengths are read from its data.
WORKED_OUT = ("formula", "Rd", "yield equation", "bearing length", "penetration", "withdrawal", "combined load")


def _tables() -> list[PublishedTable]:
    formulas = PublishedTable("NDS 2018 dowel formulas (Tables 12.3.1A, 12.3.1B, 12.3.3; 12.2, 12.4)", "recomputed")
    printed = PublishedTable("NDS 2018 Table I1, Appendix L and dowel footnotes", "looked up")
    for number, row in enumerate(ROWS, start=2):
        if row["group"] in ELSEWHERE:
            continue
        published, computed = GROUPS[row["group"]](row)
        name = f"line {number} {row['group']} {row['item']} {row['condition']}"
        table = formulas if row["group"] in WORKED_OUT else printed
        table.cells.append(Cell(name, published, lambda value=computed: value, 1e-9 * abs(published)))
    return [formulas, printed]


TABLES = _tables()
