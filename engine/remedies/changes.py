"""A change of a deck: facts written anew, parts put in, parts taken out. What a repair does to the record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from engine.deck import Deck as _Deck
from engine.deck import OneOf, Part, Unknown, Value
from engine.deck_reader import plain_value
from engine.records import dataclass
from engine.vocabulary import BY_NAME


@dataclass(frozen=True)
class NewPart:
    """A part that is put in: its kind and id, its facts; `before` is the id of the part that it stands in front of."""

    kind: str
    id: str
    facts: Mapping[str, Value]
    name: str = ""
    before: str = ""


@dataclass(frozen=True)
class Change:
    """`facts` maps `J1.span_in` to its new value, None where it is no longer recorded."""

    facts: Mapping[str, Value | None] = field(default_factory=dict)
    added: tuple[NewPart, ...] = ()
    removed: tuple[str, ...] = ()

    def with_(self, other: Change) -> Change:
        """Both changes together; where both write a fact, the other one counts."""
        return Change(
            {**self.facts, **other.facts},
            (*self.added, *other.added),
            (*self.removed, *(each for each in other.removed if each not in self.removed)),
        )

    @property
    def is_structural(self) -> bool:
        """Whether the list of parts, or of the places within a part, is another one afterwards."""
        return bool(self.added or self.removed) or any(path.endswith(".spans_in") for path in self.facts)

    def is_recordable(self, deck: _Deck) -> bool:
        """Whether every value it writes is one that a deck file may hold."""
        written = [
            (deck.by_id[path.partition(".")[0]].kind.name, path.partition(".")[2], value)
            for path, value in self.facts.items()
        ]
        written += [(new.kind, name, value) for new in self.added for name, value in new.facts.items()]
        return all(
            plain_value(BY_NAME[kind].index[name], value) is not None
            for kind, name, value in written
            if value is not None and not isinstance(value, (OneOf, Unknown))
        )

    def on(self, deck: _Deck) -> _Deck:
        """The deck with the change made. Raises KeyError for a path that names no part or fact."""
        by_part: dict[str, dict[str, Value | None]] = {}
        for path, value in self.facts.items():
            owner, _, name = path.partition(".")
            deck.by_id[owner].kind.index[name]
            by_part.setdefault(owner, {})[name] = value
        touched = {deck.by_id[each].kind.name for each in (*by_part, *self.removed)} | {p.kind for p in self.added}
        parts = dict(deck.parts)
        for kind in touched:
            kept = [part for part in deck.of_kind(kind) if part.id not in self.removed]
            rows = [(part.id, part.name, _rewritten(part, by_part.get(part.id, {}))) for part in kept]
            for new in self.added:
                if new.kind == kind:
                    ids = [row[0] for row in rows]
                    place = ids.index(new.before) if new.before in ids else len(rows)
                    rows.insert(place, (new.id, new.name, _in_order(kind, new.facts)))
            found = BY_NAME[kind]
            made = tuple(Part(found, n, part_id, facts, name) for n, (part_id, name, facts) in enumerate(rows))
            parts[kind] = made
            if not made:
                del parts[kind]
        return _Deck(deck.name, deck.basis, parts)

    def to_dict(self) -> dict[str, Any]:
        """The change as plain data: values as they stand in a deck file, null for a fact no longer recorded."""
        return {
            "facts": {path: _plain(value) for path, value in self.facts.items()},
            "added": [
                {
                    "kind": new.kind,
                    "before": new.before,
                    "part": {"id": new.id, **({"name": new.name} if new.name else {})}
                    | {name: _plain(value) for name, value in _in_order(new.kind, new.facts).items()},
                }
                for new in self.added
            ],
            "removed": list(self.removed),
        }


def _rewritten(part: Part, changed: Mapping[str, Value | None]) -> Mapping[str, Value]:
    if not changed:
        return part.facts
    facts: dict[str, Value | None] = {**part.facts, **changed}
    return _in_order(part.kind.name, {name: value for name, value in facts.items() if value is not None})


def _in_order(kind: str, facts: Mapping[str, Value]) -> dict[str, Value]:
    """The facts in the order of the vocabulary, as a deck that is read from its file has them."""
    index = BY_NAME[kind].index
    for name in facts:
        index[name]
    return {name: facts[name] for name in index if name in facts}


def _plain(value: Value | None) -> Any:
    if isinstance(value, Unknown):
        return "unknown"
    if isinstance(value, OneOf):
        return {"one_of": [_plain(each) for each in value.values]}
    return list(value) if isinstance(value, tuple) else value


def new_id(deck: _Deck, stem: str, *taken: str) -> str:
    """An id that no part of the deck has: `B2` -> `B2n`, `B2n2`, ..."""
    number = 1
    while True:
        found = f"{stem[:60]}n{number if number > 1 else ''}"
        if found not in deck.by_id and found not in taken:
            return found
        number += 1
