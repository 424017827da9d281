"""Whether a visit lies in the working hours of its inspector. Outside them it is booked all the same, and said."""

from datetime import datetime, time

from django.utils import timezone

from firm.hours.services import read_roster
from inspections.visits.clock import clock_words, day_words
from inspections.visits.models import Visit


def outside_hours(visit: Visit) -> str:
    """Words of warning if the visit begins before or ends after the inspector's working hours; else empty."""
    day = timezone.localtime(visit.starts_at).date()
    hours = read_roster([visit.inspector], day, day).hours(visit.inspector, day)
    who = visit.inspector.display_name
    if hours is None:
        return f"{who} does not work on a {day:%A}: make sure that {who} knows."
    if not is_within(visit.starts_at, visit.ends_at, hours):
        first, last = hours
        when = f"{clock_words(datetime.combine(day, first))} to {clock_words(datetime.combine(day, last))}"
        return f"This is outside {who}'s hours on {day_words(day)} ({when}): make sure that {who} knows."
    return ""


def is_within(starts: datetime, ends: datetime, hours: tuple[time, time] | None) -> bool:
    """Whether the time lies in the hours, by the firm's clock."""
    if hours is None:
        return False
    first, last = timezone.localtime(starts), timezone.localtime(ends)
    return first.date() == last.date() and hours[0] <= first.time() and last.time() <= hours[1]
