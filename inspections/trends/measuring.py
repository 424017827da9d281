"""Measured, not only noted: how demand stands to capacity, and the lengths that were found, as histograms."""

from dataclasses import dataclass
from typing import Any

from django import forms

from engine.vocabulary import Link
from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.choices import CUTS, TrendForm, ordered
from inspections.trends.measured import (
    CANNOT_TELL,
    FAILS,
    HOLDS,
    LENGTH_LIMITS,
    LENGTH_TITLES,
    LENGTHS,
    MOST_PERCENT,
    SHORT,
    STEP_PERCENT,
    TOLD,
    check_titles,
    grade_words,
    title_of,
)

MOST_PANELS = 12


@dataclass(frozen=True)
class Bar:
    label: str
    count: int
    query: str
    is_short: bool  # on the side of the limit that falls short


@dataclass(frozen=True)
class Histogram:
    """Visits by one measure. `limit_at` is the number of bars left of the line, `limit` its words."""

    title: str
    bars: list[Bar]
    limit_at: float | None
    limit: str
    unit: str
    not_told: int = 0
    not_told_query: str = ""
    every_query: str = ""
    short_query: str = ""
    without_number: tuple[Bar, ...] = ()  # answers that a chart of numbers has no place for

    @property
    def count(self) -> int:
        return sum(bar.count for bar in (*self.bars, *self.without_number))

    @property
    def short(self) -> int:
        return sum(bar.count for bar in (*self.bars, *self.without_number) if bar.is_short)


class MeasureForm(TrendForm):
    measure = forms.ChoiceField(label="What was measured", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        by_link: dict[str, list[tuple[str, str]]] = {}
        for check, (link, title) in check_titles().items():
            by_link.setdefault(link.capitalize(), []).append((check, title))
        self.fields["measure"].choices = [
            ("", "Ledger spacing against what is allowed"),
            ("Lengths", list(LENGTH_TITLES.items())),
            *by_link.items(),
        ]

    @property
    def measured(self) -> str:
        return self.asked.get("measure") or "ledger.spacing"


def wants(form: MeasureForm) -> list[Want]:
    link = check_titles().get(form.measured, (form.asked.get("link") or Link.LEDGER.value,))[0]
    of_link = [Want("check", value=check) for check, (where, _) in check_titles().items() if where == link]
    lengths = [Want(name) for name in LENGTHS]
    return [*form.wants(), Want(form.cut_by), *of_link, *lengths]


def measuring(form: MeasureForm, bitmaps: Bitmaps) -> dict[str, Any]:
    """One measure over all visits, the same for each decade (or county ...), and the other checks of its link."""
    base = form.base(bitmaps)
    cut = form.cut_by
    groups = {value: bits & base for value, bits in bitmaps.values(cut).items() if bits & base}
    largest = sorted(groups, key=lambda value: -groups[value].bit_count())[:MOST_PANELS]
    panels = [
        histogram(form, bitmaps, groups[value], form.measured, form.value_words(cut, value), **{cut: value})
        for value in ordered(cut, largest)
    ]
    link = check_titles().get(
        form.measured, (Link.EDGE.value if form.measured == "guard-height" else Link.LEDGER.value,)
    )[0]
    beside = [
        histogram(form, bitmaps, base, check, title)
        for check, (where, title) in check_titles().items()
        if where == link and check != form.measured
    ]
    return {
        "visit_count": base.bit_count(),
        "whole": histogram(form, bitmaps, base, form.measured, title_of(form.measured)),
        "panels": [panel for panel in panels if panel.count],
        "panels_left_out": max(0, len(groups) - MOST_PANELS),
        "cut_words": CUTS[cut].lower(),
        "beside": [one for one in beside if one.count],
        "link": link,
    }


def histogram(form: MeasureForm, bitmaps: Bitmaps, base: int, measure: str, title: str, **narrowed: str) -> Histogram:
    """The visits in each bar; a visit stands in one bar, by the worst of its parts."""

    def address(grade: str) -> str:
        return form.query(check=measure, grade=grade, measure="", **narrowed)

    if measure in LENGTHS:
        return _of_lengths(bitmaps.words(measure), base, measure, title, address)
    counts = {grade: (bits & base).bit_count() for grade, bits in bitmaps.words("check", measure).items()}
    behind = (counts.get(CANNOT_TELL, 0), address(CANNOT_TELL), address(TOLD), address(SHORT))
    yes_or_no = (
        Bar("Holds", counts.get(HOLDS, 0), address(HOLDS), False),
        Bar("Falls short", counts.get(FAILS, 0), address(FAILS), True),
    )
    if any(bar.count for bar in yes_or_no) and not any(count for grade, count in counts.items() if grade.isdigit()):
        return Histogram(title, list(yes_or_no), None, "", "", *behind)
    bars = []
    for percent in range(0, MOST_PERCENT + 1, STEP_PERCENT):
        grade = f"{percent:03d}"
        bars.append(Bar(grade_words(measure, grade), counts.get(grade, 0), address(grade), percent >= 100))
    aside = tuple(bar for bar in yes_or_no if bar.count)
    return Histogram(title, bars, 100 / STEP_PERCENT, "100 %", "%", *behind, without_number=aside)


def _of_lengths(graded: dict[str, int], base: int, measure: str, title: str, address: Any) -> Histogram:
    step = LENGTHS[measure][2]
    counts = {int(grade): (bits & base).bit_count() for grade, bits in graded.items() if bits & base}
    if not counts:
        return Histogram(title, [], None, "", "in")
    first = min(counts)
    last = max(counts)
    limit, words = LENGTH_LIMITS.get(measure, (None, ""))
    if limit is not None:
        first, last = min(first, limit - 2 * step), max(last, limit + step)
    bars = [
        Bar(
            grade_words(measure, f"{start:03d}"),
            counts.get(start, 0),
            address(f"{start:03d}"),
            limit is not None and start < limit,
        )
        for start in range(first, last + 1, step)
    ]
    limit_at = (limit - first) / step if limit is not None else None
    return Histogram(title, bars, limit_at, words, "in", every_query=address(TOLD), short_query=address(SHORT))
