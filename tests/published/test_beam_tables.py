"""Every cell of the published beam tables (sources and assumptions in `beam_cells`)."""

from __future__ import annotations

import pytest

from tests.published.beam_cells import TABLES
from tests.published.cells import Cell, check, params


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_beam_cell_comes_out(cell: Cell) -> None:
    check(cell)
