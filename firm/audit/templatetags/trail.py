"""Audit lines as people read them: `{% for change in line|changes %}`."""

from datetime import datetime
from typing import Any, NamedTuple

from django import template
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.formats import date_format

from firm.audit.models import AuditEntry

register = template.Library()


class Change(NamedTuple):
    what: str
    was: str | None
    now: str


@register.filter
def changes(line: AuditEntry) -> list[Change]:
    """What the line changed; a new record lists only what was filled in."""
    before, after = line.before or {}, line.after or {}
    return [
        Change(_name(key), _words(before[key]) if key in before else None, _words(value))
        for key, value in after.items()
        if key in before or value not in ("", None, False)
    ]


def _name(key: str) -> str:
    """`live_psf` reads "live (psf)", `is_near_salt_water` "near salt water"."""
    words = key.removeprefix("is_").split("_")
    units = {"psf", "in", "lb", "minutes", "days"}
    if len(words) > 1 and words[-1] in units:
        return f"{' '.join(words[:-1])} ({words[-1]})"
    return " ".join(words).removesuffix(" at") if key.endswith("_at") else " ".join(words)


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value in ("", None):
        return "nothing"
    if isinstance(value, str) and len(value) >= 19 and (moment := _moment(value)):
        return date_format(timezone.localtime(moment), "M j, Y, g:i A")
    text = str(value).replace("_", " ")
    return text if len(text) <= 120 else text[:117] + "..."


def _moment(text: str) -> datetime | None:
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None
    return moment if moment and timezone.is_aware(moment) else None
