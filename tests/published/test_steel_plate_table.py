"""Every legible cell of the published values of lag screws through sheet steel (source in `steel_plate_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params
from tests.published.steel_plate_cells import TABLES


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_lag_through_steel_comes_out(cell: Cell) -> None:
    check(cell)


def test_no_cell_was_left_out_but_the_two_that_are_cut_off() -> None:
    assert len(TABLES[0].cells) == 11 * 20 - 2
