"""The dowel tables of the NDS cell by cell (sources and assumptions in `dowel_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params
from tests.published.dowel_cells import ELSEWHERE, GROUPS, ROWS, TABLES


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_dowel_cell_comes_out(cell: Cell) -> None:
    check(cell)


def test_only_holes_and_specific_gravities_are_left_to_others():
    assert {row["group"] for row in ROWS} == GROUPS.keys() | set(ELSEWHERE)
    left_out = sum(row["group"] in ELSEWHERE for row in ROWS)
    assert sum(len(table.cells) for table in TABLES) == len(ROWS) - left_out
