"""What a check is, and the list of all of them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib import import_module
from typing import Any

from engine.comparison import Comparison
from engine.deck import Part
from engine.facts import in_words
from engine.records import dataclass
from engine.results import RATIO_TOLERANCE, Method, Step, ratio_of
from engine.vocabulary import Link

_ROOMS = (
    "surface", "joists", "joist_ends", "joist_layout", "ledger", "ledger_layout", "lateral", "beam", "plies",
    "posts", "braces", "footings", "edge", "guard_parts", "way_up", "stringers", "water",
)  # fmt: skip


@dataclass(frozen=True)
class Rule:
    """A published rule put to one part: met or not, with the numbers where it has any.

    A ratio above 1 always means "not good enough", so for a least dimension the required value is the demand.
    """

    is_met: bool
    citation: str
    reason: str = ""
    demand: float | None = None
    capacity: float | None = None
    unit: str = "yes/no"
    governs: str = ""
    steps: tuple[Step, ...] = ()
    assumptions: tuple[str, ...] = ()

    @property
    def ratio(self) -> float | None:
        """Demand over capacity, or None for a rule of yes or no."""
        if self.demand is None or self.capacity is None:
            return None
        return ratio_of(self.demand, self.capacity)


Result = Comparison | Rule | None


def at_least(measured: float, required: float, unit: str, citation: str, what: str, **more: Any) -> Rule:
    """A rule that asks for a least value: `what` names the thing measured."""
    is_met = measured >= required * (1 - RATIO_TOLERANCE)
    reason = f"{what} {in_words(measured)} {unit}, at least {in_words(required)} {unit} asked"
    return Rule(is_met, citation, reason, demand=required, capacity=measured, unit=unit, **more)


def at_most(measured: float, greatest: float, unit: str, citation: str, what: str, **more: Any) -> Rule:
    """A rule that sets a greatest value: `what` names the thing measured."""
    is_met = measured <= greatest * (1 + RATIO_TOLERANCE)
    reason = f"{what} {in_words(measured)} {unit}, at most {in_words(greatest)} {unit} allowed"
    return Rule(is_met, citation, reason, demand=measured, capacity=greatest, unit=unit, **more)


def yes_no(is_met: bool, citation: str, reason: str) -> Rule:
    """A rule without a number; `reason` says what was found."""
    return Rule(is_met, citation, reason)


# The places of one part that are judged one by one (the spans of a beam): a word for the subject, and its number.
Places = Callable[[Part], tuple[tuple[str, int], ...]]


@dataclass(frozen=True)
class Question:
    """A registered check: which parts it is put to, how it is named, and the function that answers it.

    `twin` is the id of the published rule that answers the same question; `why_apart` says which assumption makes the
    difference where the two disagree. Where that rule cannot tell, `wider_twin` is the rule for the part to which the
    reference `wider_part` leads: what it passes as a whole it passes here.
    """

    id: str
    each: str
    link: Link
    title: str
    method: Method
    answer: Callable[..., Result]
    citation: str = ""
    places: Places | None = None
    twin: str = ""
    why_apart: str = ""
    wider_twin: str = ""
    wider_part: str = ""


_questions: list[Question] = []


def check(
    *,
    each: str,
    id: str,  # the word the answer carries, too
    link: Link,
    title: str,
    method: Method = Method.CALCULATION,
    citation: str = "",
    places: Places | None = None,
    twin: str = "",
    why_apart: str = "",
    wider: tuple[str, str] = ("", ""),
) -> Callable[[Callable[..., Result]], Callable[..., Result]]:
    """Register a function `(part, deck) -> Comparison | Rule | None` as a check of every part of the kind `each`.

    `each="deck"` asks once, `(deck)`. With `places` the function gets the number of the place as a third argument.
    `citation` is what stands beside the answer where the result itself names no clause; `wider` is (wider_twin,
    wider_part). See `Question` for the rest.
    """

    def register(function: Callable[..., Result]) -> Callable[..., Result]:
        _questions.append(Question(id, each, link, title, method, function, citation, places, twin, why_apart, *wider))
        return function

    return register


@cache
def questions() -> tuple[Question, ...]:
    """All checks, in the order of the load path."""
    for room in _ROOMS:
        import_module(f"engine.checks.{room}")
    order = {f"engine.checks.{room}": place for place, room in enumerate(_ROOMS)}
    return tuple(sorted(_questions, key=lambda each: order.get(each.answer.__module__, len(_ROOMS))))
