"""One table of all benches: each figure as it comes, and a bench that breaks is a row, not the end."""

import pytest
from django.core.management import CommandError, call_command

from firm.management.commands import bench

GOOD = (
    """print('{"figure": "a page", "value": 3, "unit": "ms", "floor": 2, "ratio": 1.5, "target": 3, "holds": true}')"""
)


@pytest.fixture
def benches(tmp_path, monkeypatch):
    monkeypatch.setattr(bench, "FOLDER", tmp_path)

    def write(**texts):
        for name, text in texts.items():
            (tmp_path / f"bench_{name}.py").write_text(text)

    return write


def test_each_figure_is_a_row_under_the_machine_it_was_measured_on(benches, capsys, tmp_path):
    benches(pages=f"print('warming up')\n{GOOD}")
    call_command("bench", to=tmp_path / "table.md")
    said = capsys.readouterr().out
    assert "| pages | a page | 3 | ms | 2 | 1.5 | 3 | yes |" in said
    assert "cores" in said.splitlines()[0]
    assert (tmp_path / "table.md").read_text() == said


def test_one_that_breaks_or_never_ends_is_a_row_and_the_others_go_on(benches, capsys):
    benches(a_broken="raise SystemExit('no server')", b_slow="while True: pass", c_good=GOOD)
    with pytest.raises(CommandError, match="2 of 3 do not hold"):
        call_command("bench", minutes=0.02)
    said = capsys.readouterr().out
    assert "| a_broken | did not run to its end: no server |" in said
    assert "| b_slow | did not run to its end: took longer than 1.2 s |" in said
    assert "| c_good | a page |" in said


def test_a_bench_finds_the_engine_and_the_helpers_of_the_tests(benches, capsys, monkeypatch):
    monkeypatch.delenv("PYTHONPATH", raising=False)
    benches(engine=f"import engine.assessment, tests.installation\n{GOOD}")
    call_command("bench")
    assert "| engine | a page |" in capsys.readouterr().out


def test_only_those_named_are_run(benches, capsys):
    benches(one=GOOD, two=GOOD)
    call_command("bench", "two")
    assert "| one |" not in capsys.readouterr().out
    with pytest.raises(CommandError, match=r"No bench three\. There are: one, two"):
        call_command("bench", "three")
