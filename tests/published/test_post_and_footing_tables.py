"""Every cell of the published post and footing tables (sources and assumptions in `post_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params
from tests.published.post_cells import TABLES

DCA6_HEIGHTS = next(t for t in TABLES if t.title == "DCA 6-2012 Table 4 post heights")


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_post_or_footing_cell_comes_out(cell: Cell) -> None:
    check(cell)


@pytest.mark.parametrize("cell", [pytest.param(c, id=c.name) for c in DCA6_HEIGHTS.cells if c.published > 24])
def test_dca_6_never_allows_a_taller_post_than_axial_load_alone(cell: Cell) -> None:
    # Cells of 2 ft are left out: the table prints 2 where a fit to its own rows gives less.
    assert cell.published <= cell.engine()
