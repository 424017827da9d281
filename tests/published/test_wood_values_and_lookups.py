"""Every row of the wood value tables, and every cell that is only looked up (sources in `wood_cells`)."""

from __future__ import annotations

import re

import pytest

from engine.codes import edition
from engine.errors import NotPublished
from tests.published.cells import Cell, check, params, read
from tests.published.wood_cells import TABLES


@pytest.mark.parametrize("cell", params(TABLES))
def test_a_looked_up_cell_is_the_printed_one(cell: Cell) -> None:
    check(cell)


IN_WORDS = [row for row in read("rules") if not re.fullmatch(r"[\d.]+", row["value"])]


@pytest.mark.parametrize("row", IN_WORDS, ids=lambda row: row["key"])
def test_a_rule_in_words_is_given_as_words_and_never_as_a_number(row: dict[str, str]) -> None:
    code = edition("IRC 2021")
    assert code.rule_text(row["key"]) == row["value"]
    with pytest.raises(NotPublished):
        code.rule(row["key"])
