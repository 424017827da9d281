"""How long it takes until a pressing finding is seen repaired, told by the houses that were gone back to."""

from collections import Counter
from typing import Any

from django.db.models import Q, QuerySet

from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.chance import kaplan_meier, median_time
from inspections.trends.choices import BehindForm, TrendForm
from inspections.trends.models import RepairSpell
from inspections.trends.traits import PRESSING

READ_AT_DAYS = (30, 90, 180, 365, 730)


def wants(form: TrendForm) -> list[Want]:
    return [*form.wants(), *(Want(form.subject.attribute, word, form.subject.value) for word in PRESSING)]


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


def repairing(form: TrendForm, bitmaps: Bitmaps) -> dict[str, Any]:
    """The curve until repair, read at a few days, and how many findings it does not know about."""
    base = form.base(bitmaps)
    followed = _among(spells(form).values_list("found__position", "days", "is_repaired"), base)
    events = Counter(days for _, days, is_repaired in followed if is_repaired)
    losses = Counter(days for _, days, is_repaired in followed if not is_repaired)
    curve = kaplan_meier(events, losses)
    pressing = 0
    for word in PRESSING if form.word == "any" else (form.word,):
        pressing |= bitmaps.of(form.subject.attribute, form.subject.value, word)
    pressing &= base
    gone_back = len({position for position, *_ in followed})
    return {
        "visit_count": base.bit_count(),
        "followed": len(followed),
        "repaired": sum(events.values()),
        "pressing_visits": pressing.bit_count(),
        "gone_back": gone_back,
        "not_gone_back": max(0, pressing.bit_count() - gone_back),
        "curve": curve,
        "median_days": median_time(curve),
        "read_at": [(day, *_read(curve, day), form.query(repaired_by=day)) for day in READ_AT_DAYS if curve],
        "repaired_query": form.query(repaired_by=99999),
        "open_query": form.query(still_watched="on"),
    }


def _read(curve: list[Any], day: int) -> tuple[Any, bool]:
    """The point of the curve that holds on this day, and whether anybody was still watched then."""
    passed = [point for point in curve if point.at <= day]
    return (passed[-1] if passed else None), bool(curve) and day <= curve[-1].at


def spell_positions(form: BehindForm, base: int) -> list[int]:
    """The positions of the visits behind a point of the curve: repaired by that day, or not yet when last seen."""
    chosen = spells(form)
    if form.asked.get("still_watched"):
        chosen = chosen.filter(is_repaired=False)
    else:
        chosen = chosen.filter(is_repaired=True, days__lte=form.asked["repaired_by"])
    return [position for (position,) in _among(chosen.values_list("found__position").distinct(), base)]


def _among(rows: Any, base: int) -> list[Any]:
    """The rows whose first value is the position of one of the visits."""
    bits = base.to_bytes((base.bit_length() + 7) // 8, "little")
    return [row for row in rows if row[0] < 8 * len(bits) and bits[row[0] // 8] >> row[0] % 8 & 1]
