"""An inspector's visits as a calendar that programs subscribe to (RFC 5545)."""

from datetime import timedelta

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from firm.people.models import User
from inspections.visits.letters import event_of, new_calendar, one_line
from inspections.visits.models import Visit

BACK = timedelta(days=60)


def calendar_of(person: User) -> bytes:
    """Visits of the last sixty days and all to come; a called-off one says so, or a program would keep it."""
    calendar = new_calendar()
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"Inspections, {one_line(person.display_name)}")
    # Programs that ask less often than they may would show an old time.
    calendar.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    for visit in Visit.objects.whole().filter(inspector=person, ends_at__gte=timezone.now() - BACK):
        calendar.add_component(_event(visit))
    return calendar.to_ical()


def _event(visit: Visit):
    event = event_of(visit)
    event.add("summary", one_line(f"{visit.get_purpose_display()}: {visit.property.street}, {visit.property.town}"))
    reached = ", ".join(text for text in (visit.client.name, visit.client.phone) if text)
    page = settings.PUBLIC_URL + reverse("visit-detail", args=[visit.pk])
    event.add("description", f"{one_line(reached)}\n{page}")
    event.add("url", page)
    return event
