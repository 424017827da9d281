"""How long it takes until a pressing finding is seen repaired, told by the houses that were gone back to."""

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass
from functools import reduce
from operator import itemgetter, or_
from typing import Any

from django.db.models import Q, QuerySet

from inspections.trends.bitmaps import Bitmaps, Want, positions_bitmap
from inspections.trends.chance import Survival, kaplan_meier, median_time
from inspections.trends.choices import MOST_DAYS, BehindForm, TrendForm
from inspections.trends.models import RepairSpell
from inspections.trends.traits import ANY, PRESSING

READ_AT_DAYS = (30, 90, 180, 365, 730)
MOST_MARKS = 30  # points of the curve that can be opened, 44 px apart on a wide screen at the most


def wants(form: TrendForm) -> list[Want]:
    return [*form.wants(), *pressing_wants(form)]


def pressing_wants(form: TrendForm) -> list[Want]:
    return [Want(form.subject.attribute, word, form.subject.value) for word in PRESSING]


def spells(form: TrendForm) -> QuerySet[RepairSpell]:
    """The findings that are followed, before the visits are narrowed."""
    asked, chosen = form.asked, Q()
    if asked.get("action"):
        chosen &= Q(action=asked["action"])
    if asked.get("defect"):
        chosen &= Q(defect=asked["defect"])
    if asked.get("own"):
        chosen &= Q(defect="", link=asked["own"])
    if asked.get("link"):
        chosen &= Q(link=asked["link"])
    return RepairSpell.objects.filter(chosen)


def pressing_visits(form: TrendForm, bitmaps: Bitmaps) -> int:
    """The visits with a pressing finding of what was chosen, followed or not."""
    words = PRESSING if form.word == ANY else (form.word,)
    return reduce(or_, (bitmaps.of(form.subject.attribute, form.subject.value, word) for word in words), 0)


def repairing(form: TrendForm, bitmaps: Bitmaps) -> dict[str, Any]:
    """The curve until repair, read at a few days, and how many findings it does not know about."""
    base = form.base(bitmaps)
    followed = _among(spells(form).values_list("found__position", "days", "is_repaired"), base)
    events = Counter(days for _, days, is_repaired in followed if is_repaired)
    losses = Counter(days for _, days, is_repaired in followed if not is_repaired)
    curve = kaplan_meier(events, losses)
    gone_back = {position for position, *_ in followed}
    visits_by = _visits_by_day(followed)
    median = median_time(curve)
    return {
        "visit_count": base.bit_count(),
        "followed": len(followed),
        "repaired": sum(events.values()),
        "gone_back": len(gone_back),
        "not_gone_back": (pressing_visits(form, bitmaps) & base & ~positions_bitmap(gone_back)).bit_count(),
        "repaired_visits": visits_by[-1][1] if visits_by else 0,
        "open_visits": len({position for position, _, is_repaired in followed if not is_repaired}),
        "curve": curve,
        "marks": [
            Mark(point, _visits_until(visits_by, point.at), form.query(repaired_by=int(point.at)))
            for point in _spread(curve, MOST_MARKS)
        ],
        "median_days": median,
        "median_query": form.query(repaired_by=None if median is None else int(median)),
        "read_at": [
            (day, *_read(curve, day), _visits_until(visits_by, day), form.query(repaired_by=day))
            for day in READ_AT_DAYS
            if curve
        ],
        "repaired_query": form.query(repaired_by=MOST_DAYS),
        "open_query": form.query(still_watched="on"),
        "gone_back_query": form.query(gone_back="yes"),
        "not_gone_back_query": form.query(gone_back="no"),
    }


@dataclass(frozen=True)
class Mark:
    """A point of the curve, and the visits with a finding that was seen repaired by then."""

    point: Survival
    visits: int
    query: str


def _visits_by_day(followed: list[Any]) -> list[tuple[int, int]]:
    """Day after day on which something was seen repaired, how many visits have a finding repaired by then."""
    seen: set[int] = set()
    by_day: dict[int, int] = {}
    for position, days, _ in sorted((row for row in followed if row[2]), key=itemgetter(1)):
        seen.add(position)
        by_day[days] = len(seen)
    return list(by_day.items())


def _visits_until(visits_by: list[tuple[int, int]], day: float) -> int:
    place = bisect_right(visits_by, day, key=itemgetter(0))
    return visits_by[place - 1][1] if place else 0


def _spread(curve: list[Survival], most: int) -> list[Survival]:
    """Points along the curve, far enough apart in time to be hit by a finger; the last is always one."""
    found: list[Survival] = []
    for point in reversed(curve):
        if not found or found[-1].at - point.at >= curve[-1].at / most:
            found.append(point)
    return found[::-1]


def _read(curve: list[Any], day: int) -> tuple[Any, bool]:
    """The point of the curve that holds on this day, and whether anybody was still watched then."""
    passed = [point for point in curve if point.at <= day]
    return (passed[-1] if passed else None), bool(curve) and day <= curve[-1].at


def spells_behind(form: BehindForm, bitmaps: Bitmaps, base: int) -> int | None:
    """The visits behind a point of the curve or a number beside it; None if the address asks for neither."""
    asked, chosen = form.asked, spells(form)
    if asked.get("still_watched"):
        chosen = chosen.filter(is_repaired=False)
    elif asked.get("repaired_by") is not None:
        chosen = chosen.filter(is_repaired=True, days__lte=asked["repaired_by"])
    elif not asked.get("gone_back"):
        return None
    rows = _among(chosen.values_list("found__position").distinct(), base)
    found = positions_bitmap(position for (position,) in rows)
    return pressing_visits(form, bitmaps) & base & ~found if asked.get("gone_back") == "no" else found


def _among(rows: Any, base: int) -> list[Any]:
    """The rows whose first value is the position of one of the visits."""
    bits = base.to_bytes((base.bit_length() + 7) // 8, "little")
    return [row for row in rows if row[0] < 8 * len(bits) and bits[row[0] // 8] >> row[0] % 8 & 1]
