import pytest

from firm.web.sheets import csv_answer, safe_cell


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1"])
def test_a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    assert safe_cell(text) == f"'{text}"


@pytest.mark.parametrize(
    ("value", "text"), [("4 Mill Lane", "4 Mill Lane"), (None, ""), (90, "90"), ("a=b", "a=b"), (-70.25, "-70.25")]
)
def test_any_other_cell_stays_as_it_is(value, text):
    assert safe_cell(value) == text


@pytest.mark.parametrize("name", ['a".csv', "a\r\nSet-Cookie: x=1.csv", "déck;.csv"])
def test_the_name_of_a_file_adds_no_header_and_ends_no_quotation(name):
    told = csv_answer(name, ["a"], [])["Content-Disposition"]
    assert told.startswith("attachment; filename") and "\n" not in told and "\r" not in told
    assert not told.startswith('attachment; filename="a".csv"')
