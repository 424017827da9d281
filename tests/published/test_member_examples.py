"""Every printed number of the worked member examples (sources in `member_cells`)."""

from __future__ import annotations

import pytest

from tests.published.cells import Cell, check, params, read
from tests.published.joist_cells import TABLES as JOIST_TABLES
from tests.published.member_cells import NOT_ASKED, TABLES

DECK_JOISTS = [row for row in read("member_examples") if row["reference"].startswith("AWC DCA 6")]


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_printed_number_of_a_worked_example_comes_out(cell: Cell) -> None:
    check(cell)


def test_the_deck_joists_among_the_examples_are_the_cells_of_the_joist_table() -> None:
    cells = {table.title: [cell.published for cell in table.cells] for table in JOIST_TABLES}
    spans = [float(row["published"]) for row in DECK_JOISTS if row["quantity"].startswith("span")]
    overhangs = [float(row["published"]) for row in DECK_JOISTS if row["quantity"].startswith("overhang")]
    assert spans == cells["DCA 6-2012 Table 2 joist spans"]
    assert overhangs == cells["DCA 6-2012 Table 2 joist overhangs"]


def test_no_example_is_left_out_but_those_with_a_reason() -> None:
    assert len(TABLES[0].cells) + len(DECK_JOISTS) + len(NOT_ASKED) == len(read("member_examples"))
