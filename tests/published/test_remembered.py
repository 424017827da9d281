"""Every remembered cell of further published tables (sources and assumptions in `remembered_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params
from tests.published.remembered_cells import TABLES


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_remembered_cell_comes_out(cell: Cell) -> None:
    check(cell)
