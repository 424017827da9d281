"""From the record of a visit to the engine's deck, and to its assessment.

Every verdict that is shown anywhere comes through `assess_visit`.
"""

import json
from dataclasses import dataclass
from functools import cached_property, lru_cache

from engine import Assessment, Deck, assess
from engine.deck import FORMAT
from engine.facts import label
from engine.vocabulary import BY_PLURAL, Fact
from inspections.survey.basis import basis_of
from inspections.survey.models import Part, Reading
from inspections.survey.typed import in_words
from inspections.visits.models import Visit


@dataclass(frozen=True)
class Record:
    """What stands in the record of one visit: its parts with their readings, read once."""

    visit: Visit
    parts: tuple[Part, ...]

    @cached_property
    def by_key(self) -> dict[str, Part]:
        return {part.key: part for part in self.parts}

    @cached_property
    def readings(self) -> dict[str, dict[str, Reading]]:
        """Part key -> fact name -> reading."""
        return {part.key: {reading.fact: reading for reading in part.readings.all()} for part in self.parts}

    def of_kind(self, kind: str) -> list[Part]:
        return [part for part in self.parts if part.kind == kind]

    def value(self, part: Part, fact_name: str) -> object:
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


def assumption(part: Part, reading: Reading) -> str:
    """The words for a reading that was assumed; empty for any other."""
    fact = part.vocabulary.index.get(reading.fact)
    if fact is None or reading.how != Reading.How.ASSUMED:
        return ""
    value = in_words(fact, reading.value)
    return f"{label(fact)} of {part.kind.replace('_', ' ')} {part.key} assumed on the visit: {value}"


def read_record(visit: Visit) -> Record:
    """The standing parts of a visit with their readings, in two queries."""
    parts = visit.parts.filter(removed_at__isnull=True).prefetch_related("readings__by")
    return Record(visit, tuple(sorted(parts, key=_in_order)))


def deck_json(visit: Visit, record: Record | None = None) -> dict[str, object]:
    """The record as the engine's deck file.

    What could not be reached is "unknown", what nobody wrote down is left out. A fact that a part must have and that is
    not there yet stands as "unknown", so that one open field does not silence every verdict; a part without the part it
    belongs to (see `Record.loose`) is left out.
    """
    record = record or read_record(visit)
    deck: dict[str, object] = {"format": FORMAT, "name": _one_line(str(visit)), "basis": basis_of(visit)}
    for plural, kind in BY_PLURAL.items():
        parts = [part for part in record.of_kind(kind.name) if part.key not in record.loose]
        if parts:
            deck[plural] = [_part_json(record, part) for part in parts]
    return deck


def assess_visit(visit: Visit, record: Record | None = None) -> Assessment:
    """The engine's verdicts on the record of a visit.

    Raises engine.errors.DeckFaults when the record contradicts itself (a fastener beyond the end of its ledger).
    """
    text = json.dumps(deck_json(visit, record), sort_keys=True)
    return _assess(text)


@lru_cache(maxsize=32)
def _assess(deck_text: str) -> Assessment:
    # The engine has no clock and no memory: the same deck gets the same answer, so a page that is only looked at again
    # need not be worked out again.
    return assess(Deck.from_json(deck_text))


def _part_json(record: Record, part: Part) -> dict[str, object]:
    found: dict[str, object] = {"id": part.key}
    if part.name:
        found["name"] = _one_line(part.name)
    readings = record.readings[part.key]
    for fact in part.vocabulary.facts:
        reading = readings.get(fact.name)
        if reading is not None and (reading.value is not None or fact.kind != "reference"):
            found[fact.name] = "unknown" if reading.value is None else reading.value
        elif fact.required and fact.kind != "reference":
            found[fact.name] = "unknown"
    return found


def _in_order(part: Part) -> tuple[str, int, str]:
    """F2 before F10."""
    head = part.key.rstrip("0123456789")
    tail = part.key[len(head) :]
    return head, int(tail) if tail else 0, part.key


def _one_line(text: str) -> str:
    return "".join(character for character in " ".join(text.split()) if character.isprintable())[:200]
