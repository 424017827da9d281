"""The adjustment factors of sawn lumber: which of them apply to which property, and why.

CD load duration, CM wet service, Ct temperature, CL beam stability, CF size, Cfu flat use, Ci incising, Cr repetitive
member. Source: NDS 2018 4.3 with the factor pages of Supplement Tables 4A, 4B and 4D.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from engine import tables
from engine.constants import constant
from engine.errors import NotPublished, require_between
from engine.records import dataclass
from engine.sections import Size


@dataclass(frozen=True)
class Factors:
    """For each property the factors that stand behind its reference value, in the order they are written."""

    by_property: Mapping[str, Mapping[str, float]]
    notes: Mapping[str, str]
    assumptions: tuple[str, ...]

    def of(self, name: str) -> Mapping[str, float]:
        return self.by_property[name]


def _number(value: object) -> float:
    assert isinstance(value, (int, float))
    return float(value)


def _grade_class(grade: str) -> str:
    plain = grade.lower()
    if "stud" in plain and "no" not in plain:
        return "stud"
    if "utility" in plain:
        return "utility"
    if "construction" in plain or "standard" in plain:
        return "light framing"
    return "structural"


@cache
def size_factors(size: Size, southern_pine: bool, grade: str) -> Mapping[str, float]:
    """CF on Fb, Ft and Fc. Raises NotPublished where the factor table has no row.

    Source: NDS-S Tables 4A and 4B; NDS 4.3.6.3 for timbers deeper than 12 in.
    """
    if size.is_timber:
        return {"fb": min(1.0, (12 / size.depth_in) ** (1 / 9)), "ft": 1.0, "fc": 1.0}
    kind = _grade_class(grade)
    if kind == "stud" and size.nominal_depth_in >= 8:
        kind = "structural"
    if southern_pine and kind in ("structural", "stud"):
        kind = "southern pine"
    for row in tables.load("size_factors").rows:
        if (
            row["grades"] == kind
            and size.nominal_width_in <= _number(row["thickest_nominal_in"])
            and size.nominal_depth_in <= _number(row["widest_nominal_in"])
        ):
            return {name: _number(row[name]) for name in ("fb", "ft", "fc")}
    raise NotPublished(f"no size factor for {grade} in {size.name}")


@cache
def _wet_rows(lumber: str) -> Mapping[str, tuple[float, float | None]]:
    found: dict[str, tuple[float, float | None]] = {}
    for row in tables.load("wet_service_factors").rows:
        if row["lumber"] == lumber:
            limit = row["one_up_to_psi"]
            found[str(row["property"])] = (_number(row["factor"]), None if limit is None else _number(limit))
    return found


def wet_factor(name: str, size: Size, southern_pine: bool, reference_times_cf_psi: float) -> float:
    """CM of one property; it is 1.0 where the reference value times CF is low (1150 psi on Fb, 750 psi on Fc)."""
    kind = ("southern pine timbers" if southern_pine else "timbers") if size.is_timber else "dimension"
    factor, one_up_to_psi = _wet_rows(kind)[name]
    return 1.0 if one_up_to_psi is not None and reference_times_cf_psi <= one_up_to_psi else factor


@cache
def _incising() -> Mapping[str, float]:
    return {str(row["property"]): _number(row["factor"]) for row in tables.load("incising_factors").rows}


@cache
def temperature_factor(name: str, temperature_f: float, wet: bool) -> float:
    """Ct. Raises OutOfRange above 150 F. Source: NDS Table 2.3.3."""
    require_between(-100, 150, temperature_f=temperature_f)
    column = "ft_e_e_min" if name in ("ft", "e", "e_min") else "others_wet" if wet else "others_dry"
    row = next(r for r in tables.load("temperature_factors").rows if temperature_f <= _number(r["up_to_f"]))
    return _number(row[column])


@cache
def flat_use_factor(size: Size) -> float:
    """Cfu, for a member loaded on its wide face. Source: NDS-S Tables 4A and 4B."""
    if size.is_timber:
        raise NotPublished("flat use of timbers 5 x 5 in and larger is not held")
    for row in tables.load("flat_use_factors").rows:
        if size.nominal_width_in <= _number(row["thickest_nominal_in"]) and size.nominal_depth_in <= _number(
            row["widest_nominal_in"]
        ):
            return _number(row["factor"])
    raise NotPublished(f"no flat use factor for {size.name}")


def factors_for(
    *,
    size: Size,
    southern_pine: bool,
    grade: str,
    reference: Mapping[str, float],
    wet: bool,
    incised: bool,
    temperature_f: float,
    repetitive: bool,
    flat_use: bool,
    ply_factor: float | None,
    size_factor_fb: float | None,
    load_duration: float,
    beam_stability: float,
) -> Factors:
    """Collect the factors of every property; a factor of exactly 1 that does not concern the member is left out."""
    cf = dict(size_factors(size, southern_pine, grade))
    if size_factor_fb is not None:
        cf["fb"] = size_factor_fb
    found: dict[str, dict[str, float]] = {}
    notes: dict[str, str] = {}
    for name, value in reference.items():
        factors: dict[str, float] = {}
        if name in ("fb", "ft", "fv", "fc"):
            factors["CD"] = load_duration
        if wet:
            factors["CM"] = wet_factor(name, size, southern_pine, value * cf.get(name, 1.0))
            if factors["CM"] == 1.0 and name in ("fb", "fc") and not size.is_timber:
                notes[name] = "CM is 1.0: the reference value times CF is at or below the wet-service step"
        if temperature_f > 100:
            factors["Ct"] = temperature_factor(name, temperature_f, wet)
        if name in cf:
            factors["CF"] = cf[name]
        if incised:
            factors["Ci"] = _incising()[name]
        found[name] = factors
    bending = found["fb"]
    if beam_stability != 1.0:
        bending["CL"] = beam_stability
    if flat_use:
        bending["Cfu"] = flat_use_factor(size)
    if ply_factor is not None:
        bending["Cr"] = ply_factor
    elif repetitive and not size.is_timber:
        bending["Cr"] = constant("repetitive")
    assumptions = []
    if incised and size.is_timber:
        assumptions.append("the incising factor of dimension lumber is used for an incised timber, on the safe side")
    return Factors(found, notes, tuple(assumptions))
