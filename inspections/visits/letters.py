"""What the client is told about a visit, in the firm's words; with an entry for their calendar."""

from datetime import UTC
from email.utils import parseaddr
from urllib.parse import quote

from django.conf import settings
from django.utils import timezone
from icalendar import Calendar, Event, vCalAddress

from firm.branding.models import Firm
from firm.letters.services import write
from firm.mail.late import MARK
from firm.mail.models import OutgoingMail
from firm.mail.services import Attachment, send_mail_later
from inspections.visits.clock import clock_words, day_words
from inspections.visits.models import Visit

_IN_AN_ADDRESS = "@!$'*+-._~"  # what need not be quoted in a mailto: address (RFC 6068, 2)
# Nobody comes at that time (any more).
_NOT_THEN = (Visit.State.ASKED_FOR, Visit.State.CALLED_OFF)


def tell_client(visit: Visit, what: str) -> OutgoingMail | None:
    """Queue the mail about `what` (a key of `firm.letters.kinds`), in the caller's transaction.

    None if the client has no mail address: then somebody has to pick up the telephone.
    """
    if not visit.client.email:
        return None
    firm = Firm.current()
    words = write(what, values_of(visit), firm)
    method = "CANCEL" if visit.state in _NOT_THEN else "REQUEST"
    entry = Attachment(
        "deck-inspection.ics", f"text/calendar; method={method}", calendar_entry(visit, firm, method=method)
    )
    return send_mail_later(
        to=visit.client.email,
        subject=words.subject,
        text=words.body,
        kind=f"visit_{what}",
        dedupe_key=f"visit {visit.pk} {what}, version {visit.calendar_version}",
        attachments=(entry,),
        address_of=f"visit_page {visit.pk}" if MARK in words.body else "",
    )


def values_of(visit: Visit) -> dict[str, str]:
    """What the placeholders of a mail about a visit stand for."""
    return {
        "client": visit.client.name,
        "day": day_words(visit.starts_at),
        "clock": clock_words(visit.starts_at),
        "until": clock_words(visit.ends_at),
        "address": visit.property.one_line,
        "inspector": ", ".join(text for text in (visit.inspector.display_name, visit.inspector.phone) if text),
        "page": MARK,
    }


def calendar_entry(visit: Visit, firm: Firm, *, method: str) -> bytes:
    """The visit as an iCalendar file (RFC 5545), sent as RFC 5546 has it: REQUEST sets or replaces, CANCEL takes away.

    The UID stays and SEQUENCE grows, so that the client's program finds the entry again.
    """
    calendar = new_calendar()
    calendar.add("method", method)
    entry = event_of(visit)
    entry.add("summary", one_line(f"Deck inspection, {firm.name}"))
    entry.add("organizer", organizer_of(firm))
    client = vCalAddress(_mailto(visit.client.email))
    client.params["CN"] = _parameter(visit.client.name)
    client.params["RSVP"] = "FALSE"  # the time is confirmed on our page or by telephone
    entry.add("attendee", client)
    calendar.add_component(entry)
    return calendar.to_ical()


def organizer_of(firm: Firm) -> vCalAddress:
    organizer = vCalAddress(_mailto(firm.email or parseaddr(settings.DEFAULT_FROM_EMAIL)[1]))
    organizer.params["CN"] = _parameter(firm.name)
    return organizer


def new_calendar() -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", "-//Soundings//Deck inspections//EN")
    calendar.add("version", "2.0")
    return calendar


def event_of(visit: Visit) -> Event:
    """What every entry about a visit says. Times are in UTC, which no change of the clock can shift."""
    entry = Event()
    entry.add("uid", f"visit-{visit.pk}@{settings.PUBLIC_HOST}")
    entry.add("sequence", visit.calendar_version)
    entry.add("dtstamp", timezone.now())
    entry.add("dtstart", visit.starts_at.astimezone(UTC))
    entry.add("dtend", visit.ends_at.astimezone(UTC))
    entry.add("location", one_line(visit.property.one_line))
    entry.add("status", "CANCELLED" if visit.state in _NOT_THEN else "CONFIRMED")
    return entry


def one_line(text: str) -> str:
    """On one line and without control characters, which no text of a calendar may hold (RFC 5545, 3.3.11)."""
    return " ".join("".join(c for c in text if c.isprintable() or c.isspace()).split())


def _parameter(text: str) -> str:
    """A name as a parameter's value, which has no way to write a quote (RFC 5545, 3.2)."""
    return one_line(text.replace('"', "'"))


def _mailto(address: str) -> str:
    """A mail address as RFC 6068 writes it."""
    return f"mailto:{quote(address, safe=_IN_AN_ADDRESS)}"
