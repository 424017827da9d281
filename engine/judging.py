"""From the outcomes of one check to its one verdict.

All combinations hold: holds, with the worst shown. All fail: fails, with the mildest shown. Anything else cannot
be told, and the answer names the facts that it depends on and asks for them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from engine.checks.registry import Question, Rule
from engine.comparison import Comparison
from engine.deck import Deck, Plain
from engine.errors import EngineError, OutOfRange
from engine.facts import (
    BASIS_INDEX,
    MOST_COMBINATIONS,
    CannotJudge,
    DeckView,
    Exploration,
    NotRecorded,
    Outcome,
    explore,
    in_words,
    label,
)
from engine.results import Check, Verdict, verdict_of

_LICENSED = "an engineer licensed for the place can design or approve this case"


@dataclass(frozen=True)
class Case:
    """One combination of uncertain facts and what the check said under it; None where the question did not arise."""

    fixed: Mapping[str, Plain]
    verdict: Verdict | None
    ratio: float | None


@dataclass(frozen=True)
class Judged:
    """A check with what stood behind it: question and answer, every case tried, the path of every fact read."""

    check: Check
    question: Question
    answer: Callable[[DeckView], object]
    cases: tuple[Case, ...]
    reads: frozenset[str]
    part_id: str = ""  # the part it was put to; empty for the whole deck

    def again(self, deck: Deck) -> Judged | None:
        """The same question put to the same part of another deck."""
        return judge(deck, self.question, self.check.subject, self.answer, part_id=self.part_id)


def judge(
    deck: Deck,
    question: Question,
    subject: str,
    answer: Callable[[DeckView], object],
    most: int = MOST_COMBINATIONS,
    part_id: str = "",
) -> Judged | None:
    """Put one question to one part: its verdict, or None where it does not arise in any combination.

    With more than `most` combinations of what is not known it cannot be told.
    """
    exploration = explore(deck, answer, most)
    cases = tuple(_case(outcome) for outcome in exploration.outcomes)
    verdicts = {case.verdict for case in cases}
    if verdicts == {None} and exploration.is_complete:
        return None
    answers = [
        (case, outcome) for case, outcome in zip(cases, exploration.outcomes, strict=True) if case.verdict is not None
    ]
    if not exploration.is_complete:
        check = _too_many(deck, question, subject, exploration)
    elif verdicts == {Verdict.HOLDS} or verdicts == {Verdict.HOLDS, None}:
        check = _all_alike(deck, question, subject, max(answers, key=_ratio), exploration)
    elif verdicts == {Verdict.FAILS}:
        check = _all_alike(deck, question, subject, min(answers, key=_ratio), exploration)
    elif verdicts == {Verdict.CANNOT_TELL}:
        check = _refused(question, subject, exploration)
    else:
        check = _depends(deck, question, subject, exploration, cases)
    return Judged(check, question, answer, cases, exploration.reads, part_id)


def fact_words(deck: Deck, path: str) -> str:
    """A fact for people: `J1.species` -> `species of joist field J1`."""
    owner, _, name = path.partition(".")
    if owner == "basis":
        return f"{label(BASIS_INDEX[name])} of the basis"
    part = deck.by_id[owner]
    return f"{label(part.kind.index[name])} of {part.subject}"


def _case(outcome: Outcome) -> Case:
    if outcome.refusal is not None:
        return Case(outcome.fixed, Verdict.CANNOT_TELL, None)
    result = outcome.result
    if isinstance(result, Comparison):
        return Case(outcome.fixed, verdict_of(result.ratio), result.ratio)
    if isinstance(result, Rule):
        return Case(outcome.fixed, Verdict.HOLDS if result.is_met else Verdict.FAILS, result.ratio)
    return Case(outcome.fixed, None, None)


def _ratio(answer: tuple[Case, Outcome]) -> float:
    ratio = answer[0].ratio
    return -1.0 if ratio is None else ratio


def _all_alike(
    deck: Deck, question: Question, subject: str, shown: tuple[Case, Outcome], exploration: Exploration
) -> Check:
    case, outcome = shown
    result = outcome.result
    assert isinstance(result, (Comparison, Rule)) and case.verdict is not None
    assumptions = (*outcome.assumptions, *result.assumptions)
    count = len(exploration.outcomes)
    if count > 1:
        tried = "; ".join(_tried(deck, path, exploration) for path in exploration.uncertain)
        which = "the worst" if case.verdict is Verdict.HOLDS else "the mildest"
        assumptions = (*assumptions, f"{case.verdict} in all {count} combinations of {tried}; {which} is shown")
    return Check(
        id=question.id,
        subject=subject,
        link=question.link,
        title=question.title,
        verdict=case.verdict,
        method=question.method,
        citation=result.citation or question.citation,
        unit=result.unit,
        demand=result.demand,
        capacity=result.capacity,
        ratio=case.ratio,
        governs=result.governs,
        reason=result.reason if isinstance(result, Rule) else "",
        steps=result.steps,
        assumptions=tuple(dict.fromkeys(assumptions)),
        from_memory=outcome.from_memory,
    )


def _tried(deck: Deck, path: str, exploration: Exploration) -> str:
    values = dict.fromkeys(in_words(outcome.fixed[path]) for outcome in exploration.outcomes if path in outcome.fixed)
    return f"{fact_words(deck, path)} ({', '.join(values)})"


def _cannot_tell(question: Question, subject: str, reason: str, **more: tuple[str, ...]) -> Check:
    return Check(
        id=question.id,
        subject=subject,
        link=question.link,
        title=question.title,
        verdict=Verdict.CANNOT_TELL,
        method=question.method,
        citation=question.citation,
        reason=reason,
        **more,  # type: ignore[arg-type]
    )


def _too_many(deck: Deck, question: Question, subject: str, exploration: Exploration) -> Check:
    facts = exploration.uncertain
    return _cannot_tell(
        question,
        subject,
        "more combinations of what is not known than are tried",
        depends_on=tuple(facts),
        settles=tuple(f"find out the {fact_words(deck, path)}" for path in facts),
    )


def _refused(question: Question, subject: str, exploration: Exploration) -> Check:
    refusals = [outcome.refusal for outcome in exploration.outcomes if outcome.refusal is not None]
    reasons = dict.fromkeys(refusal_words(refusal) for refusal in refusals)
    missing = dict.fromkeys(refusal.path for refusal in refusals if isinstance(refusal, NotRecorded))
    return _cannot_tell(
        question,
        subject,
        "; ".join(list(reasons)[:3]),
        depends_on=tuple(missing),
        settles=tuple(dict.fromkeys(words for refusal in refusals for words in _settles(refusal))),
        assumptions=exploration.outcomes[0].assumptions,
        from_memory=exploration.outcomes[0].from_memory,
    )


def refusal_words(refusal: EngineError) -> str:
    """Why a check refused, in words for people."""
    if isinstance(refusal, NotRecorded):
        return f"not recorded: {refusal.words.removeprefix('record the ')}"
    if isinstance(refusal, OutOfRange):
        return f"{label_of(refusal.field)} {in_words(refusal.value)} is outside what is covered: {refusal.accepted}"
    return str(refusal)


def label_of(field: str) -> str:
    """`slenderness_ratio` -> `slenderness ratio`; a unit at the end stays, in brackets."""
    head, _, unit = field.rpartition("_")
    if unit in ("in", "lb", "psf", "psi", "sqft"):
        return f"{head.replace('_', ' ')} ({unit.replace('sqft', 'sq ft')})"
    return field.replace("_", " ")


def _settles(refusal: EngineError) -> tuple[str, ...]:
    if isinstance(refusal, NotRecorded):
        return (refusal.words,)
    return refusal.settles if isinstance(refusal, CannotJudge) else (_LICENSED,)


def _depends(deck: Deck, question: Question, subject: str, exploration: Exploration, cases: tuple[Case, ...]) -> Check:
    deciding = deciding_facts(cases)
    missing = dict.fromkeys(o.refusal.path for o in exploration.outcomes if isinstance(o.refusal, NotRecorded))
    settles = [f"find out the {fact_words(deck, path)}" for path in deciding]
    settles += [o.refusal.words for o in exploration.outcomes if isinstance(o.refusal, NotRecorded)]
    ratios = [case.ratio for case in cases if case.ratio is not None]
    spread = f"; demand over capacity from {min(ratios):.2f} to {max(ratios):.2f}" if ratios else ""
    return _cannot_tell(
        question,
        subject,
        "depends on the " + ", and on the ".join(_split(deck, path, cases) for path in deciding) + spread,
        depends_on=tuple(dict.fromkeys((*deciding, *missing))),
        settles=tuple(dict.fromkeys(settles)),
        assumptions=tuple(dict.fromkeys(words for o in exploration.outcomes for words in o.assumptions)),
        from_memory=tuple(dict.fromkeys(words for o in exploration.outcomes for words in o.from_memory)),
    )


def _split(deck: Deck, path: str, cases: tuple[Case, ...]) -> str:
    """`species of joist field J1 (holds: southern pine; fails: hem-fir; open: redwood)`."""
    found: dict[Plain, set[Verdict | None]] = {}
    for case in cases:
        if path in case.fixed:
            found.setdefault(case.fixed[path], set()).add(case.verdict)
    groups: dict[str, list[str]] = {}
    for value, verdicts in found.items():
        definite = verdicts - {None}
        word = "does not arise" if not definite else str(*definite) if len(definite) == 1 else "open"
        groups.setdefault(word, []).append(in_words(value))
    words = "; ".join(f"{word} for {', '.join(values)}" for word, values in groups.items())
    return f"{fact_words(deck, path)} ({words})"


def deciding_facts(cases: tuple[Case, ...]) -> list[str]:
    """The facts whose value alone can change the verdict, in the order in which they were read."""
    paths = list(dict.fromkeys(path for case in cases for path in case.fixed))
    deciding = [path for path in paths if _decides(path, cases)]
    return deciding or paths


def _decides(path: str, cases: tuple[Case, ...]) -> bool:
    by_rest: dict[tuple[tuple[str, Plain], ...], Verdict] = {}
    by_value: dict[Plain, set[Verdict]] = {}
    for case in cases:
        if path not in case.fixed:
            continue
        verdict = case.verdict or Verdict.HOLDS  # a question that does not arise stands in nobody's way
        rest = tuple([item for item in case.fixed.items() if item[0] != path])
        if by_rest.setdefault(rest, verdict) is not verdict:
            return True
        by_value.setdefault(case.fixed[path], set()).add(verdict)
    # A fact may also decide which further facts are read at all; then no two cases differ in it alone.
    return len({frozenset(verdicts) for verdicts in by_value.values()}) > 1
