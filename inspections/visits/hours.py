"""Whether a visit lies in the working hours of its inspector, and on a day on which he or she goes out."""

from datetime import datetime, time

from django.utils import timezone

from firm.hours.services import Roster, read_roster
from inspections.visits.clock import clock_words, day_words
from inspections.visits.models import Visit
from inspections.visits.refusals import OnDayOff, OutsideHours


def refuse_outside_plan(visit: Visit) -> None:
    """Raise OnDayOff or OutsideHours, in words that name the day off or the hours. Wants `visit.ends_at`."""
    roster = _roster(visit)
    _refuse_on_a_day_off(visit, roster)
    if words := _outside_words(visit, roster):
        raise OutsideHours(f"{words} Choose another time or another inspector.")


def refuse_on_a_day_off(visit: Visit) -> None:
    """Raise OnDayOff, whatever the hours of the week."""
    _refuse_on_a_day_off(visit, _roster(visit))


def against_plan(visit: Visit, roster: Roster) -> str:
    """Words for a visit on a day off or outside the working hours; else empty. For many visits with one roster."""
    try:
        _refuse_on_a_day_off(visit, roster)
    except OnDayOff as refusal:
        return str(refusal)
    return _outside_words(visit, roster)


def outside_hours(visit: Visit) -> str:
    """Words of warning if the visit begins before or ends after the inspector's working hours; else empty."""
    words = _outside_words(visit, _roster(visit))
    return f"{words} Make sure that {visit.inspector.display_name} knows." if words else ""


def is_within(starts: datetime, ends: datetime, hours: tuple[time, time] | None) -> bool:
    """Whether the time lies in the hours, by the firm's clock."""
    if hours is None:
        return False
    first, last = timezone.localtime(starts), timezone.localtime(ends)
    return first.date() == last.date() and hours[0] <= first.time() and last.time() <= hours[1]


def _roster(visit: Visit) -> Roster:
    day = timezone.localtime(visit.starts_at).date()
    return read_roster([visit.inspector], day, day)


def _refuse_on_a_day_off(visit: Visit, roster: Roster) -> None:
    day = timezone.localtime(visit.starts_at).date()
    off = roster.day_off(visit.inspector, day)
    if off is None:
        return
    if off.person_id is None:
        raise OnDayOff(f"Nobody in the firm goes out on {day_words(day)}: {off.because}. Choose another day.")
    who = visit.inspector.display_name
    raise OnDayOff(f"{who} is off on {day_words(day)}: {off.because}. Choose another day or another inspector.")


def _outside_words(visit: Visit, roster: Roster) -> str:
    day = timezone.localtime(visit.starts_at).date()
    hours = roster.hours(visit.inspector, day)
    who = visit.inspector.display_name
    if hours is None:
        return f"{who} does not work on a {day:%A}."
    if not is_within(visit.starts_at, visit.ends_at, hours):
        first, last = (clock_words(datetime.combine(day, clock)) for clock in hours)
        return f"This is outside {who}'s hours on {day_words(day)} ({first} to {last})."
    return ""
