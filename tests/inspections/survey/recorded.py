"""A deck file written into the record of a visit, fact by fact, as an inspector would type it."""

from engine.vocabulary import BY_PLURAL
from inspections.survey.services import add_part, record_reading


def as_typed(value):
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return str(value)


def record_deck(visit, deck):
    for plural, kind in BY_PLURAL.items():
        for part in deck.get(plural, []):
            facts = {name: as_typed(value) for name, value in part.items() if name not in ("id", "name")}
            # Stairs stand before guards in no file: a reference to what comes later is recorded afterwards.
            add_part(visit, kind.name, by=visit.inspector, key=part["id"], name=part.get("name", ""), readings={})
    for plural in BY_PLURAL:
        for part in deck.get(plural, []):
            row = visit.parts.get(key=part["id"])
            facts = {name: as_typed(value) for name, value in part.items() if name not in ("id", "name")}
            for name, typed in facts.items():
                record_reading(row, name, typed, by=visit.inspector)


def unsure_deck(deck):
    """The same deck where nothing that may be one of several values is sure: each fact is as recorded, or another."""
    for plural, kind in BY_PLURAL.items():
        for part in deck.get(plural, []):
            for fact in kind.facts:
                value = part.get(fact.name)
                if fact.kind == "choice" and value in fact.choices and len(fact.choices) > 2:
                    other = fact.choices[fact.choices.index(value) - 1]
                elif fact.kind in ("length", "number", "count") and isinstance(value, int | float):
                    other = value + 1 if fact.low <= value + 1 <= fact.high else round((fact.low + value) / 2, 3)
                else:
                    continue
                part[fact.name] = f"{value} or {other}"
    return deck
