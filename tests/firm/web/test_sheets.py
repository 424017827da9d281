import pytest

from firm.web.sheets import safe_cell


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1"])
def test_a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    assert safe_cell(text) == f"'{text}"


@pytest.mark.parametrize(("value", "text"), [("4 Mill Lane", "4 Mill Lane"), (None, ""), (90, "90"), ("a=b", "a=b")])
def test_any_other_cell_stays_as_it_is(value, text):
    assert safe_cell(value) == text
