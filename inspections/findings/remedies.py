"""Repairs that the engine worked out, put into words: for the finding form, the release desk and the report.

All of it is read from `engine.remedies.Remedy.to_dict`, so that a frozen record says the same as one worked out now.
"""

import json
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from engine import Deck, remedies_for
from engine.errors import EngineError
from engine.results import Check
from engine.units import format_feet_inches, format_inches
from inspections.drawings.gauge import percent
from inspections.survey.deck import deck_json
from inspections.visits.models import Visit

Remedy = Mapping[str, Any]


def remedies_of_deck(deck: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Every repair of a deck file, as plain data. Raises DeckFaults if the record contradicts itself."""
    return json.loads(_worked_out(json.dumps(deck, sort_keys=True)))


@lru_cache(maxsize=8)
def _worked_out(deck_text: str) -> str:
    # As text, so that nobody can change what the next one reads.
    return json.dumps([remedy.to_dict() for remedy in remedies_for(Deck.from_json(deck_text))])


def remedies_of_check(visit: Visit, check: Check) -> list[dict[str, Any]]:
    """The repairs that are there for one failing check; none where the record cannot be read."""
    try:
        found = remedies_of_deck(deck_json(visit))
    except EngineError:
        return []
    return [remedy for remedy in found if answers(remedy, check.id, check.subject)]


def answers(remedy: Remedy, check_id: str, subject: str) -> bool:
    return {"check_id": check_id, "subject": subject} in remedy["answers"]


def in_words(options: Sequence[Remedy]) -> str:
    """Repairs of one fault as a text to edit: each with its lines, its proof, its cautions. Empty where none can be.

    A repair that waits for a measure is no repair yet, and only says what to record.
    """
    said = []
    for number, remedy in enumerate(options, 1):
        head = f"Option {number}: " if len(options) > 1 else ""
        lines = "; ".join(line_in_words(line) for line in remedy["schedule"])
        parts = [f"{head}{remedy['title']}.", f"{lines[:1].upper()}{lines[1:]}." if lines else "", proof(remedy)]
        parts += [f"Mind: {caution.rstrip('.')}." for caution in remedy["cautions"]]
        said.append(" ".join(part for part in parts if part))
    return "\n\n".join(said)


def line_in_words(line: Mapping[str, Any]) -> str:
    """ "10 through-bolts, 1/2 in, staggered in two rows, at 2", 1' 6" from the left end, hot-dip galvanized"."""
    count = "" if line["count"] is None else f"{line['count']} "
    parts = [f"{count}{line['what']}", line["size"], line["pattern"], positions(line), line["edges"], line["material"]]
    return ", ".join(part for part in parts if part)


def positions(line: Mapping[str, Any]) -> str:
    """Where along the member, as on a tape; empty where the pattern says it all."""
    said = [f"{format_inches(position_in)[:-1]} in" for position_in in line["positions_in"]]
    if all(words in line["pattern"] for words in said):  # the pattern names each with its row: once is enough
        return ""
    at = ", ".join(format_feet_inches(position_in) for position_in in line["positions_in"])
    return f"at {at}" + (f" ({line['along']})" if line["along"] else "")


def proof(remedy: Remedy) -> str:
    """What the engine found when it was asked again about the deck with the repair in it."""
    if remedy["needs"]:
        return f"Cannot be drawn up yet: {'; '.join(remedy['needs'])}."
    if not remedy["is_proved"]:
        return "Not proved: the engine cannot judge the deck with this done. It must be looked at again."
    after = remedy["ratio_after"]
    if after is None:
        return "Computed; re-checked: the check it answers then holds, or is no longer asked."
    if after > 1.0:
        return f"Computed; re-checked: the calculation alone still gives {percent(after)}; read what clears it."
    if percent(after) == percent(0):  # nothing is asked of it any more: a percentage would say less than the word
        return "Computed; re-checked: holds."
    return f"Computed; re-checked at {percent(after)}."
