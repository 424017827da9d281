"""Every published adjustment factor of members (sources in `factor_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params
from tests.published.factor_cells import READERS, TABLES


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_factor_is_the_one_that_is_applied(cell: Cell) -> None:
    check(cell)


def test_every_kind_of_factor_gives_cells() -> None:
    kinds = {cell.name.split(" ")[0].rstrip(",") for cell in TABLES[0].cells}
    assert kinds == set(READERS)
