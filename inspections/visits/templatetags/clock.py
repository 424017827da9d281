"""Hours and days on pages of staff, who read English. Django's `date` does the same for any language and any form, and
takes ten times as long: on a list of a hundred visits that is most of what the page costs.
"""

from datetime import datetime

from django import template
from django.utils import timezone

from inspections.visits.clock import clock_words

register = template.Library()
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@register.filter
def clock(moment: datetime | None) -> str:
    """`2:05 PM`, by the firm's clock; nothing where there is no time."""
    return clock_words(moment) if moment else ""


@register.filter
def short_day(moment: datetime | None) -> str:
    """`Tue, Mar 9`, by the firm's calendar; nothing where there is no time."""
    if not moment:
        return ""
    local = timezone.localtime(moment)
    return f"{_DAYS[local.weekday()]}, {_MONTHS[local.month - 1]} {local.day}"
