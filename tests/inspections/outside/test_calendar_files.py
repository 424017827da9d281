from base64 import b64decode
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from zoneinfo import ZoneInfo

import icalendar
import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from firm.branding.models import Firm
from firm.mail.deliver import compose
from firm.mail.models import OutgoingMail
from inspections.outside.models import CalendarFeed
from inspections.outside.services import make_feed
from inspections.visits.letters import calendar_entry
from inspections.visits.services import book_again, book_visit, call_off, give_time, give_time_up, move_visit
from tests.inspections.outside.calendar_reader import moment, read, text
from tests.make import in_days, make_client, make_inspector, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def booked(inspector, office):
    house = make_property(make_client(email="ines.hallam@example.org"))
    return book_visit(client=house.client, property=house, inspector=inspector, starts_at=in_days(3, 10), by=office,
                      despite="Tested on any day.")  # fmt: skip


def sent():
    for mail in OutgoingMail.objects.order_by("pk"):
        head, (event,) = read(b64decode(mail.attachments[0]["base64"]))
        yield head, event


def test_a_change_replaces_the_entry_and_a_cancellation_takes_it_away(booked, office):
    move_visit(booked, starts_at=in_days(4, 9), by=office, despite="Tested on any day.")
    call_off(booked, because="Rain.", by=office)
    book_again(booked, by=office)
    files = list(sent())
    assert len({event["UID"][0] for _, event in files}) == 1
    assert [int(event["SEQUENCE"][0]) for _, event in files] == [0, 1, 2, 3]
    assert [head["METHOD"][0] for head, _ in files] == ["REQUEST", "REQUEST", "CANCEL", "REQUEST"]
    assert [event["STATUS"][0] for _, event in files] == ["CONFIRMED", "CONFIRMED", "CANCELLED", "CONFIRMED"]
    starts = [moment(event["DTSTART"][0]) for _, event in files]
    assert starts == [in_days(3, 10), *[in_days(4, 9)] * 3]
    assert all(event["ATTENDEE"][0] == "mailto:ines.hallam@example.org" for _, event in files)


def test_the_mail_says_what_the_file_is_for(booked):
    message = message_from_bytes(compose(OutgoingMail.objects.get()).message().as_bytes(), policy=policy.default)
    (part,) = message.iter_attachments()
    assert part.get_content_type() == "text/calendar"
    assert (part["Content-Type"].params["method"], part["Content-Type"].params["charset"]) == ("REQUEST", "utf-8")


@pytest.mark.parametrize(
    "name",
    [
        "Evil\r\nATTENDEE:mailto:all@example.org",
        "A, B; C \\n D",
        'Quote "; CN=x:mailto:no@example.org',
        "Zoë Ångström " * 12,
        "Tab\tbell\x07",
    ],
)
def test_a_name_can_write_no_line_of_its_own(name, booked):
    firm = Firm.current()
    firm.name = booked.client.name = booked.property.street = name
    head, (event,) = read(calendar_entry(booked, firm, method="REQUEST"))
    assert event["ATTENDEE"][0] == "mailto:ines.hallam@example.org"
    assert set(head) == {"PRODID", "VERSION", "METHOD"}
    assert text(event["SUMMARY"][0]).startswith("Deck inspection, ")
    assert set(event) == {"UID", "SEQUENCE", "DTSTAMP", "DTSTART", "DTEND", "LOCATION", "STATUS", "SUMMARY",
                          "ORGANIZER", "ATTENDEE"}  # fmt: skip


@pytest.mark.parametrize(
    ("local", "utc"),
    [
        (datetime(2027, 3, 13, 10), datetime(2027, 3, 13, 15, tzinfo=UTC)),
        (datetime(2027, 3, 14, 10), datetime(2027, 3, 14, 14, tzinfo=UTC)),
        (datetime(2027, 11, 6, 10), datetime(2027, 11, 6, 14, tzinfo=UTC)),
        (datetime(2027, 11, 7, 10), datetime(2027, 11, 7, 15, tzinfo=UTC)),
        (datetime(2027, 11, 7, 0, 30), datetime(2027, 11, 7, 4, 30, tzinfo=UTC)),
    ],
)
def test_the_feed_is_right_on_both_sides_of_a_change_of_the_clock(local, utc, inspector, client):
    """In New York the clock changes on March 14 and November 7, 2027 (IANA time zone database)."""
    starts = local.replace(tzinfo=ZoneInfo("America/New_York"))
    make_visit(inspector, starts_at=starts, length_minutes=150)
    _, (event,) = read(client.get(make_feed(inspector)).content)
    assert (moment(event["DTSTART"][0]), moment(event["DTEND"][0])) == (utc, utc + timedelta(minutes=150))


# --- the private feed ---------------------------------------------------------------------------------------------


