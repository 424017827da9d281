"""The verdicts of the engine as the walk shows them: the worst first, the two witnesses side by side."""

import re
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from urllib.parse import urlencode

from engine import CAUTION, Assessment
from engine.assessment import subject_of
from engine.checks.registry import questions
from engine.errors import DeckFaults, Fault
from engine.results import Check, Verdict
from engine.vocabulary import BY_PLURAL, Link
from inspections.survey.record import Record, assumption
from inspections.survey.typed import in_words
from inspections.survey.wording import fact_label

__all__ = ["CAUTION", "Contradiction", "Standing", "Verdicts", "judge_record"]


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
    has_finding: bool = False
    is_disputed: bool = False  # one witness says that it fails and the other that it holds

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
    """How one link stands: its worst check, and how many of each verdict.

    `apart` counts what fails by one witness and holds by the other; those are not among the `fails`.
    """

    worst: Check | None
    fails: int = 0
    apart: int = 0
    open: int = 0
    holds: int = 0

    @property
    def word(self) -> str:
        if self.worst is None:
            return "nothing"
        if self.fails:
            return "fails"
        return "open" if self.apart or self.open else "holds"


@dataclass(frozen=True)
class Verdicts:
    """All verdicts on a record, or the contradictions that stand in their way.

    `answered` holds the checks that a finding was recorded for: check id, and the key of the part.
    """

    record: Record
    assessment: Assessment | None
    contradictions: tuple[Contradiction, ...] = ()
    caution: str = CAUTION
    answered: frozenset[tuple[str, str]] = frozenset()
    _keys: dict[str, str] = field(default_factory=dict)

    def standing(self, link: Link | None = None) -> Standing:
        checks = self._checks(link)
        disputed = sum(self._is_disputed(check) for check in checks if check.verdict is Verdict.FAILS)
        counts = {verdict: sum(check.verdict is verdict for check in checks) for verdict in Verdict}
        worst = self.assessment.worst(link) if self.assessment else None
        return Standing(
            worst, counts[Verdict.FAILS] - disputed, disputed, counts[Verdict.CANNOT_TELL], counts[Verdict.HOLDS]
        )

    def failing(self, link: Link) -> list[Alike]:
        """What fails, and no other witness says that it holds."""
        return [alike for alike in self._alike(link, Verdict.FAILS) if not alike.first.is_disputed]

    def apart(self, link: Link) -> list[Alike]:
        """What fails by one witness and holds by the other."""
        return [alike for alike in self._alike(link, Verdict.FAILS) if alike.first.is_disputed]

    def open(self, link: Link) -> list[Alike]:
        return self._alike(link, Verdict.CANNOT_TELL)

    def holding(self, link: Link) -> list[Alike]:
        return self._alike(link, Verdict.HOLDS)

    def part_standings(self) -> dict[str, str]:
        """Part key -> "fails", "cannot tell" or "holds", by its gravest check; for the drawings.

        Where the two witnesses of a failing check differ, it is still to be found out which is right.
        """
        rank = {"holds": 0, "cannot tell": 1, "fails": 2}
        found: dict[str, str] = {}
        for check in self._checks(None):
            word = str(check.verdict)
            if check.verdict is Verdict.FAILS and self._is_disputed(check):
                word = str(Verdict.CANNOT_TELL)
            key = self.key_of(check)
            if key and rank[word] >= rank.get(found.get(key, ""), 0):
                found[key] = word
        return found

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
        groups: dict[object, list[Witnessed]] = {}
        for check in self._checks(link):
            if check.verdict is verdict:
                one = self._witnessed(check)
                # What cannot be told for different reasons is not alike, nor what is disputed and what is not.
                alike = (check.id, one.is_disputed, _reason_alike(check))
                groups.setdefault(alike, []).append(one)
        found = [Alike(tuple(sorted(group, key=_gravest))) for group in groups.values()]
        return _each_witness_once(sorted(found, key=lambda alike: _gravest(alike.first)))

    def _witnessed(self, check: Check) -> Witnessed:
        pair = _pairs().get(check.id)
        twins = self._twins(check)
        key = self.key_of(check)
        why_apart = pair[1] if pair and twins else ""
        return Witnessed(
            check,
            key,
            twins,
            why_apart,
            self._assumed(check),
            (check.id, key) in self.answered,
            self._is_disputed(check),
        )

    def _twins(self, check: Check) -> tuple[Check, ...]:
        """The other witness: for a published rule the gravest of the calculations that answer the same question."""
        pair = _pairs().get(check.id)
        if pair is None:
            return ()
        same = [
            one for twin in pair[0] for one in self._by_id.get(twin, ()) if _same_subject(one.subject, check.subject)
        ]
        return (min(same, key=_graver),) if same else ()

    def _is_disputed(self, check: Check) -> bool:
        return self.assessment is not None and self.assessment.is_disputed(check)

    @cached_property
    def _by_id(self) -> dict[str, list[Check]]:
        found: dict[str, list[Check]] = {}
        for check in self._checks(None):
            found.setdefault(check.id, []).append(check)
        return found

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


def judge_record(record: Record, answered: frozenset[tuple[str, str]] = frozenset()) -> Verdicts:
    """Put the record to the engine once, for everything that a page shows of it."""
    try:
        assessment = record.assess()
    except DeckFaults as faults:
        return Verdicts(record, None, tuple(_contradiction(record, fault) for fault in faults.faults))
    keys = {subject_of(assessment.deck, part): part.id for part in assessment.deck}
    return Verdicts(record, assessment, answered=answered, _keys=keys)


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


def _each_witness_once(found: list[Alike]) -> list[Alike]:
    """Leave out what stands already beside another as its other witness."""
    shown: set[tuple[str, str]] = set()
    kept = []
    for alike in found:
        first = alike.first
        if not alike.others and (first.check.id, first.check.subject) in shown:
            continue
        fresh = tuple(twin for twin in first.twins if (twin.id, twin.subject) not in shown)
        shown.update((twin.id, twin.subject) for twin in fresh)
        shown.add((first.check.id, first.check.subject))
        kept.append(alike if first.is_disputed else Alike((replace(first, twins=fresh), *alike.others)))
    return kept


def _graver(check: Check) -> tuple[int, float]:
    """A sort key: failing before open before holding, then the larger ratio first."""
    rank = {Verdict.FAILS: 0, Verdict.CANNOT_TELL: 1, Verdict.HOLDS: 2}[check.verdict]
    return rank, -(check.ratio or 0.0)


def _gravest(one: Witnessed) -> tuple[int, float]:
    return _graver(one.check)


def _reason_alike(check: Check) -> str:
    """Why it cannot be told, without the name of the part: fifteen fasteners that lack their kind are one question."""
    if check.verdict is not Verdict.CANNOT_TELL:
        return ""
    return re.sub(r"\b[A-Z]{1,2}\d+\b|\d+", "", check.reason)


def _same_subject(one: str, other: str) -> bool:
    return one == other or one.startswith(other + ",") or other.startswith(one + ",")


@cache
def _pairs() -> dict[str, tuple[tuple[str, ...], str]]:
    """Check id -> the ids of its other witness, and why the two may differ; both ways."""
    calculations: dict[str, list[str]] = {}
    pairs: dict[str, tuple[tuple[str, ...], str]] = {}
    for question in questions():
        if question.twin:
            pairs[question.id] = ((question.twin,), question.why_apart)
            calculations.setdefault(question.twin, []).append(question.id)
    for published, ids in calculations.items():
        pairs.setdefault(published, (tuple(ids), pairs[ids[0]][1]))
    return pairs
