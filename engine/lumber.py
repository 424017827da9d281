"""Sawn lumber: its section, its reference design values, and the values after every adjustment factor.

Source: NDS 2018 chapter 4 and the NDS Supplement; the numbers stand in `engine/data`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache, cached_property, lru_cache

from engine import tables
from engine.adjustment import Factors, factors_for
from engine.errors import NotPublished, OutOfRange, require_between, require_positive
from engine.records import dataclass
from engine.results import Step
from engine.sections import Size, find_size, sizes
from engine.species import DIMENSION, SOUTHERN_PINE, TIMBERS, find_grade, find_species, grades, species_names

__all__ = [
    "DesignValues",
    "Lumber",
    "adjusted_values",
    "design_values",
    "grades",
    "own_weight_pcf",
    "sizes",
    "species_names",
    "value_step",
]

PROPERTIES = ("fb", "ft", "fv", "fc_perp", "fc", "e", "e_min")


@dataclass(frozen=True)
class Lumber:
    """A sawn member, or `plies` of them side by side, loaded on the narrow face.

    `measured_width_in` and `measured_depth_in` are for one ply, where it differs from the dressed size (decay,
    ripped or full-sawn lumber); None means the dressed size. `repetitive` says that the member is one of three or
    more that share their load. `incised` says that the treatment left incisions.

    Raises OutOfRange for a species, grade or size that is not known.
    """

    species: str
    grade: str
    size: str
    plies: int = 1
    wet: bool = True
    incised: bool = False
    repetitive: bool = True
    measured_width_in: float | None = None
    measured_depth_in: float | None = None

    def __post_init__(self) -> None:
        find_species(self.species)
        find_size(self.size)
        if isinstance(self.plies, bool) or not isinstance(self.plies, int) or not 1 <= self.plies <= 6:
            raise OutOfRange("plies", self.plies, "a whole number from 1 to 6")
        for name, measured in (
            ("measured_width_in", self.measured_width_in),
            ("measured_depth_in", self.measured_depth_in),
        ):
            if measured is not None:
                require_positive(**{name: measured})

    @cached_property
    def nominal(self) -> Size:
        return find_size(self.size)

    @cached_property
    def ply_width_in(self) -> float:
        return self.nominal.width_in if self.measured_width_in is None else self.measured_width_in

    @cached_property
    def width_in(self) -> float:
        """All plies together."""
        return self.plies * self.ply_width_in

    @cached_property
    def depth_in(self) -> float:
        return self.nominal.depth_in if self.measured_depth_in is None else self.measured_depth_in

    @cached_property
    def area_in2(self) -> float:
        return self.width_in * self.depth_in

    @cached_property
    def s_xx_in3(self) -> float:
        """Section modulus, loaded on the narrow face."""
        return self.width_in * self.depth_in**2 / 6

    @cached_property
    def i_xx_in4(self) -> float:
        return self.width_in * self.depth_in**3 / 12

    @cached_property
    def s_step(self) -> Step:
        """The section modulus as a line of a derivation."""
        return Step("S", "b * d**2 / 6", self._sides, self.s_xx_in3, "in3", "geometry", f"section of {self.name}")

    @cached_property
    def i_step(self) -> Step:
        """The second moment of area as a line of a derivation."""
        return Step("I", "b * d**3 / 12", self._sides, self.i_xx_in4, "in4", "geometry", f"section of {self.name}")

    @cached_property
    def _sides(self) -> dict[str, float]:
        return {"b": self.width_in, "d": self.depth_in}

    @cached_property
    def s_yy_in3(self) -> float:
        """Section modulus, loaded on the wide face; plies act one by one, without composite action."""
        return self.plies * self.depth_in * self.ply_width_in**2 / 6

    @cached_property
    def i_yy_in4(self) -> float:
        return self.plies * self.depth_in * self.ply_width_in**3 / 12

    @cached_property
    def name(self) -> str:
        """As in `2-2x10 Southern Pine No.2`."""
        plies = f"{self.plies}-" if self.plies > 1 else ""
        return f"{plies}{self.nominal.name} {find_species(self.species).nds} {self.grade}"


@dataclass(frozen=True)
class DesignValues:
    """Bending, tension, shear, bearing, compression and stiffness in psi; `confirmed` says how the row is known.

    `keys` are the table and the row, as a firm confirms them.
    """

    fb: float
    ft: float
    fv: float
    fc_perp: float
    fc: float
    e: float
    e_min: float
    specific_gravity: float
    source: str = ""
    confirmed: str = ""
    note: str = ""
    steps: tuple[Step, ...] = ()
    assumptions: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()


@cache
def _rows(table: str, species: str, grade: str) -> tuple[Mapping[str, object], ...]:
    return tuple(r for r in tables.load(table).rows if r["species"] == species and r["grade"] == grade)


def _table_of(species: str, size: Size) -> str:
    if size.is_timber:
        return TIMBERS
    return SOUTHERN_PINE if species == "Southern Pine" else DIMENSION


def _covers(table: str, row: Mapping[str, object], size: Size) -> bool:
    if table == TIMBERS:
        shape = "posts and timbers" if size.nominal_depth_in <= size.nominal_width_in + 2 else "beams and stringers"
        return row["shape"] in ("any", shape)
    widest, narrowest = row["widest_nominal_in"], row.get("narrowest_nominal_in", 2)
    assert isinstance(narrowest, (int, float))
    if size.nominal_depth_in < narrowest:
        return False
    if widest is None:
        return True
    assert isinstance(widest, (int, float))
    # Southern pine wider than 12 in takes the 12 in row; the size factor 0.9 follows.
    return size.nominal_depth_in <= widest or (table == SOUTHERN_PINE and widest == 12)


@lru_cache(maxsize=4096)
def design_values(lumber: Lumber) -> DesignValues:
    """Reference design values of the species, grade and size, before any adjustment (psi).

    Raises OutOfRange for an unknown grade and NotPublished where the tables have no row for the size.
    Source: NDS Supplement Tables 4A, 4B (southern pine), 4D (5 x 5 in nominal and larger).
    """
    size, species = lumber.nominal, find_species(lumber.species).nds
    if size.nominal_width_in < 2:
        raise NotPublished(f"no design values for {size.name}: the NDS tables start at 2 in nominal thickness")
    table = _table_of(species, size)
    grade = find_grade(table, species, lumber.grade)
    if table == DIMENSION and grade == "Stud" and size.nominal_depth_in >= 8:
        grade = find_grade(table, species, "No.3")  # NDS-S Table 4A: Stud 8 in and wider is valued as No.3
    for row in _rows(table, species, grade):
        if _covers(table, row, size):
            fb, ft, fv, fc_perp, fc, e, e_min = (float(str(row[f"{name}_psi"])) for name in PROPERTIES)
            data = tables.load(table)
            return DesignValues(
                fb=fb,
                ft=ft,
                fv=fv,
                fc_perp=fc_perp,
                fc=fc,
                e=e,
                e_min=e_min,
                specific_gravity=float(str(row["specific_gravity"])),
                source=f"{data.source} ({data.edition})",
                confirmed=str(row["confirmed"]),
                note=str(row["note"]),
                keys=(table, tables.row_key(table, row)),
            )
    raise NotPublished(f"{tables.load(table).source} holds no row for {species} {grade} in {size.name}")


@lru_cache(maxsize=8192)
def adjusted_values(
    lumber: Lumber,
    load_duration: float = 1.0,
    temperature_f: float = 100.0,
    *,
    members: int | None = None,
    ply_factor: float | None = None,
    size_factor_fb: float | None = None,
    beam_stability: float = 1.0,
    flat_use: bool = False,
) -> DesignValues:
    """Design values with every factor applied (psi); each property has its step in `.steps`.

    `load_duration` is CD. `members` is how many members act together for the repetitive factor: by default the
    plies, or three for a single repetitive member. `ply_factor` and `size_factor_fb` replace Cr and CF on Fb and serve
    only to reproduce published tables that rest on other factors. `beam_stability` is CL (1.0: braced).

    Raises OutOfRange above 150 F or for a load duration outside 0.9 to 2.0.
    Source: NDS 4.3 and Table 4.3.1.
    """
    require_between(0.9, 2.0, load_duration=load_duration)
    require_between(0.0, 1.0, beam_stability=beam_stability)
    reference = design_values(lumber)
    if members is None:
        members = lumber.plies if lumber.plies > 1 else 3
    factors = factors_for(
        size=lumber.nominal,
        southern_pine=find_species(lumber.species).nds == "Southern Pine",
        grade=lumber.grade,
        reference={name: getattr(reference, name) for name in PROPERTIES},
        wet=lumber.wet,
        incised=lumber.incised,
        temperature_f=temperature_f,
        repetitive=lumber.repetitive and members >= 3,
        flat_use=flat_use,
        ply_factor=ply_factor,
        size_factor_fb=size_factor_fb,
        load_duration=load_duration,
        beam_stability=beam_stability,
    )
    return _with_factors(reference, factors)


def _with_factors(reference: DesignValues, factors: Factors) -> DesignValues:
    values: dict[str, float] = {}
    steps = []
    for name in PROPERTIES:
        symbol = _SYMBOLS[name]
        inputs = {symbol: getattr(reference, name), **factors.of(name)}
        value = 1.0
        for factor in inputs.values():
            value *= factor
        values[name] = value
        formula = " * ".join(inputs)
        steps.append(Step(f"{symbol}'", formula, inputs, value, "psi", "NDS Table 4.3.1", factors.notes.get(name, "")))
    return replace(
        reference,
        fb=values["fb"],
        ft=values["ft"],
        fv=values["fv"],
        fc_perp=values["fc_perp"],
        fc=values["fc"],
        e=values["e"],
        e_min=values["e_min"],
        steps=tuple(steps),
        assumptions=factors.assumptions,
    )


_SYMBOLS = {"fb": "Fb", "ft": "Ft", "fv": "Fv", "fc_perp": "Fc_perp", "fc": "Fc", "e": "E", "e_min": "Emin"}


def value_step(values: DesignValues, name: str) -> Step:
    """The line of a derivation that gives one adjusted value, such as `fb`."""
    return values.steps[PROPERTIES.index(name)]


def own_weight_pcf(specific_gravity: float, moisture_percent: float) -> float:
    """Weight of wood per cubic foot at a moisture content, from its oven-dry specific gravity.

    Source: NDS Supplement 3.1.3 (from memory).
    """
    require_positive(specific_gravity=specific_gravity)
    require_between(0, 30, moisture_percent=moisture_percent)
    dry = specific_gravity / (1 + specific_gravity * 0.009 * moisture_percent)
    return 62.4 * dry * (1 + moisture_percent / 100)
