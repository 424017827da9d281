"""The bench on which repairs are worked out: the deck, what fails in it, its facts and rules, trials of a change."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import Any, TypeVar

from engine.assessment import MOST_RUNS
from engine.codes import Edition, Published, edition
from engine.deck import Deck, OneOf, Part, Plain, Unknown, Value
from engine.errors import EngineError, NotPublished
from engine.facts import BASIS_INDEX, in_words, label
from engine.remedies.asking import DECK, Asking, Budget, Key
from engine.remedies.changes import Change
from engine.results import Verdict
from engine.sections import find_size
from engine.vocabulary import Fact

T = TypeVar("T")


class Needs(EngineError):
    """A repair cannot be drawn up without a fact; `words` asks a person for it."""

    def __init__(self, words: str) -> None:
        super().__init__(words)
        self.words = words


class Bench:
    """One deck on the bench, and what is wrong with it, along the load path.

    `failing` are its failing checks that no published rule clears, `open` those that cannot be told.
    """

    def __init__(self, deck: Deck) -> None:
        self.now = Asking(deck, Budget(MOST_RUNS))
        self.budget = Budget(MOST_RUNS)  # for all trials together
        self.deck = self.now.deck
        self.kept: dict[Hashable, Any] = {}  # what several repairs of one part work out alike
        self.failing: tuple[Key, ...] = tuple(key for key in self.now.all_keys() if self.now.fails(key))
        self.open: tuple[Key, ...] = tuple(
            key for key in self.now.all_keys() if self.now.ask(key).verdict is Verdict.CANNOT_TELL
        )
        self._edition: Edition | None = None

    # -- trials ------------------------------------------------------------------------------------------------------

    def trial(self, change: Change) -> Asking:
        """The deck with a change made, to be asked about."""
        return Asking(change.on(self.deck), self.budget, before=self.now, change=change)

    def clears(self, change: Change, keys: Iterable[Key]) -> bool:
        """Whether a change puts all of these failing checks right."""
        asked = self.trial(change)
        return all(asked.clears(key) for key in keys)

    def first(self, values: Iterable[T], change: Callable[[T], Change], keys: Sequence[Key]) -> T | None:
        """The first of the values whose change puts all of the checks right; None if there is none."""
        return next((value for value in values if self.clears(change(value), keys)), None)

    # -- facts -------------------------------------------------------------------------------------------------------

    def part(self, part_id: str) -> Part:
        return self.deck.by_id[part_id]

    def value(self, part_id: str, name: str) -> Plain:
        """The recorded value of a fact, or its default. Raises Needs where there is no one value."""
        if part_id == "basis":
            fact, facts, subject = BASIS_INDEX[name], self.deck.basis.facts, "the basis"
        else:
            part = self.part(part_id)
            fact, facts, subject = part.kind.index[name], part.facts, part.subject
        value: Value | None = facts.get(name)
        if (value is None or (isinstance(value, Unknown) and fact.default_if_unknown)) and fact.default is not None:
            return fact.default  # type: ignore[return-value]
        if value is None or isinstance(value, (Unknown, OneOf)):
            raise Needs(f"{label(fact)} of {subject} ({_meaning(fact)})")
        return value

    def number(self, part_id: str, name: str) -> float:
        value = self.value(part_id, name)
        assert isinstance(value, (int, float))
        return float(value)

    def count(self, part_id: str, name: str) -> int:
        return int(self.number(part_id, name))

    def text(self, part_id: str, name: str) -> str:
        return str(self.value(part_id, name))

    def numbers(self, part_id: str, name: str) -> tuple[float, ...]:
        value = self.value(part_id, name)
        assert isinstance(value, tuple)
        return value

    def recorded(self, part_id: str, name: str) -> Plain | None:
        """The recorded value of a fact if it is one certain value, else None."""
        value = self.part(part_id).facts.get(name)
        return None if value is None or isinstance(value, (Unknown, OneOf)) else value

    def depth_in(self, part_id: str, name: str = "size") -> float:
        """Dressed depth (in) of the size recorded for a part."""
        return find_size(self.text(part_id, name)).depth_in

    def wood(self, part_id: str) -> dict[str, Value]:
        """Species, grade and treatment of a part as recorded, certain or not, for new wood of the same kind."""
        facts = self.part(part_id).facts
        return {name: facts[name] for name in ("species", "grade", "is_incised") if name in facts}

    def wood_words(self, part_id: str) -> str:
        """The wood to buy: as recorded, or of at least the strength of what is there."""
        species, grade = self.recorded(part_id, "species"), self.recorded(part_id, "grade")
        kind = in_words(species) if species is not None else "the species of what is there, or a stronger one"
        return f"{kind}, {in_words(grade) if grade is not None else 'No. 2'} or better, preservative-treated"

    # -- parts -------------------------------------------------------------------------------------------------------

    def referring(self, part_id: str, kind: str, by: str | None = None) -> tuple[Part, ...]:
        """The parts of a kind that refer to a part, in the order of the file."""
        if by is None:
            by = self.part(part_id).kind.name
        return self.deck.referring.get((part_id, kind, by), ())

    def level_of(self, part_id: str) -> Part | None:
        """The level that a part belongs to; the only one where none is recorded."""
        found = self.part(part_id).facts.get("level")
        if isinstance(found, str):
            return self.part(found)
        levels = self.deck.of_kind("level")
        return levels[0] if len(levels) == 1 else None

    def of_level(self, level_id: str, kind: str) -> list[Part]:
        """The parts of a kind that belong to a level."""
        return [part for part in self.deck.of_kind(kind) if (own := self.level_of(part.id)) and own.id == level_id]

    # -- rules -------------------------------------------------------------------------------------------------------

    @property
    def edition(self) -> Edition:
        """The adopted edition with local amendments and confirmations. Raises Needs where it is not one."""
        if self._edition is None:
            basis = self.deck.basis
            self._edition = edition(self.text("basis", "edition"), basis.amendments, basis.confirmations)
        return self._edition

    def rule(self, key: str) -> Published:
        """A rule of the adopted edition. Raises NotPublished."""
        return self.edition.rule(key)

    def rule_or(self, key: str, otherwise: float) -> float:
        """The value of a rule, or another number where the edition has none."""
        try:
            return self.rule(key).value
        except NotPublished:
            return otherwise


def _meaning(fact: Fact) -> str:
    return f"{fact.meaning}, {fact.unit}" if fact.unit else fact.meaning


def owner_of(deck: Deck, part_id: str, kind: str) -> str | None:
    """The part of a kind that a part belongs to, by references (the beam of a footing); itself if it is of the kind."""
    if kind == DECK or part_id == DECK:
        return DECK if kind == part_id else None
    seen, open_ids = set(), [part_id]
    while open_ids:
        found = open_ids.pop(0)
        if found in seen:
            continue
        seen.add(found)
        part = deck.by_id[found]
        if part.kind.name == kind:
            return found
        for name in part.kind.references:
            target = part.facts.get(name)
            if isinstance(target, str):
                open_ids.append(target)
    return None
