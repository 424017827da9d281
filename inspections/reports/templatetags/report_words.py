"""Filters for what a frozen record holds: moments as text, the inputs of a step, a reading with its unit."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from inspections.reports.load_path import number_svg
from inspections.survey.templatetags.judgement import quantity

register = template.Library()


@register.filter
def day(moment: str | datetime | date | None) -> str:
    """ "December 9, 2026", in the firm's zone."""
    at = _moment(moment)
    return "" if at is None else f"{at:%B} {at.day}, {at.year}"


@register.filter
def clock(moment: str | datetime | None) -> str:
    """ "2:05 pm", in the firm's zone."""
    at = _moment(moment)
    if not isinstance(at, datetime):
        return ""
    return f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


@register.filter
def figure(value: float | None) -> str:
    """A number with as many digits as a reader can use."""
    if value is None:
        return "no limit"
    if value == int(value) and abs(value) < 1e6:
        return f"{int(value):,}"
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


@register.filter
def put_in(inputs: Mapping[str, float]) -> str:
    """The values of a step: "w = 4.17, l = 120"."""
    return ", ".join(f"{name} = {figure(value)}" for name, value in inputs.items())


@register.filter
def reading(row: Mapping[str, Any]) -> str:
    """What was read, with its unit, as the trade writes it."""
    value, unit = row["value"], row["unit"]
    if value is None:
        return "not reachable"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(quantity(each, unit) for each in value)
    if isinstance(value, (int, float)):
        return quantity(value, unit) if unit else figure(value)
    return str(value)


@register.filter
def fact_words(name: str) -> str:
    """A fact's name without its unit: `joist_span_in` -> "joist span"."""
    for unit in ("_in", "_lb", "_psf", "_percent", "_sqft"):
        name = name.removesuffix(unit)
    return name.replace("_", " ")


@register.simple_tag
def link_number(number: int, state: str) -> SafeString:
    """The circled number of a link, as in the sketch of the load path."""
    return mark_safe(number_svg(number, state))


def _moment(moment: str | datetime | date | None) -> datetime | date | None:
    if isinstance(moment, str) and moment:
        moment = datetime.fromisoformat(moment)
    if isinstance(moment, datetime):
        return timezone.localtime(moment)
    return moment or None
