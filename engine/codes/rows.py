"""Finding the row of a published table that answers a question: exact, or the next stricter one."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import field

from engine.errors import NotPublished, OutOfRange, require_not_negative
from engine.records import dataclass
from engine.species import find_species

Row = Mapping[str, object]


@dataclass(frozen=True)
class Published:
    """A published value with its unit, citation and how it is known.

    `confirmed`: `two`, `source`, `memory` (see `engine.tables`), `firm` (the firm compared it with its own copy) or
    `amendment` (a local rule). `note` says which row was taken where it was not the exact one.
    """

    value: float
    unit: str
    citation: str
    confirmed: str
    note: str = ""
    row: Row = field(default_factory=dict, repr=False)
    in_edition: bool = True


def join(*notes: str) -> str:
    """Notes put together with semicolons, empty ones left out."""
    return "; ".join(note for note in notes if note)


def number(row: Row, column: str) -> float:
    """A cell that must be a number."""
    value = row[column]
    assert isinstance(value, (int, float)), (column, value)
    return float(value)


def exact_rows(rows: Sequence[Row], **cells: object) -> list[Row]:
    """The rows whose cells equal the given ones."""
    return [row for row in rows if all(row[column] == value for column, value in cells.items())]


def at_most(steps: Sequence[float], value: float, name: str, per: float = 1.0, *, slack: float = 1e-9) -> float:
    """The first of the rising `steps` that is not below `value`: the row on the strict side.

    `per` turns the table's unit into the unit of the argument `name`, for the message. Raises OutOfRange past the end.
    """
    require_not_negative(**{name: value * per})
    for step in steps:
        if value <= step + slack:
            return step
    raise OutOfRange(name, value * per, f"at most {steps[-1] * per:g}: the table ends there")


def at_most_row(rows: Sequence[Row], column: str, value: float, name: str, per: float = 1.0) -> tuple[Row, bool]:
    """The row on the strict side in one column, and whether it is stricter than asked for."""
    step = at_most(sorted(number(row, column) for row in rows), value, name, per)
    return next(row for row in rows if row[column] == step), step - value > 1e-9


def table_species(species: str) -> str:
    """The species as the deck tables name it. Raises NotPublished for one that they do not list."""
    found = find_species(species)
    if not found.deck_table:
        raise NotPublished(f"the deck tables do not list {found.nds}")
    return found.deck_table


def table_species_rows(rows: Sequence[Row], species: str, edition: str) -> list[Row]:
    """The rows of the species group that holds the species. Raises NotPublished where none does."""
    name = table_species(species)
    found = [row for row in rows if row["species_group"] == "any" or name in str(row["species_group"]).split(" / ")]
    if not found:
        raise NotPublished(f"{edition} holds no row for {name}")
    return found


def no_worse_than_no_2(grade: str) -> None:
    """The deck tables are for No. 2 lumber; raise NotPublished for a weaker grade."""
    plain = re.sub(r"[^a-z0-9]", "", grade.lower())
    if not re.match(r"(no|number)?[12]|.*select|dense|clear|ss$", plain):
        raise NotPublished(f"the deck tables are for No. 2 or better, not for {grade}")
