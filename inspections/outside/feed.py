"""An inspector's visits as a calendar that programs subscribe to (RFC 5545)."""

from datetime import timedelta

from django.conf import settings
from django.db.models import Q, QuerySet
from django.urls import reverse
from django.utils import timezone
from icalendar import Event

from firm.branding.models import Firm
from firm.people.models import User
from inspections.visits.letters import event_of, new_calendar, one_line, organizer_of
from inspections.visits.models import TimeTakenBack, Visit

BACK = timedelta(days=60)


def calendar_of(person: User) -> bytes:
    """Visits of the last sixty days and all to come.

    One that is called off, gave up its time or went to another inspector says so, or a program would keep it.
    """
    calendar = new_calendar()
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"Inspections, {one_line(person.display_name)}")
    # Programs that ask less often than they may would show an old time.
    calendar.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    firm, since = Firm.current(), timezone.now() - BACK
    for visit in Visit.objects.whole().filter(inspector=person, ends_at__gte=since):
        calendar.add_component(_event(visit, firm))
    for taken in _taken_back(person).filter(ends_at__gte=since):
        calendar.add_component(_event(_as_it_stood(taken), firm))
    return calendar.to_ical()


def _taken_back(person: User) -> QuerySet[TimeTakenBack]:
    """Those of visits that are not with this person again."""
    elsewhere = Q(visit__inspector__isnull=True) | ~Q(visit__inspector=person)
    rows = TimeTakenBack.objects.filter(elsewhere, inspector=person)
    return rows.select_related("visit__client", "visit__property")


def _as_it_stood(taken: TimeTakenBack) -> Visit:
    """The visit as it was in this calendar, called off as far as this calendar goes. Not to be saved."""
    visit = taken.visit
    visit.starts_at, visit.ends_at = taken.starts_at, taken.ends_at
    visit.state, visit.calendar_version = Visit.State.CALLED_OFF, taken.calendar_version
    return visit


def _event(visit: Visit, firm: Firm) -> Event:
    event = event_of(visit)
    event.add("organizer", organizer_of(firm))
    event.add("summary", one_line(f"{visit.get_purpose_display()}: {visit.property.street}, {visit.property.town}"))
    reached = ", ".join(text for text in (visit.client.name, visit.client.phone) if text)
    page = settings.PUBLIC_URL + reverse("visit-detail", args=[visit.pk])
    event.add("description", f"{one_line(reached)}\n{page}")
    event.add("url", page)
    return event
