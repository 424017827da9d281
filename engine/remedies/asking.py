"""Asking the engine about a changed deck, and asking again only what the change can have touched."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from typing import NamedTuple

from engine.assessment import subject_of
from engine.checks.registry import Question, questions
from engine.deck import Deck, Part
from engine.facts import MOST_COMBINATIONS, DeckView, PartView
from engine.judging import judge
from engine.records import dataclass
from engine.remedies.changes import Change
from engine.results import Check, Method, Verdict
from engine.vocabulary import BY_NAME
from engine.witnesses import disputed

DECK = "deck"
NO_PLACE = -1
# Rules that rest on load tests of whole joints, which hold more than the calculation finds in their pieces.
TESTS = ("ledger.fastener_tested", "guard.tested", "guard.post_detail")


@dataclass(frozen=True)
class Key:
    """Which question was put to which part, and to which place of it (a span of a beam)."""

    check_id: str
    part_id: str
    place: int = NO_PLACE


@dataclass(frozen=True)
class Asked:
    """The answer to one question about one part; `check` is None where the question does not arise."""

    key: Key
    question: Question
    check: Check | None
    reads: frozenset[str]

    @property
    def verdict(self) -> Verdict | None:
        return self.check.verdict if self.check else None


@cache
def _by_kind() -> dict[tuple[str, str], Question]:
    return {(question.id, question.each): question for question in questions()}


@cache
def _asked_of(kind: str) -> tuple[Question, ...]:
    return tuple(question for question in questions() if question.each == kind)


class _Witness(NamedTuple):
    check: Check
    question: Question
    part_id: str


class Budget:
    """How many runs may still be made: a deck with much unknown could ask for millions."""

    def __init__(self, runs: int) -> None:
        self.left = runs

    @property
    def is_spent(self) -> bool:
        return self.left <= 0

    def most(self) -> int:
        return max(1, min(MOST_COMBINATIONS, self.left))


class _WatchedPart(PartView):
    """A part that also notes which lists of parts were read: `LD1*fastener`."""

    __slots__ = ()

    def parts(self, kind: str, by: str | None = None) -> list[PartView]:
        self.run.reads.add(f"{self.id}*{kind}")
        return super().parts(kind, by)


class _WatchedDeck(DeckView):
    __slots__ = ()

    def part(self, part_id: str) -> PartView:
        view = self._views.get(part_id)
        if view is None:
            view = self._views[part_id] = _WatchedPart(self, self.run.deck.by_id[part_id])
        return view

    def parts(self, kind: str) -> list[PartView]:
        self.run.reads.add(f"*{kind}")
        return super().parts(kind)


def _written(deck: Deck, change: Change) -> frozenset[str]:
    """What a change writes, in the words in which a reading is noted: facts, and lists of parts."""
    found = set(change.facts)
    references: list[tuple[str, object]] = []
    for path, value in change.facts.items():
        owner, _, name = path.partition(".")
        part = deck.by_id[owner]
        if name in part.kind.references:
            references += [(part.kind.name, part.facts.get(name)), (part.kind.name, value)]
    for kind, facts in (
        *((new.kind, new.facts) for new in change.added),
        *((deck.by_id[each].kind.name, deck.by_id[each].facts) for each in change.removed),
    ):
        found.add(f"*{kind}")
        references += [(kind, facts.get(name)) for name in BY_NAME[kind].references]
    found |= {f"{target}*{kind}" for kind, target in references if isinstance(target, str)}
    return frozenset(found)


class Asking:
    """A deck and the answers to what was asked about it so far.

    With `before` and the `change` that led from there to this deck, an answer that rests on facts and lists of parts
    which the change did not write is taken over.
    """

    def __init__(
        self, deck: Deck, budget: Budget, *, before: Asking | None = None, change: Change | None = None
    ) -> None:
        self._budget = budget
        # A copy: what an assessment of the same deck has kept does not say which lists of parts were read for it.
        self.deck = Deck(deck.name, deck.basis, deck.parts)
        self._answers: dict[Key, Asked] = {}
        self._before = before
        self._written = _written(before.deck, change) if before is not None and change is not None else frozenset()

    def ask(self, key: Key) -> Asked:
        """The answer to one question. Raises KeyError for a question or part that is not there."""
        found = self._answers.get(key)
        if found is None:
            found = self._answers[key] = self._answer(key)
        return found

    def has(self, key: Key) -> bool:
        """Whether there is such a part, and such a place of it."""
        if key.part_id == DECK:
            return True
        part = self.deck.by_id.get(key.part_id)
        if part is None or key.place == NO_PLACE:
            return part is not None
        return key in _keys(_by_kind()[key.check_id, part.kind.name], part)

    def _answer(self, key: Key) -> Asked:
        if self._before is not None and self._before.has(key):
            earlier = self._before.ask(key)
            if not earlier.reads & self._written:
                return self._renumbered(earlier)
        if key.part_id == DECK:
            question = _by_kind()[key.check_id, DECK]
            return self._judge(key, question, "the deck", question.answer)
        part = self.deck.by_id[key.part_id]
        question = _by_kind()[key.check_id, part.kind.name]
        subject = subject_of(self.deck, part)
        if key.place == NO_PLACE:
            return self._judge(key, question, subject, lambda view: question.answer(view.part(part.id), view))
        assert question.places is not None
        word = next(word for word, number in question.places(part) if number == key.place)
        place = key.place
        return self._judge(
            key, question, f"{subject}, {word}", lambda view: question.answer(view.part(part.id), view, place)
        )

    def _renumbered(self, earlier: Asked) -> Asked:
        """An answer about a fastener under the number that it now has along its ledger."""
        if earlier.check is None or earlier.question.each != "fastener":
            return earlier
        subject = subject_of(self.deck, self.deck.by_id[earlier.key.part_id])
        if subject == earlier.check.subject:
            return earlier
        return replace(earlier, check=replace(earlier.check, subject=subject))

    def _judge(self, key: Key, question: Question, subject: str, answer: Callable[[DeckView], object]) -> Asked:
        reads: set[str] = set()

        def watched(view: DeckView) -> object:
            nonlocal reads
            reads = view.run.reads  # one set for all combinations that are tried
            return answer(_WatchedDeck(view.run))

        judged = judge(self.deck, question, subject, watched, self._budget.most())
        self._budget.left -= len(judged.cases) if judged else 1
        return Asked(key, question, judged.check if judged else None, frozenset(reads))

    def all_keys(self) -> Iterator[Key]:
        """Every question there is to ask of this deck, in the order of the load path."""
        for question in questions():
            if question.each == DECK:
                yield Key(question.id, DECK)
                continue
            for part in self.deck.of_kind(question.each):
                yield from _keys(question, part)

    def everything(self) -> list[Asked]:
        """The answers to all questions."""
        return [self.ask(key) for key in self.all_keys()]

    def about(self, part_id: str) -> list[Asked]:
        """The answers to all questions put to one part."""
        part = self.deck.by_id[part_id]
        return [self.ask(key) for question in _asked_of(part.kind.name) for key in _keys(question, part)]

    def is_disputed(self, asked: Asked) -> bool:
        """Whether a check fails while the other witness of its question holds, by `engine.witnesses.disputed`."""
        if asked.check is None or asked.verdict is not Verdict.FAILS or asked.key.part_id == DECK:
            return False
        spoken = [
            _Witness(each.check, each.question, each.key.part_id)
            for each in self._witnesses_of(asked)
            if each.check is not None
        ]
        return (asked.check.id, asked.check.subject) in disputed(self.deck, spoken)

    def _witnesses_of(self, asked: Asked) -> Iterator[Asked]:
        """The answers that a pair of witnesses with this one in it may be made of."""
        part, question = self.deck.by_id[asked.key.part_id], asked.question
        rule = question.twin or question.id
        for other in _asked_of(part.kind.name):
            if rule in (other.id, other.twin):
                yield from map(self.ask, _keys(other, part))
        owner = self.deck.by_id.get(str(part.facts.get(question.wider_part))) if question.wider_twin else None
        if owner is not None and (wider := _by_kind().get((question.wider_twin, owner.kind.name))):
            yield from map(self.ask, _keys(wider, owner))

    def fails(self, key: Key) -> bool:
        """Whether a check fails and asks for a repair: a calculation that a published rule clears does not.

        A published rule that fails does, even where the calculation holds: the local authority judges by it.
        """
        asked = self.ask(key)
        is_rule = asked.question.method is Method.PRESCRIPTIVE
        return asked.verdict is Verdict.FAILS and (is_rule or not self.is_disputed(asked))

    def clears(self, key: Key) -> bool:
        """Whether a check that failed is put right: it holds or no longer arises, or tests of such joints clear it.

        A published table beside a calculation is not enough for a repair: new work holds by both.
        """
        if key.part_id != DECK and key.part_id not in self.deck.by_id:
            return True
        asked = self.ask(key)
        is_tested = asked.question.twin in TESTS and self.is_disputed(asked)
        return asked.verdict in (None, Verdict.HOLDS) or is_tested

    def check(self, check_id: str, part_id: str, place: int = NO_PLACE) -> Check | None:
        """The check itself; None where the question does not arise."""
        return self.ask(Key(check_id, part_id, place)).check


def _keys(question: Question, part: Part) -> list[Key]:
    if question.places is None:
        return [Key(question.id, part.id)]
    return [Key(question.id, part.id, number) for _, number in question.places(part)]
