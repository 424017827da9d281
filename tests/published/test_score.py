"""The README says what the score command says."""

from pathlib import Path

from tests.published import score

README = Path(__file__).parents[2] / "README.md"


def test_the_score_in_the_readme_is_the_score_of_today():
    """If it is not: put what `python -m tests.published.score` prints into the README."""
    told = [line.removeprefix("    ") for line in README.read_text("utf-8").splitlines() if line.startswith("    ")]
    found = score.lines()
    start = told.index(found[0])
    assert told[start : start + len(found)] == found


def test_no_table_is_counted_twice():
    titles = [(table.basis, table.title) for table in score.published_tables()]
    assert len(titles) == len(set(titles))
