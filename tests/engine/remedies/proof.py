"""What every test of a remedy asks: the deck with the repair in it, assessed anew from its file."""

from __future__ import annotations

from typing import Any

from engine.assessment import Assessment, assess
from engine.deck import Deck
from engine.remedies import Remedy, remedies_for
from engine.results import Verdict
from tests.engine.deck_files import changed


def remedies(name: str = "sound_ledger_deck", **changes: dict[str, Any]) -> tuple[Remedy, ...]:
    """The remedies of a fixture deck with facts changed."""
    return remedies_for(Deck.from_json(changed(name, **changes)))


def of_kind(found: tuple[Remedy, ...], kind: str) -> Remedy:
    """The one remedy of a kind."""
    chosen = [remedy for remedy in found if remedy.kind == kind]
    assert len(chosen) == 1, (kind, [remedy.id for remedy in found])
    return chosen[0]


def judged_anew(remedy: Remedy) -> Assessment:
    """The deck with the repair in it, written to its file, read back, and judged from the beginning."""
    return assess(Deck.from_json(remedy.deck_after.to_json()))


def verdicts(assessment: Assessment) -> dict[tuple[str, str], Verdict]:
    return {(check.id, check.subject): check.verdict for check in assessment.checks}


def undisputed_failures(assessment: Assessment) -> set[tuple[str, str]]:
    """Failing checks that no published rule about the same thing clears."""
    holds = {key for key, verdict in verdicts(assessment).items() if verdict is Verdict.HOLDS}
    found = set()
    for each in assessment.judged:
        check, twin = each.check, each.question.twin
        if check.verdict is not Verdict.FAILS:
            continue
        about = [key for key in verdicts(assessment) if key[0] == twin and _is_about(key[1], check.subject)]
        if not about or not all(key in holds for key in about):
            found.add((check.id, check.subject))
    return found


def _is_about(subject: str, other: str) -> bool:
    return subject == other or subject.startswith(other + ", ")


def still_fails(remedy: Remedy, **facts: Any) -> set[str]:
    """Ids of the answered checks that fail once the repair is made smaller by these facts (`J1__spacing_in=...`)."""
    deck = Deck.from_json(remedy.deck_after.to_json())
    for path, value in facts.items():
        deck = deck.with_fact(path.replace("__", "."), value)
    failing = {check.id for check in assess(deck).checks if check.verdict is Verdict.FAILS}
    return {each.check_id for each in (*remedy.answers, *remedy.also_clears) if each.check_id in failing}
