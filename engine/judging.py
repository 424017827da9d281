"""From the outcomes of one check to its one verdict.

All combinations hold: holds, with the worst shown. All fail: fails, with the mildest shown. Anything else cannot
be told, and the answer names the facts that it depends on and asks for them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from engine.checks.registry import Question, Rule
from engine.comparison import Comparison
from engine.deck import Deck, Plain
from engine.errors import EngineError, OutOfRange
from engine.facts import (
    BASIS_INDEX,
    MOST_COMBINATIONS,
    CannotJudge,
    DeckView,
    NotRecorded,
    Outcome,
    explore,
    in_words,
    label,
)
from engine.results import Check, Verdict, verdict_of

_LICENSED = "an engineer licensed for the place can design or approve this case"


class Case(NamedTuple):
    """One combination of uncertain facts and what the check said under it; None where the question did not arise."""

    fixed: Mapping[str, Plain]
    verdict: Verdict | None
    ratio: float | None


class Judged(NamedTuple):
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


class _Shown(NamedTuple):
    """A run that may stand for all that ended alike."""

    rank: float
    case: Case
    outcome: Outcome


class _Heard:
    """What the runs of one check said, as far as its one verdict needs it: not the results of all of them."""

    def __init__(self) -> None:
        self.cases: list[Case] = []
        self.verdicts: set[Verdict | None] = set()
        self.worst: _Shown | None = None
        self.mildest: _Shown | None = None
        self.first: Outcome | None = None
        self.reasons: dict[str, None] = {}  # why it refused; dicts keep the order and drop repeats
        self.missing: dict[str, str] = {}  # the paths of facts not recorded, and the words that ask for them
        self.settles: dict[str, None] = {}
        self.assumptions: dict[str, None] = {}
        self.from_memory: dict[str, None] = {}

    def hear(self, outcome: Outcome) -> None:
        """Take in one run."""
        case = _case(outcome)
        self.cases.append(case)
        self.verdicts.add(case.verdict)
        if outcome.assumptions:
            self.assumptions.update(dict.fromkeys(outcome.assumptions))
        if outcome.from_memory:
            self.from_memory.update(dict.fromkeys(outcome.from_memory))
        if self.first is None:
            self.first = outcome
        if outcome.refusal is not None:
            self._hear_refusal(outcome.refusal)
        elif case.verdict is not None:
            rank = -1.0 if case.ratio is None else case.ratio
            if self.worst is None or self.mildest is None:
                self.worst = self.mildest = _Shown(rank, case, outcome)
            elif rank > self.worst.rank:
                self.worst = _Shown(rank, case, outcome)
            elif rank < self.mildest.rank:
                self.mildest = _Shown(rank, case, outcome)

    def _hear_refusal(self, refusal: EngineError) -> None:
        self.reasons[refusal_words(refusal)] = None
        self.settles.update(dict.fromkeys(_settles(refusal)))
        if isinstance(refusal, NotRecorded):
            self.missing[refusal.path] = refusal.words


def judge(
    deck: Deck,
    question: Question,
    subject: str,
    answer: Callable[[DeckView], object],
    most: int = MOST_COMBINATIONS,
    part_id: str = "",
    view: DeckView | None = None,
) -> Judged | None:
    """Put one question to one part: its verdict, or None where it does not arise in any combination.

    With more than `most` combinations of what is not known it cannot be told. `view` is as in `explore`.
    """
    exploration = explore(deck, answer, most, view)
    outcomes = iter(exploration)
    first = next(outcomes)
    further = next(outcomes, None)
    if further is None and exploration.is_complete:
        return _of_one_run(first, question, subject, answer, frozenset(exploration.reads), part_id)
    heard = _Heard()
    heard.hear(first)
    if further is not None:
        heard.hear(further)
    for outcome in outcomes:
        heard.hear(outcome)
    verdicts = heard.verdicts - {None}
    if not exploration.is_complete:
        check = _too_many(deck, question, subject, heard)
    elif not verdicts:
        return None
    elif verdicts == {Verdict.HOLDS}:
        check = _all_alike(deck, question, subject, heard.worst, heard)
    elif heard.verdicts == {Verdict.FAILS}:
        check = _all_alike(deck, question, subject, heard.mildest, heard)
    elif heard.verdicts == {Verdict.CANNOT_TELL}:
        check = _refused(question, subject, heard)
    else:
        check = _depends(deck, question, subject, heard)
    return Judged(check, question, answer, tuple(heard.cases), frozenset(exploration.reads), part_id)


def fact_words(deck: Deck, path: str) -> str:
    """A fact for people: `J1.species` -> `species of joist field J1`."""
    owner, _, name = path.partition(".")
    if owner == "basis":
        return f"{label(BASIS_INDEX[name])} of the basis"
    part = deck.by_id[owner]
    return f"{label(part.kind.index[name])} of {part.subject}"


def _of_one_run(
    outcome: Outcome,
    question: Question,
    subject: str,
    answer: Callable[[DeckView], object],
    reads: frozenset[str],
    part_id: str,
) -> Judged | None:
    """What most checks come to: everything they read is known, so there is one run and nothing to weigh."""
    case, refusal = _case(outcome), outcome.refusal
    if refusal is not None:
        check = _cannot_tell(
            question,
            subject,
            refusal_words(refusal),
            depends_on=(refusal.path,) if isinstance(refusal, NotRecorded) else (),
            settles=tuple(dict.fromkeys(_settles(refusal))),
            assumptions=outcome.assumptions,
            from_memory=outcome.from_memory,
        )
    elif case.verdict is None:
        return None
    else:
        assumptions = (*outcome.assumptions, *outcome.result.assumptions)  # type: ignore[attr-defined]
        check = _shown(question, subject, case, outcome, assumptions)
    return Judged(check, question, answer, (case,), reads, part_id)


def _case(outcome: Outcome) -> Case:
    if outcome.refusal is not None:
        return Case(outcome.fixed, Verdict.CANNOT_TELL, None)
    result = outcome.result
    if isinstance(result, Comparison):
        ratio = result.ratio
        return Case(outcome.fixed, verdict_of(ratio), ratio)
    if isinstance(result, Rule):
        return Case(outcome.fixed, Verdict.HOLDS if result.is_met else Verdict.FAILS, result.ratio)
    return Case(outcome.fixed, None, None)


def _all_alike(deck: Deck, question: Question, subject: str, shown: _Shown | None, heard: _Heard) -> Check:
    assert shown is not None
    _, case, outcome = shown
    result = outcome.result
    assert isinstance(result, (Comparison, Rule))
    assumptions = (*outcome.assumptions, *result.assumptions)
    count = len(heard.cases)
    if count > 1:
        tried = "; ".join(_tried(deck, path, heard.cases) for path in paths_tried(heard.cases))
        which = "the worst" if case.verdict is Verdict.HOLDS else "the mildest"
        assumptions = (*assumptions, f"{case.verdict} in all {count} combinations of {tried}; {which} is shown")
    return _shown(question, subject, case, outcome, assumptions)


def _shown(question: Question, subject: str, case: Case, outcome: Outcome, assumptions: tuple[str, ...]) -> Check:
    """A check with the result of the run that stands for all."""
    result = outcome.result
    assert isinstance(result, (Comparison, Rule)) and case.verdict is not None
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
        assumptions=tuple(dict.fromkeys(assumptions)) if len(assumptions) > 1 else assumptions,
        from_memory=outcome.from_memory,
    )


def _tried(deck: Deck, path: str, cases: Sequence[Case]) -> str:
    values = dict.fromkeys(map(in_words, verdicts_by_value(path, cases)))
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


def _too_many(deck: Deck, question: Question, subject: str, heard: _Heard) -> Check:
    facts = paths_tried(heard.cases)
    return _cannot_tell(
        question,
        subject,
        "more combinations of what is not known than are tried",
        depends_on=tuple(facts),
        settles=tuple(f"find out the {fact_words(deck, path)}" for path in facts),
    )


def _refused(question: Question, subject: str, heard: _Heard) -> Check:
    assert heard.first is not None
    return _cannot_tell(
        question,
        subject,
        "; ".join(list(heard.reasons)[:3]),
        depends_on=tuple(heard.missing),
        settles=tuple(heard.settles),
        assumptions=heard.first.assumptions,
        from_memory=heard.first.from_memory,
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


def _depends(deck: Deck, question: Question, subject: str, heard: _Heard) -> Check:
    cases = heard.cases
    deciding = deciding_facts(cases)
    settles = [f"find out the {fact_words(deck, path)}" for path in deciding]
    ratios = [case.ratio for case in cases if case.ratio is not None]
    spread = f"; demand over capacity from {min(ratios):.2f} to {max(ratios):.2f}" if ratios else ""
    return _cannot_tell(
        question,
        subject,
        "depends on the " + ", and on the ".join(_split(deck, path, cases) for path in deciding) + spread,
        depends_on=tuple(dict.fromkeys((*deciding, *heard.missing))),
        settles=tuple(dict.fromkeys((*settles, *heard.missing.values()))),
        assumptions=tuple(heard.assumptions),
        from_memory=tuple(heard.from_memory),
    )


def _split(deck: Deck, path: str, cases: Sequence[Case]) -> str:
    """`species of joist field J1 (holds: southern pine; fails: hem-fir; open: redwood)`."""
    groups: dict[str, list[str]] = {}
    for value, verdicts in verdicts_by_value(path, cases).items():
        definite = verdicts - {None}
        word = "does not arise" if not definite else str(*definite) if len(definite) == 1 else "open"
        groups.setdefault(word, []).append(in_words(value))
    words = "; ".join(f"{word} for {', '.join(values)}" for word, values in groups.items())
    return f"{fact_words(deck, path)} ({words})"


def verdicts_by_value(path: str, cases: Sequence[Case]) -> dict[Plain, set[Verdict | None]]:
    """The verdicts met under each value of a fact, in the order in which the values were tried."""
    found: dict[Plain, set[Verdict | None]] = {}
    for value, verdict in dict.fromkeys((case.fixed[path], case.verdict) for case in cases if path in case.fixed):
        found.setdefault(value, set()).add(verdict)
    return found


def paths_tried(cases: Sequence[Case]) -> list[str]:
    """Paths of the facts that were tried with more than one value, in the order in which they were read."""
    found: dict[str, Plain] = {}
    for case in cases:
        if not case.fixed.keys() <= found.keys():
            found |= case.fixed
    return list(found)


def deciding_facts(cases: Sequence[Case]) -> list[str]:
    """The facts whose value alone can change the verdict, in the order in which they were read."""
    paths = paths_tried(cases)
    deciding = [path for path in paths if _decides(path, cases)]
    return deciding or paths


def _decides(path: str, cases: Sequence[Case]) -> bool:
    by_rest: dict[tuple[object, object], Verdict] = {}
    for case in cases:
        if path in case.fixed:
            rest = dict(case.fixed)
            del rest[path]
            verdict = case.verdict or Verdict.HOLDS  # a question that does not arise stands in nobody's way
            if by_rest.setdefault((tuple(rest), tuple(rest.values())), verdict) is not verdict:
                return True
    # A fact may also decide which further facts are read at all; then no two cases differ in it alone.
    met = verdicts_by_value(path, cases).values()
    return len({frozenset(each or Verdict.HOLDS for each in verdicts) for verdicts in met}) > 1
