"""The README says what the score command says."""

import re
from pathlib import Path

from tests.published import score

README = Path(__file__).parents[2] / "README.md"


def test_the_score_in_the_readme_is_the_score_of_today():
    """If it is not: put what `python -m tests.published.score` prints into the README."""
    told = [line.removeprefix("    ") for line in README.read_text("utf-8").splitlines() if line.startswith("    ")]
    found = score.lines()
    start = told.index(found[0])
    assert told[start : start + len(found)] == found


def test_the_sentence_about_the_score_has_the_sums_of_the_score():
    told = " ".join(README.read_text("utf-8").split())
    said = re.search(
        r"Of ([\d,]+) published cells and examples .*? ([\d,]+) come out; .*? All ([\d,]+) cells that", told
    )
    assert said, "the sentence is there"
    worked_out, come_out, looked_up = (int(number.replace(",", "")) for number in said.groups())
    assert score.lines()[-2:] == [f"recomputed: {come_out} of {worked_out}", f"looked up: {looked_up} of {looked_up}"]


def test_no_table_is_counted_twice():
    titles = [(table.basis, table.title) for table in score.published_tables()]
    assert len(titles) == len(set(titles))
