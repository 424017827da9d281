"""Filters for what a frozen record holds: moments as text, the inputs of a step, a reading with its unit."""

import re
from collections.abc import Mapping
from datetime import date, datetime

from django import template
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import SafeString, mark_safe

from inspections.reports.load_path import number_svg
from inspections.reports.record_words import fact_words, figure, reading
from inspections.spanish import is_spanish

register = template.Library()
for _words in (figure, reading, fact_words):
    register.filter(_words)


@register.filter
def day(moment: str | datetime | date | None) -> str:
    """ "December 9, 2026", or "9 de diciembre de 2026", in the firm's zone."""
    at = _moment(moment)
    if at is None:
        return ""
    return date_format(at, r"j \d\e F \d\e Y").lower() if is_spanish() else f"{at:%B} {at.day}, {at.year}"


@register.filter
def clock(moment: str | datetime | None) -> str:
    """ "2:05 pm", in the firm's zone."""
    at = _moment(moment)
    if not isinstance(at, datetime):
        return ""
    return f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


@register.filter
def unparted(words: str) -> str:
    """The words with each number kept on the line of what it counts: "3 findings", "150 %", "1 1/2 in", "8' 2"."""
    return re.sub(r"(?<=\d) (?=\S)|(?<=\d') (?=\d)", "\N{NO-BREAK SPACE}", words)


@register.filter
def lower_first(words: str) -> str:
    """For the middle of a sentence."""
    return words[:1].lower() + words[1:]


@register.filter
def put_in(inputs: Mapping[str, float]) -> str:
    """The values of a step: "w = 4.17, l = 120"."""
    return ", ".join(f"{name} = {figure(value)}" for name, value in inputs.items())


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
