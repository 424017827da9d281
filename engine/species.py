"""Names of wood: the many spellings of a species and of a grade, and the one NDS row that each stands for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from engine import tables
from engine.errors import OutOfRange
from engine.records import dataclass

DIMENSION, SOUTHERN_PINE, TIMBERS = "lumber_dimension", "lumber_southern_pine", "lumber_timbers"


@dataclass(frozen=True)
class SpeciesName:
    """The NDS species group, and the name in the deck tables (empty where they do not list it)."""

    nds: str
    deck_table: str


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.strip().lower().replace("–", "-"))


@cache
def _by_name() -> Mapping[str, SpeciesName]:
    rows = tables.load("species_names").rows
    return {str(r["name"]): SpeciesName(str(r["nds_species"]), str(r["deck_table_species"])) for r in rows}


def species_names() -> list[str]:
    """The NDS species groups that the value tables hold, in the order of the tables."""
    return list(dict.fromkeys(name.nds for name in _by_name().values()))


@cache
def find_species(name: str) -> SpeciesName:
    """The species behind a name in any usual spelling. Raises OutOfRange with the accepted names."""
    found = _by_name().get(_plain(name)) if isinstance(name, str) else None
    if found is None:
        raise OutOfRange("species", name, "one of " + ", ".join(species_names()))
    return found


def grades(species: str) -> list[str]:
    """The grades that the value tables hold for a species, dimension lumber first, then timbers."""
    nds = find_species(species).nds
    found: dict[str, None] = {}
    for table in (DIMENSION, SOUTHERN_PINE, TIMBERS):
        found.update((str(row["grade"]), None) for row in tables.load(table).rows if row["species"] == nds)
    return list(found)


def _grade_key(text: str) -> str:
    """A grade without the freedom of its spelling: `No. 2`, `#2` and `2` are one."""
    key = _plain(text).replace("number", "no.").replace("#", "no.")
    key = re.sub(r"no\.?\s*(?=\d)", "no.", key)
    key = re.sub(r"^(\d)", r"no.\1", key)
    key = re.sub(r"\b(and|&)\s*(btr|better)\b\.?", "&btr", key).replace(" &btr", "&btr")
    key = re.sub(r"^ss\b|^sel\.? str(uct)?\.?\b|^select structural\b", "select structural", key)
    return re.sub(r"[(),]", "", key).strip()


# What a plain grade name may stand for, in this order: the row itself, a combined row, the weaker of two grain classes.
_FALLBACKS: Mapping[str, tuple[str, ...]] = {
    "no.1": ("no.1/no.2", "no.1 open grain"),
    "no.2": ("no.1/no.2", "no.2 open grain"),
    "no.3": ("no.3 and stud", "no.3 open grain"),
    "stud": ("no.3 and stud",),
    "select structural": ("select structural open grain",),
}


@cache
def find_grade(table: str, species: str, grade: str) -> str:
    """The grade as the value table prints it. Raises OutOfRange with the accepted grades.

    A plain `No. 2` of a species that prints `No.1/No.2` is that row; of redwood it is the open-grain row, the weaker.
    """
    nds = find_species(species).nds
    printed = {
        _grade_key(str(row["grade"])): str(row["grade"]) for row in tables.load(table).rows if row["species"] == nds
    }
    key = _grade_key(grade) if isinstance(grade, str) else ""
    for candidate in (key, *_FALLBACKS.get(key, ())):
        if candidate in printed:
            return printed[candidate]
    raise OutOfRange("grade", grade, f"for {nds} one of " + ", ".join(printed.values() or ["none in this table"]))
