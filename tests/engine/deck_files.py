"""The fixture decks, as mappings that a test may change before it reads them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from engine.assessment import Assessment, assess
from engine.deck import Deck
from engine.results import Check

FOLDER = Path(__file__).parent / "decks"
NAMES = sorted(path.stem for path in FOLDER.glob("*.json"))


def deck_file(name: str = "sound_ledger_deck") -> dict[str, Any]:
    """A fresh mapping of one fixture deck."""
    return json.loads((FOLDER / f"{name}.json").read_text("utf-8"))


def part(file: dict[str, Any], part_id: str) -> dict[str, Any]:
    """One part of a deck file by its id."""
    for parts in file.values():
        for item in parts if isinstance(parts, list) else ():
            if item["id"] == part_id:
                return item
    raise KeyError(part_id)


def changed(name: str = "sound_ledger_deck", **changes: dict[str, Any]) -> dict[str, Any]:
    """A fixture deck with facts changed by part id (or `basis`); a value of ... takes the fact away."""
    file = deck_file(name)
    for owner, facts in changes.items():
        target = file["basis"] if owner == "basis" else part(file, owner)
        for fact, value in facts.items():
            if value is ...:
                target.pop(fact, None)
            else:
                target[fact] = value
    return file


def assessed(name: str = "sound_ledger_deck", **changes: dict[str, Any]) -> Assessment:
    """The assessment of a fixture deck with facts changed."""
    return assess(Deck.from_json(changed(name, **changes)))


def the(assessment: Assessment, check_id: str, subject: str = "") -> Check:
    """The one check of an id (and a word of its subject)."""
    found = [check for check in assessment.by_id(check_id) if subject in check.subject]
    assert len(found) == 1, (check_id, subject, [check.subject for check in assessment.by_id(check_id)])
    return found[0]
