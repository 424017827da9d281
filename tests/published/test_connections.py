"""Every published connection value (sources and assumptions in `connection_cells`)."""

from __future__ import annotations

import pytest

from engine.fasteners import lateral
from tests.published.cells import Cell, check, params
from tests.published.connection_cells import ROWS, TABLES, compute, fastener_of, main_of, side_of


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_connection_value_comes_out(cell: Cell) -> None:
    check(cell)


def test_no_row_of_the_published_table_was_left_out():
    assert sum(len(table.cells) for table in TABLES) == len(ROWS) == 140


def test_the_governing_mode_is_the_one_the_reference_found():
    for row in ROWS:
        if row["governing_mode"] and row["l_main_used_in"]:
            planes = 2 if row["shear_planes"] == "double" else 1
            assert lateral(fastener_of(row), main_of(row), side_of(row), planes).mode == row["governing_mode"], row


def test_the_example_that_misses_gives_what_the_standard_gives():
    row = next(row for row in ROWS if "E2.4" in row["reference"])
    assert compute(row) == pytest.approx(255.0, abs=0.05)
