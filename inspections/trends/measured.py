"""The checks of a visit as the trends keep them: of each question the worst answer, and the grade it falls into."""

import math
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from engine.checks.registry import questions
from engine.errors import DeckFaults
from engine.vocabulary import Link
from inspections.reports.models import Report
from inspections.survey.deck import assess_visit
from inspections.trends.models import MeasuredRecord
from inspections.visits.models import Visit

CANNOT_TELL, FAILS, HOLDS = "cannot-tell", "fails", "holds"  # of a check without a ratio
STEP_PERCENT, MOST_PERCENT = 10, 200  # a grade of demand over capacity, and where the last, open one begins
_GRAVITY = {"fails": 2, "cannot tell": 1, "holds": 0}

# Lengths as they were found, beside demand over capacity: attribute -> (check, which of its two numbers, inches a bar).
LENGTHS = {
    "guard-height": ("guard.height", "capacity", 2),
    "ledger-gap": ("ledger.spacing", "demand", 4),
}

LENGTH_TITLES = {"guard-height": "Height of the guard", "ledger-gap": "Widest gap between ledger fasteners"}

# The line drawn across a histogram of lengths. The gap has none: what is allowed depends on the joists, and the
# histogram of its check is drawn against it.
LENGTH_LIMITS = {"guard-height": (36, "36 in, the least of IRC R312.1.2")}
SHORT, TOLD = "short", "told"  # all grades that fall short; all that say something

_WORDS = {CANNOT_TELL: "cannot be told", FAILS: "falls short", HOLDS: "holds", SHORT: "falls short", TOLD: ""}


@cache
def check_titles() -> dict[str, tuple[str, str]]:
    """Check id -> (link, title), in the order of the load path."""
    found = {question.id: (str(question.link), question.title) for question in questions()}
    order = [link.value for link in Link]
    return dict(sorted(found.items(), key=lambda item: (order.index(item[1][0]), item[1][1])))


def title_of(measure: str) -> str:
    return LENGTH_TITLES.get(measure) or check_titles().get(measure, ("", measure))[1]


def is_among(measure: str, grade: str, asked: str) -> bool:
    """Whether a grade is the one that is asked for, or among those that SHORT and TOLD stand for; any, if none is."""
    if asked == TOLD:
        return grade != CANNOT_TELL
    if asked == SHORT:
        limit = LENGTH_LIMITS.get(measure, (0, ""))[0] if measure in LENGTHS else None
        return grade == FAILS or (grade.isdigit() and (int(grade) >= 100 if limit is None else int(grade) < limit))
    return not asked or grade == asked


def grade_words(measure: str, grade: str) -> str:
    """`110 to 120 %`, `34 to 36 in`, `cannot be told`."""
    if not grade.isdigit():
        return {
            CANNOT_TELL: "cannot be told",
            FAILS: "falls short",
            HOLDS: "holds",
            SHORT: "falls short",
            TOLD: "",
        }.get(grade, grade)
    start = int(grade)
    if measure in LENGTHS:
        return f"{start} to {start + LENGTHS[measure][2]} in"
    return f"{start} % and more" if start >= MOST_PERCENT else f"{start} to {start + STEP_PERCENT} %"


def keep_measured(visit: Visit) -> MeasuredRecord | None:
    """Read the checks of a finished visit, from its newest frozen record or, before release, from the engine.

    What was read from the same record before is not read again. None if the record contradicts itself.
    """
    newest = Report.objects.filter(visit=visit).order_by("-version")
    of = newest.values_list("snapshot_sha256", flat=True).first()
    if not of:
        of = visit.handed_in_at.isoformat() if visit.handed_in_at else ""
    kept = MeasuredRecord.objects.filter(visit=visit).first()
    if kept and of and kept.of == of:
        return kept
    if newest.exists():
        checks = newest.values_list("snapshot__assessment__checks", flat=True).first() or []
    else:
        try:
            checks = assess_visit(visit).to_dict()["checks"]
        except DeckFaults:
            MeasuredRecord.objects.filter(visit=visit).delete()
            return None
    record, _ = MeasuredRecord.objects.update_or_create(visit=visit, defaults={"of": of, "checks": worst_of(checks)})
    return record


def worst_of(checks: Iterable[Mapping[str, Any]]) -> dict[str, list[Any]]:
    """Of each check the gravest answer: [verdict, ratio, demand, capacity, unit]. An endless ratio stays None."""
    worst: dict[str, Mapping[str, Any]] = {}
    for check in checks:
        if check["id"] not in worst or _gravity(check) > _gravity(worst[check["id"]]):
            worst[check["id"]] = check
    return {
        name: [check["verdict"], check["ratio"], check["demand"], check["capacity"], check["unit"]]
        for name, check in worst.items()
    }


def _gravity(check: Mapping[str, Any]) -> tuple[int, float]:
    is_endless = check["ratio"] is None and check["verdict"] == "fails" and check["demand"] is not None
    return _GRAVITY[check["verdict"]], math.inf if is_endless else check["ratio"] or 0.0


def grades_of(checks: Mapping[str, list[Any]]) -> Iterable[tuple[str, str, str]]:
    """Each check with the bar of the histogram it stands in, as traits; then the lengths that are shown as such."""
    for name, (verdict, ratio, demand, _, _) in checks.items():
        yield "check", name, grade(verdict, ratio, demand)
    for attribute, (name, which, step_in) in LENGTHS.items():
        answer = checks.get(name)
        length_in = answer[2 if which == "demand" else 3] if answer else None
        if isinstance(length_in, (int, float)):
            yield attribute, "", f"{int(length_in // step_in * step_in):03d}"


def grade(verdict: str, ratio: float | None, demand: float | None) -> str:
    """`110`: demand is 110 to under 120 % of capacity; exactly 100 % holds and is graded with the 90s."""
    if verdict == "cannot tell":
        return CANNOT_TELL
    if ratio is None:
        if verdict == "fails":
            return FAILS if demand is None else f"{MOST_PERCENT:03d}"
        return HOLDS
    percent = ratio * 100
    if verdict == "holds" and percent >= 100:
        percent = 99.0
    return f"{min(MOST_PERCENT, int(percent // STEP_PERCENT * STEP_PERCENT)):03d}"
