"""Every legible cell of the published lag screw withdrawal values (source in `withdrawal_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params
from tests.published.withdrawal_cells import TABLES


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_published_withdrawal_value_comes_out(cell: Cell) -> None:
    check(cell)


def test_no_cell_of_the_table_was_left_out() -> None:
    assert len(TABLES[0].cells) == 18 * 9
