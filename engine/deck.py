"""A deck as it was recorded: its parts, the facts kept of each, and the building-rule basis it is judged on.

The file is JSON, `{"format": "soundings deck 1", "name": ..., "basis": {...}, "levels": [...], "beams": [...], ...}`:
flat lists named as in `engine.vocabulary`, each part with an `id` that is unique over the deck, references by id. The
value of a fact is plain, `"unknown"`, or `{"one_of": [...]}`; a fact that is left out was not recorded.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import field
from functools import cached_property
from typing import Any

from engine.records import dataclass
from engine.vocabulary import BY_NAME, KINDS, PartKind

FORMAT = "soundings deck 1"
LIVE_LOAD_RULE = "load.deck_live_min"

Plain = bool | int | float | str | tuple[float, ...]


class Unknown:
    """The value of a fact that somebody looked for and could not find out."""

    _only: Unknown | None = None

    def __new__(cls) -> Unknown:
        if cls._only is None:
            cls._only = super().__new__(cls)
        return cls._only

    def __repr__(self) -> str:
        return "UNKNOWN"


UNKNOWN = Unknown()


@dataclass(frozen=True)
class OneOf:
    """The value of a fact that is known only to be one of `values`."""

    values: tuple[Plain, ...]


Value = Plain | Unknown | OneOf


@dataclass(frozen=True)
class Amendment:
    """A local rule that replaces a value of the edition: `key` as in the rules table, `value` in `unit`."""

    key: str
    value: float
    unit: str
    citation: str


@dataclass(frozen=True)
class Confirmation:
    """What `key` names (a rule, a table, a row of one) was laid beside the firm's own copy of the code and is right."""

    key: str
    by: str
    on: str


@dataclass(frozen=True)
class Basis:
    """The building rules a deck is judged by: code edition, loads, frost, soil, exposure; local amendments on top.

    `facts` holds the recorded facts of `engine.vocabulary.BASIS_FACTS` by name; its live load is never less than a
    local amendment of the deck live load asks.
    """

    facts: Mapping[str, Value]
    amendments: tuple[Amendment, ...] = ()
    confirmations: tuple[Confirmation, ...] = ()

    @cached_property
    def confirmed_keys(self) -> frozenset[str]:
        """The keys of all rules, tables and rows that the firm has compared with its own copy."""
        return frozenset(each.key for each in self.confirmations)

    @classmethod
    def of(cls, edition: str, **facts: object) -> Basis:
        """A basis from plain Python values. Raises DeckFaults as a deck file with these values would."""
        from engine.deck_reader import read_basis

        return read_basis({"edition": edition, **facts})


@dataclass(frozen=True)
class Part:
    """One part of a deck: its kind, its place in its list, its id, a name for people, its recorded facts."""

    kind: PartKind
    index: int
    id: str
    facts: Mapping[str, Value]
    name: str = ""

    @property
    def path(self) -> str:
        """Where it stands in the file: `joist_fields[0]`."""
        return f"{self.kind.plural}[{self.index}]"

    @cached_property
    def paths(self) -> Mapping[str, str]:
        """The path of each of its facts, as checks name them: `J1.span_in`."""
        return {name: f"{self.id}.{name}" for name in self.kind.index}

    @cached_property
    def subject(self) -> str:
        """How a check names it: `joist field J1`, with its name if it has one: `joist field J1 (north bay)`."""
        kind = self.kind.name.replace("_", " ")
        return f"{kind} {self.id} ({self.name})" if self.name else f"{kind} {self.id}"


@dataclass(frozen=True)
class Deck:
    """A whole deck; build it with `Deck.from_json`, which refuses anything that does not hang together."""

    name: str
    basis: Basis
    parts: Mapping[str, tuple[Part, ...]] = field(default_factory=dict)

    @classmethod
    def from_json(cls, source: str | bytes | Mapping[str, Any]) -> Deck:
        """Read a deck from JSON text or from the mapping that the text would give.

        Raises DeckFaults with every fault that was found (path, value, what is accepted), and no other exception.
        """
        from engine.deck_reader import read_deck

        return read_deck(source)

    def to_mapping(self) -> dict[str, Any]:
        """The deck in the shape of its file; `Deck.from_json` of it gives an equal deck."""
        basis = {name: _plain(value) for name, value in self.basis.facts.items()}
        if self.basis.amendments:
            basis["amendments"] = [vars(amendment).copy() for amendment in self.basis.amendments]
        if self.basis.confirmations:
            basis["confirmations"] = [vars(confirmation).copy() for confirmation in self.basis.confirmations]
        file: dict[str, Any] = {"format": FORMAT, "name": self.name, "basis": basis}
        for kind in KINDS:
            if parts := self.parts.get(kind.name):
                file[kind.plural] = [_part_mapping(part) for part in parts]
        return file

    def to_json(self, indent: int | None = 2) -> str:
        """The deck as the text of its file."""
        return json.dumps(self.to_mapping(), indent=indent, ensure_ascii=False)

    def of_kind(self, kind: str) -> tuple[Part, ...]:
        """All parts of a kind, in the order of the file. Raises KeyError for a kind that is not in the vocabulary."""
        return self.parts.get(BY_NAME[kind].name, ())

    def __iter__(self) -> Iterator[Part]:
        for kind in KINDS:
            yield from self.parts.get(kind.name, ())

    @cached_property
    def by_id(self) -> Mapping[str, Part]:
        """Every part by its id."""
        return {part.id: part for part in self}

    @cached_property
    def referring(self) -> Mapping[tuple[str, str, str], tuple[Part, ...]]:
        """The parts that refer to another: (id referred to, kind that refers, name of the reference) -> parts."""
        found: dict[tuple[str, str, str], list[Part]] = {}
        for part in self:
            for fact in part.kind.references:
                target = part.facts.get(fact)
                if isinstance(target, str):
                    found.setdefault((target, part.kind.name, fact), []).append(part)
        return {key: tuple(parts) for key, parts in found.items()}

    @cached_property
    def kept(self) -> dict[Any, Any]:
        """Intermediate results that rest on certain facts only; see `engine.facts.Run.once`."""
        return {}

    def with_fact(self, path: str, value: Plain) -> Deck:
        """A copy in which one fact has another value; `path` is `J1.span_in` or `basis.live_psf`.

        The value is not validated again: it is for asking "what if", inside the fact's own range.
        Raises KeyError for a path that names no part or fact.
        """
        owner, _, name = path.partition(".")
        if owner == "basis":
            facts = {**self.basis.facts, name: value}
            return Deck(self.name, Basis(facts, self.basis.amendments, self.basis.confirmations), self.parts)
        part = self.by_id[owner]
        part.kind.index[name]
        changed = Part(part.kind, part.index, part.id, {**part.facts, name: value}, part.name)
        siblings = tuple(changed if other is part else other for other in self.parts[part.kind.name])
        return Deck(self.name, self.basis, {**self.parts, part.kind.name: siblings})


def _part_mapping(part: Part) -> dict[str, Any]:
    head = {"id": part.id, "name": part.name} if part.name else {"id": part.id}
    return {**head, **{name: _plain(value) for name, value in part.facts.items()}}


def _plain(value: Value) -> Any:
    if isinstance(value, Unknown):
        return "unknown"
    if isinstance(value, OneOf):
        return {"one_of": [_plain(candidate) for candidate in value.values]}
    return list(value) if isinstance(value, tuple) else value
