"""Published cells and what the engine makes of them: one shape for the tests and for the score.

A cell either comes out of a calculation from first principles or is looked up in the edition that prints it. `miss` is
the engineering reason why a cell does not come out; such a cell is expected to fail, and a test fails if it does not.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from engine import tables
from engine.lumber import Lumber

DATA = Path(__file__).parent / "data"


def read(name: str) -> list[dict[str, str]]:
    """The rows of a published table."""
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


@dataclass(frozen=True)
class Cell:
    """One published number, the engine's number for it, and how far they may be apart."""

    name: str
    published: float
    engine: Callable[[], float]
    tolerance: float
    miss: str = ""

    def comes_out(self) -> bool:
        return abs(self.engine() - self.published) <= self.tolerance + 1e-9


@dataclass(frozen=True)
class PublishedTable:
    """The cells of one table; `basis` is `recomputed` or `looked up`."""

    title: str
    basis: str
    cells: list[Cell] = field(default_factory=list)


def params(tables_: Iterable[PublishedTable]) -> list[Any]:
    """The cells as test parameters, each named for its source and place, misses marked with their reason."""
    found = []
    for table in tables_:
        for cell in table.cells:
            marks = [pytest.mark.xfail(strict=True, reason=cell.miss)] if cell.miss else []
            found.append(pytest.param(cell, id=f"{table.title}: {cell.name}", marks=marks))
    return found


def check(cell: Cell) -> None:
    """The body of every published test."""
    assert cell.engine() == pytest.approx(cell.published, abs=cell.tolerance + 1e-9, rel=0)


@cache
def group(name: str, size: str, plies: int = 1) -> tuple[Lumber, ...]:
    """The lumber that stands behind a species group of the deck tables (No. 2, wet)."""
    return tuple(
        Lumber(
            str(row["nds_species"]),
            str(row["grade"]),
            size,
            plies=plies,
            incised=bool(row["incised"]),
            repetitive=True,
        )
        for row in tables.load("table_group_members").rows
        if str(row["group"]) in name
    )


def nearest(value_in: float) -> int:
    """To the whole inch, as the span tables round."""
    return math.floor(value_in + 0.5)


def first(group_name: str) -> str:
    """One species of a group, for a look-up."""
    return group_name.split(" / ")[0]
