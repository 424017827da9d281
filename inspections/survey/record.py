"""A record of a deck without the database: its parts and readings, the engine's deck made of them, the assessment.

The server fills it from its rows (`inspections.survey.deck`), a tablet without signal from what it kept
(`inspections.survey.tablet`). So this module and what it imports know no Django.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Protocol

from engine import Assessment, Deck, assess
from engine.deck import FORMAT
from engine.facts import label
from engine.vocabulary import BY_PLURAL, Fact, PartKind
from inspections.survey.typed import in_words

ASSUMED = "assumed"


class ReadingLike(Protocol):
    """One fact: `value` in the engine's unit, None where it could not be reached; `how` it was got."""

    fact: str
    value: object
    how: str


class PartLike(Protocol):
    """One piece of the deck; `key` is its name in the deck file."""

    key: str
    kind: str
    name: str

    @property
    def vocabulary(self) -> PartKind: ...


@dataclass(frozen=True)
class Record:
    """What stands in the record of one visit. `parts` are in the order of `place_of_key`.

    `readings` says part key -> fact name -> reading; `title` is the name of the deck, `basis` what it is judged by.
    """

    parts: tuple[PartLike, ...]
    readings: Mapping[str, Mapping[str, ReadingLike]]
    title: str
    basis: Mapping[str, object]

    @cached_property
    def by_key(self) -> dict[str, PartLike]:
        return {part.key: part for part in self.parts}

    def of_kind(self, kind: str) -> list[PartLike]:
        return [part for part in self.parts if part.kind == kind]

    def value(self, part: PartLike, fact_name: str) -> object:
        """The value of a fact, or None where there is none."""
        reading = self.readings[part.key].get(fact_name)
        return reading.value if reading else None

    @cached_property
    def loose(self) -> dict[str, Fact]:
        """Parts that the deck cannot take in yet, by key: what they cannot be without (their beam) was not said."""
        standing = set(self.by_key)
        found: dict[str, Fact] = {}
        grew = True
        while grew:
            grew = False
            for part in self.parts:
                if part.key in found:
                    continue
                for fact in part.vocabulary.facts:
                    needed = fact.kind == "reference" and fact.required
                    if needed and self.value(part, fact.name) not in standing - set(found):
                        found[part.key] = fact
                        grew = True
                        break
        return found

    @property
    def assumed(self) -> list[str]:
        """Every reading that was assumed, in words: `span of joist field J1 assumed: 8' 8"`."""
        return [
            words
            for part in self.parts
            for reading in self.readings[part.key].values()
            if (words := assumption(part, reading))
        ]

    def deck(self) -> dict[str, object]:
        """The record as the engine's deck file.

        What could not be reached is "unknown", what nobody wrote down is left out. A fact that a part must have and
        that is not there yet stands as "unknown", so that one open field does not silence every verdict; a part
        without the part it belongs to (see `loose`) is left out.
        """
        deck: dict[str, object] = {"format": FORMAT, "name": one_line(self.title), "basis": self.basis}
        for plural, kind in BY_PLURAL.items():
            parts = [part for part in self.of_kind(kind.name) if part.key not in self.loose]
            if parts:
                deck[plural] = [self._part(part) for part in parts]
        return deck

    def assess(self) -> Assessment:
        """The engine's verdicts.

        Raises engine.errors.DeckFaults when the record contradicts itself (a fastener beyond the end of its ledger).
        """
        return _assess(json.dumps(self.deck(), sort_keys=True))

    def _part(self, part: PartLike) -> dict[str, object]:
        found: dict[str, object] = {"id": part.key}
        if part.name:
            found["name"] = one_line(part.name)
        readings = self.readings[part.key]
        for fact in part.vocabulary.facts:
            reading = readings.get(fact.name)
            if reading is not None and (reading.value is not None or fact.kind != "reference"):
                found[fact.name] = "unknown" if reading.value is None else reading.value
            elif fact.required and fact.kind != "reference":
                found[fact.name] = "unknown"
        return found


def assumption(part: PartLike, reading: ReadingLike) -> str:
    """The words for a reading that was assumed; empty for any other."""
    fact = part.vocabulary.index.get(reading.fact)
    if fact is None or reading.how != ASSUMED:
        return ""
    value = in_words(fact, reading.value)
    return f"{label(fact)} of {part.kind.replace('_', ' ')} {part.key} assumed on the visit: {value}"


def place_of_key(part: PartLike) -> tuple[str, int, str]:
    """A sort key: F2 before F10."""
    head = part.key.rstrip("0123456789")
    tail = part.key[len(head) :]
    return head, int(tail) if tail else 0, part.key


def one_line(text: str) -> str:
    return "".join(character for character in " ".join(text.split()) if character.isprintable())[:200]


@lru_cache(maxsize=32)
def _assess(deck_text: str) -> Assessment:
    # The engine has no clock and no memory: the same deck gets the same answer, so a page that is only looked at again
    # need not be worked out again.
    return assess(Deck.from_json(deck_text))
