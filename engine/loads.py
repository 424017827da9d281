"""Loads on a deck surface (psf) and the combinations that a member must carry.

Allowable stress design; each combination is judged with the load duration factor of its shortest load.
Sources: ASCE 7 2.4.1 (the combinations, from memory); NDS 2.3.2 and Table 2.3.2 (load duration).
"""

from __future__ import annotations

from functools import cached_property, lru_cache

from engine.errors import OutOfRange, require_not_negative
from engine.records import dataclass
from engine.results import Step

PERMANENT, OCCUPANCY, SNOW = 0.9, 1.0, 1.15


@dataclass(frozen=True)
class Combination:
    """Loads that act together: their sum, the part that comes and goes, and their load duration factor CD."""

    name: str
    total_psf: float
    variable_psf: float
    load_duration: float

    @property
    def weight(self) -> float:
        """What the sum asks of a strength that grows with the load duration factor; the largest one governs."""
        return self.total_psf / self.load_duration


@dataclass(frozen=True)
class Loads:
    """Uniform loads in psf: people (`live`), the deck's own weight (`dead`), snow on the deck (`snow`).

    Raises OutOfRange for a negative load, or if there is no load at all.
    """

    live: float = 40.0
    dead: float = 10.0
    snow: float = 0.0

    def __post_init__(self) -> None:
        require_not_negative(live_psf=self.live, dead_psf=self.dead, snow_psf=self.snow)
        if self.live + self.dead + self.snow == 0:
            raise OutOfRange("loads", self, "some load above zero")

    @cached_property
    def combinations(self) -> tuple[Combination, ...]:
        """D, D + L, D + S and D + 0.75 L + 0.75 S, as far as the loads are there."""
        return _combinations(self)

    @cached_property
    def strength(self) -> Combination:
        """The combination that governs bending, shear and compression along the grain (largest sum over CD)."""
        return max(self.combinations, key=lambda each: each.weight)

    @cached_property
    def largest(self) -> Combination:
        """The largest sum, without load duration: for bearing across the grain, deflection and soil."""
        return max(self.combinations, key=lambda each: each.total_psf)

    @cached_property
    def variable_psf(self) -> float:
        """The largest load that comes and goes: what the live deflection is measured under."""
        return max(each.variable_psf for each in self.combinations)

    @cached_property
    def total_psf(self) -> float:
        return self.largest.total_psf


@lru_cache(maxsize=1024)
def _combinations(loads: Loads) -> tuple[Combination, ...]:
    dead, live, snow = loads.dead, loads.live, loads.snow
    found = []
    if dead:
        found.append(Combination("D", dead, 0.0, PERMANENT))
    if live:
        found.append(Combination("D + L", dead + live, live, OCCUPANCY))
    if snow:
        found.append(Combination("D + S", dead + snow, snow, SNOW))
    if live and snow:
        part = 0.75 * live + 0.75 * snow
        found.append(Combination("D + 0.75 L + 0.75 S", dead + part, part, SNOW))
    return tuple(found)


@lru_cache(maxsize=1024)
def combination_step(loads: Loads, combination: Combination) -> Step:
    """The line of a derivation that says which sum of loads was taken."""
    formulas = {
        "D": "D",
        "D + L": "D + L",
        "D + S": "D + S",
        "D + 0.75 L + 0.75 S": "D + 0.75 * L + 0.75 * S",
    }
    inputs = {"D": loads.dead, "L": loads.live, "S": loads.snow}
    formula = formulas[combination.name]
    used = {name: value for name, value in inputs.items() if name in formula}
    return Step(
        "q",
        formula,
        used,
        combination.total_psf,
        "psf",
        "ASCE 7 2.4.1",
        f"load duration factor {combination.load_duration:g} (NDS Table 2.3.2)",
    )
