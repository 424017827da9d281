"""What changed: each defect's share now and before, and whether it rises or falls along the quarters."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.chance import (
    Estimate,
    Share,
    benjamini_hochberg,
    difference,
    fisher_exact,
    trend_test,
    wilson_share,
)
from inspections.trends.choices import TrendForm
from inspections.visits.clock import firm_today

QUARTERS = 8
FIRST_CHANGES = 10  # shown at once, and all that are beyond chance
MOST_CHARTS = 8  # of defects along the quarters; every other is a line that opens its own chart
BEYOND_CHANCE = 0.05  # of those called changed, at most one in twenty is expected to be chance


@dataclass(frozen=True)
class Period:
    first: date
    last: date


@dataclass(frozen=True)
class Change:
    """One defect in two periods. `q` allows for how many defects are looked at together."""

    label: str
    now: Share
    before: Share
    gap: Estimate
    q: float
    now_query: str
    before_query: str

    @property
    def is_beyond_chance(self) -> bool:
        return self.q < BEYOND_CHANCE


@dataclass(frozen=True)
class Course:
    """One defect along the quarters. z above zero: it rises."""

    label: str
    quarters: list[tuple[Period, Share | None, str]]
    z: float
    q: float
    query: str  # of this page, with this defect alone

    @property
    def is_beyond_chance(self) -> bool:
        return self.q < BEYOND_CHANCE


def wants(form: TrendForm) -> list[Want]:
    return [*form.wants(), Want("defect", form.word)]


def changing(form: TrendForm, bitmaps: Bitmaps) -> dict[str, Any]:
    """Two periods side by side, and the quarters up to the end of the later one."""
    now, before = periods(form)
    cut = form.base_without_period(bitmaps)
    here, there = bitmaps.period(now.first, now.last) & cut, bitmaps.period(before.first, before.last) & cut
    context: dict[str, Any] = {
        "now": now,
        "before": before,
        "now_count": here.bit_count(),
        "before_count": there.bit_count(),
        "now_query": form.query(from_day=now.first, to_day=now.last, every="on"),
        "before_query": form.query(from_day=before.first, to_day=before.last, every="on"),
    }
    chosen = _chosen(form, bitmaps)
    if here and there:
        rows = changes(form, chosen, (now, here), (before, there))
        shown = max(FIRST_CHANGES, sum(row.is_beyond_chance for row in rows))
        context |= {"changes": rows, "first_changes": rows[:shown], "further_changes": rows[shown:]}
    spans = quarters_until(now.last)
    bases = [bitmaps.period(span.first, span.last) & cut for span in spans]
    context["spans"] = spans
    rows = courses(form, chosen, list(zip(spans, bases, strict=True)))
    drawn = max(MOST_CHARTS if len(rows) == 1 else 0, min(MOST_CHARTS, sum(row.is_beyond_chance for row in rows)))
    context |= {"courses": rows, "drawn_courses": rows[:drawn], "other_courses": rows[drawn:]}
    return context


def _chosen(form: TrendForm, bitmaps: Bitmaps) -> dict[str, int]:
    link, slug = form.asked.get("link"), form.asked.get("defect")
    return {
        one: bits
        for one, bits in bitmaps.values("defect", form.word).items()
        if (not link or form.link_of.get(one) == link) and (not slug or one == slug)
    }


def periods(form: TrendForm) -> tuple[Period, Period]:
    """The period that was chosen, else the last 365 days; and as many days just before it."""
    last = form.asked.get("to_day") or firm_today()
    first = form.asked.get("from_day") or last - timedelta(days=364)
    days = (last - first).days + 1
    return Period(first, last), Period(first - timedelta(days=days), first - timedelta(days=1))


def changes(
    form: TrendForm, chosen: dict[str, int], now: tuple[Period, int], before: tuple[Period, int]
) -> list[Change]:
    """Every defect that was noticed in either period, the surest change first."""
    found = []
    for slug, bits in chosen.items():
        count, of = (bits & now[1]).bit_count(), now[1].bit_count()
        count_before, of_before = (bits & before[1]).bit_count(), before[1].bit_count()
        if count + count_before:
            p = fisher_exact(count, of - count, count_before, of_before - count_before)
            found.append((slug, wilson_share(count, of), wilson_share(count_before, of_before), p))
    qs = benjamini_hochberg([p for *_, p in found])
    rows = [
        Change(
            form.titles.get(slug, slug),
            share,
            share_before,
            difference(share.count, share.of, share_before.count, share_before.of),
            q,
            _of_period(form, now[0], slug),
            _of_period(form, before[0], slug),
        )
        for (slug, share, share_before, _), q in zip(found, qs, strict=True)
    ]
    return sorted(rows, key=lambda row: (row.q, -abs(row.gap.value), row.label))


def courses(form: TrendForm, chosen: dict[str, int], quarters: list[tuple[Period, int]]) -> list[Course]:
    """Every defect along the quarters, the surest trend first. Quarters without a visit are gaps."""
    found = []
    for slug, bits in chosen.items():
        counts = [(bits & base).bit_count() for _, base in quarters]
        ofs = [base.bit_count() for _, base in quarters]
        if sum(counts):
            found.append((slug, counts, ofs, *trend_test(counts, ofs)))
    qs = benjamini_hochberg([p for *_, p in found])
    rows = [
        Course(
            form.titles.get(slug, slug),
            [
                (span, wilson_share(count, of), _of_period(form, span, slug))
                for (span, _), count, of in zip(quarters, counts, ofs, strict=True)
            ],
            z,
            q,
            form.query(defect=slug, link="", own=""),
        )
        for (slug, counts, ofs, z, _), q in zip(found, qs, strict=True)
    ]
    return sorted(rows, key=lambda row: (row.q, row.label))


def quarters_until(last: date, how_many: int = QUARTERS) -> list[Period]:
    """The last whole quarters of the calendar that ended on this day or before, oldest first."""
    following = (last + timedelta(days=1)).replace(day=1)
    begins = following.replace(month=(following.month - 1) // 3 * 3 + 1)
    found = []
    for _ in range(how_many):
        ends = begins - timedelta(days=1)
        begins = ends.replace(month=(ends.month - 1) // 3 * 3 + 1, day=1)
        found.append(Period(begins, ends))
    return found[::-1]


def _of_period(form: TrendForm, period: Period, slug: str) -> str:
    return form.query(from_day=period.first, to_day=period.last, defect=slug, link="", own="")
