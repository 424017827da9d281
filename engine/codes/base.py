"""What every published edition has: its name, its tables, and what lies on top of it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple, Protocol

from engine import tables
from engine.codes.rows import Published, Row, at_most, join, number
from engine.errors import NotPublished, OutOfRange
from engine.records import dataclass


class Amends(Protocol):
    """A local rule in place of the edition's: see `engine.deck.Amendment`."""

    @property
    def key(self) -> str: ...
    @property
    def value(self) -> float: ...
    @property
    def unit(self) -> str: ...
    @property
    def citation(self) -> str: ...


class Confirms(Protocol):
    """Somebody compared a rule or a table with the code itself: see `engine.deck.Confirmation`."""

    @property
    def key(self) -> str: ...


class Question(NamedTuple):
    """Which table answers, how it is cited, a note that always holds, and `memory` if the edition's use of it is.

    `key` is what a firm confirms when it has seen that the edition prints the numbers of this table.
    """

    table: str
    citation: str
    note: str
    confirmed: str
    key: str


@cache
def questions() -> Mapping[tuple[str, str], Question]:
    """For (edition, question) the table that answers."""
    return {
        (str(row["edition"]), str(row["question"])): Question(
            str(row["table"]), str(row["citation"]), str(row["note"]), str(row["confirmed"]), f"editions.{number}"
        )
        for number, row in enumerate(tables.load("editions").rows, start=1)
    }


@dataclass(frozen=True)
class EditionBase:
    """An edition by name, with local amendments and the keys of what the firm has confirmed."""

    name: str
    amendments: tuple[Amends, ...] = ()
    confirmed_keys: frozenset[str] = frozenset()

    def _question(self, question: str) -> Question:
        found = questions().get((self.name, question))
        if found is None:
            raise NotPublished(f"no {question.replace('_', ' ')} table of {self.name} is held")
        return found

    def _rows(self, question: str) -> tuple[str, list[Row]]:
        table = self._question(question).table
        return table, list(_rows_of(table, self.name))

    def _load_rows(self, rows: list[Row], live: float, snow: float) -> list[Row]:
        """The rows for a live load of at most 40 psf, or for the ground snow load where that is larger."""
        if live > 40:
            raise OutOfRange("live_psf", live, "at most 40: the tables are for a live load of 40 psf")
        if snow <= 40:
            return [r for r in rows if r["live_psf"]]
        loads = sorted({number(r, "snow_psf") for r in rows if r["snow_psf"]})
        if not loads:
            raise OutOfRange("snow_psf", snow, "at most 40: this table has no larger snow load")
        load = at_most(loads, snow, "snow_psf")
        return [r for r in rows if r["snow_psf"] == load]

    def _how_known(self, question: Question, confirmed: str, row: Row) -> str:
        """How a cell is known: `memory` until both the cell and the edition's use of its table are confirmed."""
        if question.confirmed == "memory" and question.key not in self.confirmed_keys:
            return "memory"
        keys = self.confirmed_keys
        return "firm" if question.table in keys or _row_is_in(question.table, row, keys) else confirmed

    def _published(self, question: str, value: float, unit: str, confirmed: str, row: Row, note: str) -> Published:
        asked = self._question(question)
        note = join(note, asked.note, str(row.get("note", "")))
        return Published(value, unit, asked.citation, self._how_known(asked, confirmed, row), note, row)


@cache
def _rows_of(table: str, edition: str) -> tuple[Row, ...]:
    """The rows of a table that are of an edition: all of them where the table does not say."""
    rows = tables.load(table).rows
    if "editions" in rows[0]:
        rows = tuple(row for row in rows if edition in str(row["editions"]).split("; "))
    return rows


def _row_is_in(table: str, row: Row, keys: frozenset[str]) -> bool:
    return any(key.startswith(f"{table}.") for key in keys) and tables.row_key(table, row) in keys
