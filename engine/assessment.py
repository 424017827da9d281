"""The assessment of a deck: every question of `engine.checks` put to every part it concerns."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import asdict, field
from functools import cached_property
from typing import Any

from engine import __version__
from engine.caution import CAUTION
from engine.checks.registry import Question, questions
from engine.codes.rules import NOT_READ
from engine.deck import Deck, Part
from engine.facts import MOST_COMBINATIONS, DeckView, Run, in_words
from engine.judging import Judged, judge
from engine.plain import finite
from engine.records import dataclass
from engine.results import Check, Verdict
from engine.vocabulary import Link
from engine.witnesses import Disagreement, disagreements, disputed

__all__ = ["CAUTION", "Assessment", "Disagreement", "ask", "assess", "check_dict"]


@dataclass(frozen=True)
class Assessment:
    """All checks of one deck, in the order of the load path."""

    deck: Deck
    checks: tuple[Check, ...]
    judged: tuple[Judged, ...] = field(default=(), repr=False)
    caution: str = CAUTION
    engine_version: str = __version__

    @property
    def edition(self) -> str:
        """The code edition as recorded, in words."""
        value = self.deck.basis.facts.get("edition", "not recorded")
        return " or ".join(map(in_words, getattr(value, "values", (value,))))

    @cached_property
    def tables_used(self) -> tuple[str, ...]:
        """Every clause and table that a check names, once."""
        return tuple(dict.fromkeys(check.citation for check in self.checks if check.citation))

    @cached_property
    def amendments_not_read(self) -> tuple[str, ...]:
        """The local amendments of rules that no check judges by, in words: whoever made them must know."""
        return tuple(
            f"{each.key} = {each.value:g} {each.unit} ({each.citation}): no check reads this rule, no verdict changes"
            for each in self.deck.basis.amendments
            if each.key in NOT_READ
        )

    def for_link(self, link: Link | str) -> tuple[Check, ...]:
        """The checks of one link of the load path."""
        return tuple(check for check in self.checks if check.link == link)

    def by_id(self, check_id: str) -> tuple[Check, ...]:
        """The answers to one question, one for each part it was put to."""
        return tuple(check for check in self.checks if check.id == check_id)

    def about(self, part_id: str) -> tuple[Check, ...]:
        """The checks put to one part, by its id."""
        subject = self.deck.by_id[part_id].subject
        return tuple(check for check in self.checks if check.subject.startswith(subject))

    @cached_property
    def disagreements(self) -> tuple[Disagreement, ...]:
        """Where calculation and published rule answer the same question of the same part in opposite ways."""
        return disagreements(self.deck, self.judged)

    def is_disputed(self, check: Check) -> bool:
        """Whether a check fails while the other witness of its question, calculation or published rule, holds."""
        return (check.id, check.subject) in self._disputed

    def worst(self, link: Link | str | None = None) -> Check | None:
        """The gravest check of a link, or of the deck; None where there is none."""
        return self.gravest(self.checks if link is None else self.for_link(link))

    def gravest(self, checks: Iterable[Check]) -> Check | None:
        """The gravest of some checks: failing, then disputed, then open, then holding; in each the largest ratio.

        What fails by one witness and holds by the other stands behind what fails outright and before what is open.
        """
        return max(checks, key=self.gravity, default=None)

    def gravity(self, check: Check) -> tuple[int, float]:
        """A sort key for `gravest`: the graver, the larger."""
        if check.verdict is Verdict.FAILS:
            rank = 2 if self.is_disputed(check) else 3
        else:
            rank = 1 if check.verdict is Verdict.CANNOT_TELL else 0
        return rank, check.ratio or 0.0

    @cached_property
    def _disputed(self) -> frozenset[tuple[str, str]]:
        return disputed(self.deck, self.judged)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for JSON: every check with its steps and whether it is disputed, what it was worked
        out with, and the caution.

        An infinite ratio (a demand and nothing to carry it) becomes None; the verdict stands beside it.
        """
        return {
            "engine_version": self.engine_version,
            "deck": self.deck.name,
            "edition": self.edition,
            "tables_used": list(self.tables_used),
            "amendments_not_read": list(self.amendments_not_read),
            "caution": self.caution,
            "checks": [{**check_dict(check), "disputed": self.is_disputed(check)} for check in self.checks],
            "disagreements": [each.as_dict() for each in self.disagreements],
        }


def check_dict(check: Check) -> dict[str, Any]:
    """A check as plain data, without infinite numbers."""
    found = finite(asdict(check))
    assert isinstance(found, dict)
    return found


# All runs of one assessment together. A deck of many parts and many unknowns could ask for millions; what is beyond
# this cannot be told until more is known. Five facts of four candidates on one field of joists take 14,000.
MOST_RUNS = 30_000


def assess(deck: Deck) -> Assessment:
    """Put every question to every part of the deck.

    What a check cannot answer (a fact is missing, a value lies outside a table) comes out as `cannot tell` with the
    reason and with what would settle it; no deck that `Deck.from_json` accepts raises.
    """
    judged: list[Judged] = []
    left = MOST_RUNS
    view = DeckView(Run(deck))
    for question in questions():
        found = ask(deck, question, left, view)
        left = max(1, left - sum(len(each.cases) for each in found))
        judged += found
    return Assessment(deck, tuple(each.check for each in judged), tuple(judged))


def ask(deck: Deck, question: Question, most_runs: int = MOST_RUNS, view: DeckView | None = None) -> list[Judged]:
    """The answers to one question, for all the parts it concerns, in no more runs than are left.

    `view` is as in `engine.facts.explore`.
    """
    found = []
    for part_id, subject, answer in _put(deck, question):
        judged = judge(deck, question, subject, answer, min(most_runs, MOST_COMBINATIONS), part_id, view)
        if judged is not None:
            found.append(judged)
            most_runs = max(1, most_runs - len(judged.cases))
    return found


def _put(deck: Deck, question: Question) -> Iterable[tuple[str, str, Callable[[DeckView], object]]]:
    if question.each == "deck":
        yield "", "the deck", question.answer
        return
    for part in deck.of_kind(question.each):
        subject = subject_of(deck, part)
        if question.places is None:
            yield part.id, subject, _about(question, part)
        else:
            for place, number in question.places(part):
                yield part.id, f"{subject}, {place}", _about(question, part, number)


def _about(question: Question, part: Part, *place: int) -> Callable[[DeckView], object]:
    return lambda view: question.answer(view.part(part.id), view, *place)


def subject_of(deck: Deck, part: Part) -> str:
    """How a check names a part; a fastener by its number along the ledger: `fastener 7 of ledger LD1 (F7)`."""
    if part.kind.name != "fastener":
        return part.subject
    ledger = deck.by_id[str(part.facts["ledger"])]
    key = ("fasteners along", ledger.id)
    along = deck.kept.get(key)
    if along is None:
        fasteners = sorted(deck.referring[(ledger.id, "fastener", "ledger")], key=_position)
        along = deck.kept[key] = {fastener.id: number for number, fastener in enumerate(fasteners, start=1)}
    return f"fastener {along[part.id]} of ledger {ledger.id} ({part.name or part.id})"


def _position(part: Part) -> float:
    position = part.facts.get("position_in")
    return position if isinstance(position, float) else math.inf
