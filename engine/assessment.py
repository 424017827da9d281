"""The assessment of a deck: every question of `engine.checks` put to every part it concerns."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from functools import cached_property
from typing import Any

from engine import __version__
from engine.checks.registry import Question, questions
from engine.deck import Deck, Part
from engine.facts import DeckView, explore
from engine.judging import Judged, judge
from engine.results import Check, Verdict
from engine.vocabulary import Link

CAUTION = (
    "This rests on what could be seen and was measured on the day. Concealed conditions are not covered. The rules of"
    " the local building authority govern. Repairs of structural parts need a permit and licensed practice where local"
    " law says so. The calculation supports the inspector's judgement and does not replace a licensed design"
    " professional. Where a value lies outside what a formula or table covers, the answer is to find out, not a number."
)

# From what must be looked at first to what needs no look; a ratio decides within one verdict.
_GRAVITY = {Verdict.FAILS: 2, Verdict.CANNOT_TELL: 1, Verdict.HOLDS: 0}


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
        from engine.facts import in_words

        value = self.deck.basis.facts.get("edition", "not recorded")
        return " or ".join(map(in_words, getattr(value, "values", (value,))))

    @cached_property
    def tables_used(self) -> tuple[str, ...]:
        """Every clause and table that a check names, once."""
        return tuple(dict.fromkeys(check.citation for check in self.checks if check.citation))

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

    def worst(self, link: Link | str | None = None) -> Check | None:
        """The gravest check of a link, or of the deck: failing before open before holding, then by ratio."""
        return worst_of(self.checks if link is None else self.for_link(link))

    def to_dict(self) -> dict[str, Any]:
        """Plain data for JSON: every check with its steps, what it was worked out with, and the caution.

        An infinite ratio (a demand and nothing to carry it) becomes None; the verdict stands beside it.
        """
        return {
            "engine_version": self.engine_version,
            "deck": self.deck.name,
            "edition": self.edition,
            "tables_used": list(self.tables_used),
            "caution": self.caution,
            "checks": [check_dict(check) for check in self.checks],
        }


def worst_of(checks: Iterable[Check]) -> Check | None:
    """The gravest of some checks; None if there are none."""
    return max(checks, key=lambda check: (_GRAVITY[check.verdict], check.ratio or 0.0), default=None)


def check_dict(check: Check) -> dict[str, Any]:
    """A check as plain data, without infinite numbers."""
    return {name: _jsonable(value) for name, value in asdict(check).items()}


def _jsonable(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _jsonable(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_jsonable(item) for item in value]
    return str(value) if isinstance(value, str) else value


def assess(deck: Deck) -> Assessment:
    """Put every question to every part of the deck.

    What a check cannot answer (a fact is missing, a value lies outside a table) comes out as `cannot tell` with the
    reason and with what would settle it; no deck that `Deck.from_json` accepts raises.
    """
    judged = [found for question in questions() for found in ask(deck, question)]
    return Assessment(deck, tuple(each.check for each in judged), tuple(judged))


def ask(deck: Deck, question: Question) -> list[Judged]:
    """The answers to one question, for all the parts it concerns."""
    found = []
    for subject, answer in _put(deck, question):
        judged = judge(deck, question, subject, explore(deck, answer))
        if judged is not None:
            found.append(judged)
    return found


def _put(deck: Deck, question: Question) -> Iterable[tuple[str, Callable[[DeckView], object]]]:
    if question.each == "deck":
        yield "the deck", question.answer
        return
    for part in deck.of_kind(question.each):
        subject = subject_of(deck, part)
        if question.places is None:
            yield subject, _about(question, part)
        else:
            for place, number in question.places(part):
                yield f"{subject}, {place}", _about(question, part, number)


def _about(question: Question, part: Part, *place: int) -> Callable[[DeckView], object]:
    return lambda view: question.answer(view.part(part.id), view, *place)


def subject_of(deck: Deck, part: Part) -> str:
    """How a check names a part; a fastener by its number along the ledger: `fastener 7 of ledger LD1 (F7)`."""
    if part.kind.name != "fastener":
        return part.subject
    ledger = deck.by_id[str(part.facts["ledger"])]
    along = sorted(deck.referring[(ledger.id, "fastener", "ledger")], key=_position)
    return f"fastener {along.index(part) + 1} of ledger {ledger.id} ({part.name or part.id})"


def _position(part: Part) -> float:
    position = part.facts.get("position_in")
    return position if isinstance(position, float) else math.inf