def test_the_feed_has_ones_own_visits_and_says_which_are_called_off(inspector, client):
    mine = make_visit(inspector)
    off = make_visit(inspector, state="called_off", called_off_because="Rain.")
    make_visit()
    make_visit(inspector, starts_at=timezone.now() - timedelta(days=90), state="released")
    answer = client.get(make_feed(inspector))
    head, events = read(answer.content)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert head["METHOD"][0] == "PUBLISH"
    assert {event["UID"][0].partition("@")[0]: event["STATUS"][0] for event in events} == {
        f"visit-{mine.pk}": "CONFIRMED",
        f"visit-{off.pk}": "CANCELLED",
    }
    assert CalendarFeed.objects.get().read_at


def test_the_mail_and_the_feed_speak_of_the_same_entry(booked, inspector, client):
    _, (in_feed,) = read(client.get(make_feed(inspector)).content)
    ((_, in_mail),) = sent()
    assert in_feed["UID"] == in_mail["UID"]


def in_calendar_of(person, client):
    """(UID, SEQUENCE, STATUS, beginning) of each entry of the feed, as the outside library reads it."""
    calendar = icalendar.Calendar.from_ical(client.get(make_feed(person)).content)
    return [
        (str(event["UID"]).partition("@")[0], event["SEQUENCE"], str(event["STATUS"]), event.decoded("DTSTART"))
        for event in calendar.walk("VEVENT")
    ]


def test_a_time_that_is_given_up_is_told_as_cancelled_until_the_visit_has_one_again(booked, inspector, office, client):
    uid = f"visit-{booked.pk}"
    assert in_calendar_of(inspector, client) == [(uid, 0, "CONFIRMED", in_days(3, 10))]
    give_time_up(booked, by=office)
    assert in_calendar_of(inspector, client) == [(uid, 1, "CANCELLED", in_days(3, 10))]
    when = {"starts_at": in_days(5, 9), "length_minutes": 60, "travel_minutes": 20, "despite": "Tested on any day."}
    give_time(booked, inspector=inspector, by=office, **when)
    assert in_calendar_of(inspector, client) == [(uid, 2, "CONFIRMED", in_days(5, 9))]


def test_a_time_that_is_given_up_stays_cancelled_when_the_visit_is_called_off_without_a_new_one(
    booked, inspector, office, client
):
    give_time_up(booked, by=office)
    call_off(booked, kind="client", by=office)
    ((_, _, status, starts),) = in_calendar_of(inspector, client)
    assert (status, starts) == ("CANCELLED", in_days(3, 10))


def test_a_visit_that_goes_to_another_inspector_is_cancelled_for_the_first_and_set_for_the_other(
    booked, inspector, office, client
):
    other, uid = make_inspector(), f"visit-{booked.pk}"
    move_visit(booked, starts_at=in_days(4, 9), inspector=other, by=office, despite="Tested on any day.")
    assert in_calendar_of(inspector, client) == [(uid, 1, "CANCELLED", in_days(3, 10))]
    assert in_calendar_of(other, client) == [(uid, 1, "CONFIRMED", in_days(4, 9))]
    move_visit(booked, starts_at=in_days(4, 9), inspector=inspector, by=office, despite="Tested on any day.")
    assert in_calendar_of(inspector, client) == [(uid, 2, "CONFIRMED", in_days(4, 9))]
    assert in_calendar_of(other, client) == [(uid, 2, "CANCELLED", in_days(4, 9))]


def test_a_time_that_was_given_up_long_ago_is_told_no_more(booked, inspector, office, client):
    give_time_up(booked, by=office)
    booked.times_taken_back.update(ends_at=timezone.now() - timedelta(days=61))
    assert in_calendar_of(inspector, client) == []


def test_every_entry_of_the_feed_has_what_a_published_one_must_have(booked, inspector, office, client):
    """RFC 5546, 3.2.1: DTSTAMP, DTSTART, ORGANIZER, SUMMARY and UID must be there, ATTENDEE must not."""
    off = make_visit(inspector)
    give_time_up(off, by=office)
    _, events = read(client.get(make_feed(inspector)).content)
    assert len(events) == 2
    for event in events:
        assert {"DTSTAMP", "DTSTART", "ORGANIZER", "SUMMARY", "UID"} <= set(event)
        assert "ATTENDEE" not in event


def test_the_address_is_not_kept_and_a_new_one_shuts_the_old(inspector, client):
    first = make_feed(inspector)
    second = make_feed(inspector)
    token = second.split("/")[-2]
    assert len(token) >= 43  # 256 bits in base64
    assert token not in CalendarFeed.objects.get().token_hash
    assert [client.get(address).status_code for address in (first, second)] == [404, 200]


