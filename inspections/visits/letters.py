"""What the client is told about a visit: confirmed, moved, called off; with an entry for their calendar."""

from datetime import timedelta
from email.utils import parseaddr

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone
from icalendar import Calendar, Event, vCalAddress

from firm.branding.models import Firm
from firm.mail.models import OutgoingMail
from firm.mail.services import Attachment, send_mail_later
from inspections.visits.clock import clock_words, day_words
from inspections.visits.models import Visit

_SUBJECTS = {
    "confirmed": "Your deck inspection on {day}",
    "moved": "Your deck inspection is now on {day}",
    "called_off": "Your deck inspection on {day} is called off",
}


def tell_client(visit: Visit, what: str) -> OutgoingMail | None:
    """Queue the mail about `what` ("confirmed", "moved", "called_off"), in the caller's transaction.

    None if the client has no mail address: then somebody has to pick up the telephone.
    """
    if not visit.client.email:
        return None
    firm = Firm.current()
    context = {
        "visit": visit,
        "firm": firm,
        "day": day_words(visit.starts_at),
        "clock": clock_words(visit.starts_at),
        "until": clock_words(visit.ends_at),
    }
    return send_mail_later(
        to=visit.client.email,
        subject=_SUBJECTS[what].format(day=day_words(visit.starts_at)),
        text=render_to_string(f"inspections/visits/mail/{what}.txt", context),
        kind=f"visit_{what}",
        dedupe_key=f"visit {visit.pk} {what}, version {visit.calendar_version}",
        attachments=(Attachment("deck-inspection.ics", "text/calendar", calendar_entry(visit, firm)),),
    )


def calendar_entry(visit: Visit, firm: Firm) -> bytes:
    """The visit as an iCalendar file (RFC 5545). The UID stays and SEQUENCE grows, so that an entry is replaced."""
    calendar = Calendar()
    calendar.add("prodid", "-//Soundings//Deck inspections//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    entry = Event()
    entry.add("uid", f"visit-{visit.pk}@{settings.PUBLIC_HOST}")
    entry.add("sequence", visit.calendar_version)
    entry.add("dtstamp", timezone.now())
    entry.add("dtstart", visit.starts_at)
    entry.add("dtend", visit.starts_at + timedelta(minutes=visit.length_minutes))
    entry.add("summary", f"Deck inspection, {firm.name}")
    entry.add("location", visit.property.one_line)
    entry.add("status", "CANCELLED" if visit.state == Visit.State.CALLED_OFF else "CONFIRMED")
    organizer = vCalAddress(f"mailto:{firm.email or parseaddr(settings.DEFAULT_FROM_EMAIL)[1]}")
    organizer.params["CN"] = firm.name
    entry.add("organizer", organizer)
    calendar.add_component(entry)
    return calendar.to_ical()
