"""The command that prints remedies."""

import json

from engine.command_line import main
from tests.engine.deck_files import FOLDER

RAISED = str(FOLDER / "raised_deck_lags_missing.json")


def test_remedies_are_printed_as_a_schedule_that_one_can_build_from(capsys):
    assert main(["remedies", RAISED]) == 0
    printed = capsys.readouterr().out
    assert "half-inch through-bolt" in printed and "from the left end of the ledger" in printed
    assert "licensed design professional" in printed


def test_remedies_are_printed_as_json(capsys):
    assert main(["remedies", RAISED, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    bolts = next(remedy for remedy in found if remedy["kind"] == "ledger-refasten")
    assert bolts["schedule"][0]["count"] == len(bolts["schedule"][0]["positions_in"])
    assert bolts["is_proved"] is True and bolts["change"]["added"]


def test_a_deck_that_cannot_be_read_is_refused(capsys):
    assert main(["remedies", "no such deck.json"]) == 2
    assert "file = " in capsys.readouterr().err
