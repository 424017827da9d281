"""Two witnesses of one question: a calculation and a published rule about the same part, and where they are apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from typing import Protocol

from engine.checks.registry import Question
from engine.deck import Deck
from engine.records import dataclass
from engine.results import Check, Verdict


class Answered(Protocol):
    """An answer to a question about one part, as `engine.judging.Judged` is one."""

    @property
    def check(self) -> Check: ...
    @property
    def question(self) -> Question: ...
    @property
    def part_id(self) -> str: ...


@dataclass(frozen=True)
class Disagreement:
    """Two witnesses of one question that do not agree, and which assumption makes the difference."""

    calculation: Check
    published: Check
    why: str

    def as_dict(self) -> dict[str, str]:
        """Ids, subjects and verdicts of the two, and why they are apart."""
        return {
            "id": self.calculation.id,
            "subject": self.calculation.subject,
            "calculation": str(self.calculation.verdict),
            "published_id": self.published.id,
            "published_subject": self.published.subject,
            "published": str(self.published.verdict),
            "why": self.why,
        }


@dataclass
class Pair:
    """The calculations of one part that stand for one published rule, and the rule (at each of its places)."""

    calculations: list[Answered] = field(default_factory=list)
    published: list[Answered] = field(default_factory=list)


def pairs_of(deck: Deck, judged: Iterable[Answered]) -> list[Pair]:
    """Every pair of witnesses that both spoke.

    Where the rule for the very part cannot tell, or does not arise, the rule for the part it belongs to speaks for it,
    if the question names one (the spacing of a whole ledger for one of its fasteners).
    """
    judged = tuple(judged)
    by_rule: dict[tuple[str, str], list[Answered]] = {}
    for each in judged:
        by_rule.setdefault((each.check.id, each.part_id), []).append(each)
    found: dict[tuple[str, str], Pair] = {}
    for each in judged:
        question = each.question
        if not question.twin:
            continue
        key = (question.twin, each.part_id)
        if question.wider_twin and verdict_of_all(by_rule.get(key, ())) in (None, Verdict.CANNOT_TELL):
            owner = deck.by_id[each.part_id].facts.get(question.wider_part)
            wider = (question.wider_twin, owner) if isinstance(owner, str) else key
            key = wider if verdict_of_all(by_rule.get(wider, ())) not in (None, Verdict.CANNOT_TELL) else key
        if key in by_rule:
            found.setdefault(key, Pair(published=by_rule[key])).calculations.append(each)
    return list(found.values())


def verdict_of_all(judged: Iterable[Answered]) -> Verdict | None:
    """Several answers to one question taken together: failing if one fails, open if one is open; None for none."""
    verdicts = {each.check.verdict for each in judged}
    for verdict in (Verdict.FAILS, Verdict.CANNOT_TELL, Verdict.HOLDS):
        if verdict in verdicts:
            return verdict
    return None


def disputed(deck: Deck, judged: Iterable[Answered]) -> frozenset[tuple[str, str]]:
    """(id, subject) of every failing check whose other witness holds, all of it.

    A calculation that fails is disputed where the published rule holds at every place of the part; a published rule
    that fails, where every calculation that stands for it holds. A witness of which any part is open disputes nothing.
    A rule for a whole (see `pairs_of`) clears its parts, but they do not clear it.
    """
    found = set()
    for pair in pairs_of(deck, judged):
        if verdict_of_all(pair.published) is Verdict.HOLDS:
            failing = [each for each in pair.calculations if each.check.verdict is Verdict.FAILS]
        elif verdict_of_all(pair.calculations) is Verdict.HOLDS and _is_of_one_part(pair):
            failing = [each for each in pair.published if each.check.verdict is Verdict.FAILS]
        else:
            continue
        found |= {(each.check.id, each.check.subject) for each in failing}
    return frozenset(found)


def disagreements(deck: Deck, judged: Iterable[Answered]) -> tuple[Disagreement, ...]:
    """Where calculation and published rule answer the same question of the same part in opposite ways.

    Several calculations (bending, shear, deflection) stand for one published rule: together they hold only if each of
    them holds, and as long as one is open there is nothing to compare. Under a rule for a whole each part is compared.
    """
    found = []
    for pair in pairs_of(deck, judged):
        groups = [pair.calculations] if _is_of_one_part(pair) else [[each] for each in pair.calculations]
        for published in pair.published:
            for group in groups:
                said = verdict_of_all(group)
                if Verdict.CANNOT_TELL in (said, published.check.verdict) or any(
                    each.check.verdict is Verdict.CANNOT_TELL for each in group
                ):
                    continue
                if said is not published.check.verdict:
                    worst = max(group, key=lambda each: (each.check.verdict is Verdict.FAILS, each.check.ratio or 0.0))
                    found.append(Disagreement(worst.check, published.check, worst.question.why_apart))
    return tuple(found)


def _is_of_one_part(pair: Pair) -> bool:
    return pair.calculations[0].part_id == pair.published[0].part_id
