"""Every cell of the published joist tables (sources and assumptions in `joist_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params
from tests.published.joist_cells import TABLES


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_joist_cell_comes_out(cell: Cell) -> None:
    check(cell)
