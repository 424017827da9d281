"""The verdicts of the engine as the walk shows them: the worst first, the two witnesses side by side."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache, cached_property
from urllib.parse import urlencode

from engine import CAUTION, Assessment
from engine.assessment import subject_of, worst_of
from engine.checks.registry import questions
from engine.errors import DeckFaults, Fault
from engine.results import Check, Verdict
from engine.vocabulary import BY_PLURAL, Link
from inspections.survey.deck import Record, assess_visit, assumption
from inspections.survey.typed import in_words
from inspections.survey.wording import fact_label

__all__ = ["CAUTION", "Contradiction", "Standing", "Verdicts", "judge_record"]

FIRST_SHOWN = 3  # of parts that answer one question alike; the others stand in a table behind


@dataclass(frozen=True)
class Contradiction:
    """A place where the record contradicts itself, and the part at which it is put right."""

    words: str
    key: str = ""


@dataclass(frozen=True)
class Witnessed:
    """A check, the check that answers the same question the other way, and what was assumed on the visit."""

    check: Check
    key: str
    twins: tuple[Check, ...] = ()
    why_apart: str = ""
    assumed: tuple[str, ...] = ()

    @property
    def assumptions(self) -> tuple[str, ...]:
        return (*self.assumed, *self.check.assumptions)

    @property
    def disagrees(self) -> bool:
        return any(twin.verdict != self.check.verdict for twin in self.twins)

    @property
    def finding_query(self) -> str:
        return urlencode({"check": self.check.id, "subject": self.check.subject})


@dataclass(frozen=True)
class Alike:
    """One question with one verdict, for all the parts that got it; the gravest first."""

    answers: tuple[Witnessed, ...]

    @property
    def first(self) -> Witnessed:
        return self.answers[0]

    @property
    def others(self) -> tuple[Witnessed, ...]:
        return self.answers[1:]


@dataclass(frozen=True)
class Standing:
    """How one link stands: its worst check, and how many of each verdict."""

    worst: Check | None
    fails: int = 0
    open: int = 0
    holds: int = 0

    @property
    def word(self) -> str:
        if self.worst is None:
            return "nothing"
        return {Verdict.FAILS: "fails", Verdict.CANNOT_TELL: "open", Verdict.HOLDS: "holds"}[self.worst.verdict]


@dataclass(frozen=True)
class Verdicts:
    """All verdicts on a record, or the contradictions that stand in their way."""

    record: Record
    assessment: Assessment | None
    contradictions: tuple[Contradiction, ...] = ()
    caution: str = CAUTION
    _keys: dict[str, str] = field(default_factory=dict)

    def standing(self, link: Link | None = None) -> Standing:
        checks = self._checks(link)
        counts = {verdict: sum(check.verdict is verdict for check in checks) for verdict in Verdict}
        return Standing(
            worst_of(checks), counts[Verdict.FAILS], counts[Verdict.CANNOT_TELL], counts[Verdict.HOLDS]
        )  # fmt: skip

    def failing(self, link: Link) -> list[Alike]:
        return self._alike(link, Verdict.FAILS)

    def open(self, link: Link) -> list[Alike]:
        return self._alike(link, Verdict.CANNOT_TELL)

    def holding(self, link: Link) -> list[Alike]:
        return self._alike(link, Verdict.HOLDS)

    def of_part(self, key: str) -> list[Check]:
        return [check for check in self._checks(None) if self.key_of(check) == key]

    def part_standings(self) -> dict[str, str]:
        """Part key -> "fails", "cannot tell" or "holds", by its gravest check; for the drawings."""
        by_key: dict[str, list[Check]] = {}
        for check in self._checks(None):
            by_key.setdefault(self.key_of(check), []).append(check)
        return {key: str(worst.verdict) for key, checks in by_key.items() if key and (worst := worst_of(checks))}

    def wanted(self) -> dict[str, list[str]]:
        """`J1.span_in` -> titles of the checks that cannot be told without it."""
        found: dict[str, list[str]] = {}
        for check in self._checks(None):
            for path in check.depends_on:
                titles = found.setdefault(path, [])
                if check.title not in titles:
                    titles.append(check.title)
        return found

    def wanted_at(self, link: Link) -> set[str]:
        return {path for check in self._checks(link) for path in check.depends_on}

    def key_of(self, check: Check) -> str:
        """The key of the part that a check is about; empty for the whole deck."""
        if check.subject in self._keys:
            return self._keys[check.subject]
        # A place of a part: "beam B1, span 2". Names are the owner's words and may hold a comma of their own.
        return next((key for subject, key in self._keys.items() if check.subject.startswith(subject + ",")), "")

    def _checks(self, link: Link | None) -> tuple[Check, ...]:
        if self.assessment is None:
            return ()
        return self.assessment.checks if link is None else self.assessment.for_link(link)

    def _alike(self, link: Link, verdict: Verdict) -> list[Alike]:
        groups: dict[str, list[Check]] = {}
        for check in self._checks(link):
            if check.verdict is verdict:
                # What cannot be told for different reasons is not alike.
                alike = check.id if verdict is not Verdict.CANNOT_TELL else f"{check.id} {check.reason}"
                groups.setdefault(alike, []).append(check)
        found = [Alike(tuple(self._witnessed(one) for one in _gravest_first(group))) for group in groups.values()]
        return sorted(found, key=lambda alike: -(alike.first.check.ratio or 0))

    def _witnessed(self, check: Check) -> Witnessed:
        question = _pairs().get(check.id)
        twins: tuple[Check, ...] = ()
        if question and self.assessment:
            same = [one for one in self.assessment.by_id(question[0]) if _same_subject(one.subject, check.subject)]
            twins = (worst,) if (worst := worst_of(same)) else ()
        return Witnessed(
            check, self.key_of(check), twins, question[1] if question and twins else "", self._assumed(check)
        )  # fmt: skip

    def _assumed(self, check: Check) -> tuple[str, ...]:
        reads = self._reads.get((check.id, check.subject), frozenset())
        found = []
        for path in sorted(reads):
            key, _, name = path.partition(".")
            part, reading = self.record.by_key.get(key), self.record.readings.get(key, {}).get(name)
            if part and reading and (words := assumption(part, reading)):
                found.append(words)
        return tuple(found)

    @cached_property
    def _reads(self) -> dict[tuple[str, str], frozenset[str]]:
        if self.assessment is None:
            return {}
        return {(one.check.id, one.check.subject): one.reads for one in self.assessment.judged}


def judge_record(record: Record) -> Verdicts:
    """Put the record to the engine once, for everything that a page shows of it."""
    try:
        assessment = assess_visit(record.visit, record)
    except DeckFaults as faults:
        return Verdicts(record, None, tuple(_contradiction(record, fault) for fault in faults.faults))
    keys = {subject_of(assessment.deck, part): part.id for part in assessment.deck}
    return Verdicts(record, assessment, _keys=keys)


def _contradiction(record: Record, fault: Fault) -> Contradiction:
    """`fasteners[0].position_in` in words, with the key of the part it stands at."""
    head, _, fact_name = fault.path.partition(".")
    plural, _, index = head.partition("[")
    kind = BY_PLURAL.get(plural)
    if kind is None or not index:
        return Contradiction(f"The building rules of the property: {fault.path} must be {fault.accepted}.")
    standing = [part for part in record.of_kind(kind.name) if part.key not in record.loose]
    part = standing[int(index.rstrip("]"))]
    fact = kind.index.get(fact_name)
    what = fact_label(kind.name, fact).lower() if fact else fact_name
    value = in_words(fact, fault.value) if fact else str(fault.value)
    return Contradiction(f"{part.key}, {what}: {value} was recorded, but it must be {fault.accepted}.", part.key)


def _gravest_first(checks: Iterable[Check]) -> list[Check]:
    return sorted(checks, key=lambda check: -(check.ratio or 0))


def _same_subject(one: str, other: str) -> bool:
    return one == other or one.startswith(other + ",") or other.startswith(one + ",")


@cache
def _pairs() -> dict[str, tuple[str, str]]:
    """Check id -> the id of its other witness and why the two may differ; both ways."""
    pairs: dict[str, tuple[str, str]] = {}
    for question in questions():
        if twin := getattr(question, "twin", ""):
            pairs[question.id] = (twin, question.why_apart)
            pairs.setdefault(twin, (question.id, question.why_apart))
    return pairs
