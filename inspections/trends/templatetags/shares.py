"""Shares, intervals and charts: in words, and as SVG drawn by the server."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django import template
from django.urls import reverse
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from inspections.trends.chance import Estimate, Share, Survival
from inspections.trends.changing import Course
from inspections.trends.measuring import Histogram
from inspections.trends.models import ChangeNotice
from inspections.trends.repairing import Mark
from inspections.trends.watching import in_words

register = template.Library()

INK, TIDE, CEDAR, FAINT, SOFT = "#16242c", "#1b4b5a", "#84381a", "#e4ded1", "#3f4d55"


@register.filter
def share_bar(share: Share) -> SafeString:
    """A bar from 0 to 100 %, the 95 % interval as a line under it. Not read out: the number stands beside it."""
    width, low, high = (round(100 * value, 2) for value in (share.share, share.low, share.high))
    return mark_safe(
        '<svg class="share-bar" viewBox="0 0 100 20" preserveAspectRatio="none" aria-hidden="true">'
        f'<rect x="0" y="1" width="100" height="10" fill="{FAINT}"/>'
        f'<rect x="0" y="1" width="{width}" height="10" fill="{TIDE}"/>'
        f'<path d="M{low} 16H{high}M{low} 13V19M{high} 13V19" stroke="{INK}" stroke-width="1.5" '
        'vector-effect="non-scaling-stroke"/></svg>'
    )


@register.filter
def share_words(share: Share) -> str:
    """`38 %`, whole percent; below one percent but not none reads "under 1 %"."""
    return percent_words(share.share)


@register.filter
def percent_words(share: float) -> str:
    if 0 < share < 0.01:
        return "under 1 %"
    if 0.99 < share < 1:
        return "over 99 %"
    return f"{share * 100:.0f} %"


@register.filter
def interval_words(share: Share | Estimate) -> str:
    """`21 to 59 %`."""
    return f"{share.low * 100:.0f} to {share.high * 100:.0f} %"


@register.filter
def points_words(gap: Estimate) -> str:
    """`+12 (3 to 21)`, in percentage points."""
    return f"{gap.value * 100:+.0f} ({gap.low * 100:+.0f} to {gap.high * 100:+.0f})"


@register.filter
def q_words(q: float) -> str:
    return "under 0.001" if q < 0.001 else f"{q:.3f}"


@register.filter
def month_words(month: str) -> str:
    """`2026-03` as `March 2026`."""
    return date.fromisoformat(f"{month}-01").strftime("%B %Y")


@register.filter
def repaired_words(point: Survival) -> str:
    return percent_words(1 - point.share)


@register.filter
def repaired_interval(point: Survival) -> str:
    return f"{(1 - point.high) * 100:.0f} to {(1 - point.low) * 100:.0f} %"


@register.filter
def notice_words(notice: ChangeNotice) -> str:
    return in_words(notice)


@register.filter
def notice_query(notice: ChangeNotice) -> str:
    return urlencode({"defect": notice.defect, "from_day": notice.quarter_begins, "to_day": notice.quarter_ends})


# --- charts --------------------------------------------------------------------------------------------------------


@register.filter
def histogram_large(chart: Histogram) -> SafeString:
    return _histogram(chart, width=760, height=260, text=15)


@register.filter
def histogram_small(chart: Histogram) -> SafeString:
    return _histogram(chart, width=360, height=170, text=15)


def _histogram(chart: Histogram, *, width: int, height: int, text: int) -> SafeString:
    """Bars from left to right; a bar opens its visits. The line is the limit, and its words stand over it."""
    top, foot, side = text * 1.9, text * 1.8, 4
    most = max(bar.count for bar in chart.bars) or 1
    step = (width - 2 * side) / len(chart.bars)
    parts = []
    for place, bar in enumerate(chart.bars):
        if not bar.count:
            continue
        tall = max(2.0, (height - top - foot) * bar.count / most)
        x, y = side + place * step, height - foot - tall
        colour = CEDAR if bar.is_short else TIDE
        words = f"{bar.label}: {bar.count} visit{'' if bar.count == 1 else 's'}"
        label = ""
        if step > text * 1.6 or bar.count == most:
            label = _text(x + step / 2, y - 4, str(bar.count), size=text * 0.85, anchor="middle")
        parts.append(
            f'<a href="{_behind(bar.query)}" aria-label="{escape(words)}"><title>{escape(words)}</title>'
            f'<rect x="{x + 1:.1f}" y="{y:.1f}" width="{step - 2:.1f}" height="{tall:.1f}" fill="{colour}"/>{label}</a>'
        )
    parts.append(f'<path d="M{side} {height - foot}H{width - side}" stroke="{INK}" stroke-width="1.5"/>')
    parts += _scale(chart, step, side, height - foot, text)
    if chart.limit_at is not None:
        x = side + chart.limit_at * step
        anchor = "end" if x > width * 0.6 else "start"
        shift = -6 if anchor == "end" else 6
        parts.append(
            f'<path d="M{x:.1f} {text * 0.3:.1f}V{height - foot}" stroke="{INK}" stroke-width="2" '
            'stroke-dasharray="6 3"/>'
            + _text(x + shift, text * 1.1, chart.limit, size=text, anchor=anchor, weight="700")
        )
    spoken = f"{chart.title}: {chart.count} visits, {chart.short} fall short. The numbers stand in the table below."
    return _svg("histogram", width, height, spoken, parts)


def _scale(chart: Histogram, step: float, side: float, y: float, text: float) -> list[str]:
    """Numbers under the axis, as many as have room; where the bars are words, the words."""
    parts = []
    if chart.unit == "":
        return [
            _text(side + (place + 0.5) * step, y + text * 1.2, bar.label, size=text, anchor="middle")
            for place, bar in enumerate(chart.bars)
        ]
    every = next(n for n in (1, 2, 5, 10, 20, 50) if n * step >= text * 2.6 or n == 50)
    for place, bar in enumerate(chart.bars):
        if place % every == 0 and place < len(chart.bars) - 2 * text / step:
            number = bar.label.split()[0]
            parts.append(
                _text(
                    side + place * step,
                    y + text * 1.2,
                    number,
                    size=text * 0.9,
                    anchor="start" if place == 0 else "middle",
                )
            )
    parts.append(_text(side + len(chart.bars) * step, y + text * 1.2, chart.unit, size=text * 0.9, anchor="end"))
    return parts


@register.filter
def course_bars(course: Course) -> SafeString:
    """A bar for each quarter, from 0 to the largest share, with its percentage over it and its quarter below."""
    width, height, text = 760, 132, 15
    shares = [share.share for _, share, _ in course.quarters if share]
    most = max(shares, default=0) or 1
    step = width / len(course.quarters)
    floor = height - text * 1.7
    parts = [f'<path d="M0 {floor:.1f}H{width}" stroke="{INK}" stroke-width="1.5"/>']
    for place, (span, share, query) in enumerate(course.quarters):
        x = place * step
        name = f"Q{(span.first.month + 2) // 3} {span.first.year}"
        parts.append(_text(x + step / 2, height - 4, name, size=text * 0.9, anchor="middle"))
        if share is None:
            parts.append(_text(x + step / 2, floor - 5, "no visit", size=text * 0.85, anchor="middle"))
            continue
        tall = (floor - text * 1.6) * share.share / most
        percent = _text(x + step / 2, floor - tall - 5, percent_words(share.share), size=text * 0.9, anchor="middle")
        left, wide = x + step * 0.14, step * 0.72
        bar = f'<rect x="{left:.1f}" y="{floor - tall:.1f}" width="{wide:.1f}" height="{tall:.1f}" fill="{TIDE}"/>'
        if share.count:
            words = f"{name}: {share.count} of {share.of} visits, {percent_words(share.share)}"
            said = f'aria-label="{escape(words)}"><title>{escape(words)}</title>'
            bar = f'<a href="{_behind(query)}" {said}{bar}{percent}</a>'
        else:
            bar = percent
        parts.append(bar)
    return _svg(
        "course-bars", width, height, f"{course.label} by quarter. The numbers stand in the table below.", parts
    )


@register.simple_tag
def repair_curve(curve: Sequence[Survival], marks: Sequence[Mark] = ()) -> SafeString:
    """The share seen repaired, rising in steps, with its 95 % interval as a band. A mark opens its visits."""
    width, height, text, side = 760, 300, 15, 46
    last = max(curve[-1].at, 30)
    floor, top = height - text * 2, 12

    def x(day: float) -> float:
        return side + (width - side - 8) * day / last

    def y(share: float) -> float:
        return floor - (floor - top) * share

    def stairs(pick: Any) -> str:
        path, level = f"M{x(0):.1f} {y(0):.1f}", y(0)
        for point in curve:
            level = y(1 - pick(point))
            path += f"H{x(point.at):.1f}V{level:.1f}"
        return path + f"H{x(last):.1f}"

    upper = stairs(lambda point: point.low)
    back = [f"L{x(last):.1f} {y(1 - curve[-1].high):.1f}"]
    for place in range(len(curve) - 1, -1, -1):
        below = y(1 - curve[place - 1].high) if place else y(0)
        back.append(f"H{x(curve[place].at):.1f}V{below:.1f}")
    parts = [f'<path d="{upper}{"".join(back)}Z" fill="{FAINT}"/>']
    for share in (0, 0.25, 0.5, 0.75, 1):
        parts.append(f'<path d="M{side} {y(share):.1f}H{width - 8}" stroke="{SOFT}" stroke-width="0.6"/>')
        parts.append(_text(side - 6, y(share) + 5, f"{share:.0%}".replace("%", " %"), size=text * 0.85, anchor="end"))
    parts.append(f'<path d="{stairs(lambda point: point.share)}" fill="none" stroke="{TIDE}" stroke-width="3"/>')
    every = next((n for n in (7, 30, 90, 180, 365, 730, 1825) if last / n <= 8), 3650)
    for day in range(0, int(last) + 1, every):
        parts.append(_text(x(day), height - 8, f"{day}", size=text * 0.85, anchor="middle"))
    parts.append(_text(width - 8, floor - 6, "days", size=text * 0.85, anchor="end"))
    for mark in marks:
        words = f"Within {mark.point.at:g} days {repaired_words(mark.point)} seen repaired: {mark.visits} visits"
        at = f'cx="{x(mark.point.at):.1f}" cy="{y(1 - mark.point.share):.1f}"'
        parts.append(
            f'<a href="{_behind(mark.query)}" aria-label="{escape(words)}"><title>{escape(words)}</title>'
            f'<circle {at} r="12" fill="transparent"/><circle class="point" {at} r="5" fill="{TIDE}"/></a>'
        )
    return _svg("repair-curve", width, height, "Share seen repaired by days. Read in the table below.", parts)


def _text(x: float, y: float, words: str, *, size: float, anchor: str, weight: str = "400") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" text-anchor="{anchor}" font-weight="{weight}" '
        f'fill="{INK}">{escape(words)}</text>'
    )


def _svg(css: str, width: float, height: float, spoken: str, parts: Sequence[str]) -> SafeString:
    return mark_safe(
        f'<svg class="{css}" viewBox="0 0 {width} {height}" role="group" aria-label="{escape(spoken)}">'
        f"{''.join(parts)}</svg>"
    )


def _behind(query: str) -> str:
    return escape(f"{reverse('trend-visits')}?{query}")