def test_a_closed_feed_one_of_somebody_who_left_and_a_wrong_one_get_the_same_answer(inspector, client, signed_in):
    address = make_feed(inspector)
    wrong = client.get(reverse("calendar-feed-read", args=["x" * 43]))
    inspector.is_active = False
    inspector.save()
    left = client.get(address)
    inspector.is_active = True
    inspector.save()
    signed_in(inspector).post(reverse("calendar-feed"), {"close": "1"})
    client.logout()
    closed = client.get(address)
    assert wrong.status_code == left.status_code == closed.status_code == 404
    assert wrong.content == left.content == closed.content


def test_an_address_is_shown_once(inspector, signed_in):
    page = signed_in(inspector)
    shown = page.post(reverse("calendar-feed")).context["address"]
    assert shown.endswith("/inspections.ics")
    assert shown not in page.get(reverse("calendar-feed")).content.decode()


# --- what is written into a name cannot become a line, a header or another entry ------------------------------------

NASTY = [
    "Evil\r\nATTENDEE:mailto:all@example.org\r\nX:",
    "Evil\r\n ATTENDEE:mailto:folded@example.org",
    "End\nEND:VEVENT\nBEGIN:VEVENT\nUID:other",
    "Lone\rMETHOD:CANCEL",
    "Sep\u2028BEGIN:VALARM\u0085ACTION:AUDIO\x0bTRIGGER:-PT1M\x1cX",
    'Quote "; CN="x":mailto:no@example.org',
    "A, B; C: D \\n E \\; ^n ^'",
    "Null\x00bell\x07escape\x1b[31m",
    "Zoë 橋 🏠 " * 20,
]


@pytest.mark.parametrize("nasty", NASTY)
def test_an_outside_library_finds_one_entry_with_nothing_that_a_name_has_written(nasty, booked, inspector, client):
    firm = Firm.current()
    people = {"first_name": nasty.replace("\x00", "")[:150], "last_name": nasty.replace("\x00", "")[:150]}
    type(inspector).objects.filter(pk=inspector.pk).update(**people)
    booked.refresh_from_db()
    firm.name = booked.client.name = booked.client.phone = booked.property.street = booked.property.town = nasty
    for content in (calendar_entry(booked, firm, method="REQUEST"), _feed_of(booked, inspector)):
        assert not {chr(byte) for byte in content if byte < 32} - {"\r", "\n"}
        calendar = icalendar.Calendar.from_ical(content)
        assert [part.name for part in calendar.walk()] == ["VCALENDAR", "VEVENT"]
        (event,) = calendar.walk("VEVENT")
        assert event["UID"] == f"visit-{booked.pk}@{settings.PUBLIC_HOST}"
        assert event.decoded("DTSTART") == booked.starts_at
        assert set(event) <= {"UID", "SEQUENCE", "DTSTAMP", "DTSTART", "DTEND", "LOCATION", "STATUS", "SUMMARY",
                              "ORGANIZER", "ATTENDEE", "DESCRIPTION", "URL"}  # fmt: skip
        assert not event.errors and not calendar.errors
        plain = " ".join("".join(c for c in nasty if c.isprintable() or c.isspace()).split())
        assert plain in str(event["LOCATION"])


def _feed_of(visit, inspector):
    from inspections.outside.feed import _event
    from inspections.visits.letters import new_calendar

    calendar = new_calendar()
    calendar.add_component(_event(visit, Firm.current()))
    return calendar.to_ical()


@pytest.mark.parametrize("nasty", NASTY)
def test_no_name_writes_a_header_of_the_mail(nasty, inspector, office):
    house = make_property(
        make_client(nasty.replace("\x00", "")[:120], email="ines@example.org"), street=nasty.replace("\x00", "")[:160]
    )
    book_visit(client=house.client, property=house, inspector=inspector, starts_at=in_days(3, 10), by=office,
               despite="Tested on any day.")  # fmt: skip
    mail = OutgoingMail.objects.get()
    message = message_from_bytes(compose(mail).message().as_bytes(), policy=policy.default)
    assert message["To"] == "ines@example.org"
    assert {name.lower() for name in message} <= {
        "content-type", "mime-version", "subject", "from", "to", "date", "message-id", "auto-submitted", "reply-to",
        "content-transfer-encoding",
    }  # fmt: skip
    (part,) = message.iter_attachments()
    assert part.get_filename() == "deck-inspection.ics"


def test_an_address_with_odd_signs_stays_one_address(booked):
    booked.client.email = '"x;y:z, \x0bw"@example.org'
    _, (event,) = read(calendar_entry(booked, Firm.current(), method="REQUEST"))
    assert event["ATTENDEE"][0] == "mailto:%22x%3By%3Az%2C%20%0Bw%22@example.org"
