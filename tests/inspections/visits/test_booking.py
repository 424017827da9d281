from datetime import timedelta
from threading import Barrier, Thread

import pytest
from django.db import connection
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.mail.models import OutgoingMail
from inspections.visits.models import Visit
from inspections.visits.services import (
    InspectorBusy,
    NotAnInspector,
    ReasonMissing,
    StartsInThePast,
    WrongState,
    book_visit,
    call_off,
    move_visit,
)
from tests.make import in_days, make_client, make_property, make_visit


@pytest.fixture
def house(db):
    return make_property(make_client(email="ines.hallam@example.org"), street="4 Mill Lane")


@pytest.fixture
def book(house, inspector, office):
    def call(starts_at, **more):
        told = {"client": house.client, "property": house, "inspector": inspector, "by": office, **more}
        return book_visit(starts_at=starts_at, length_minutes=told.pop("length_minutes", 90), **told)

    return call


def test_a_booked_visit_takes_its_time_and_leaves_an_audit_line(book, office):
    visit = book(in_days(2, 10))
    assert (visit.state, visit.ends_at) == ("booked", in_days(2, 11, 30))
    line = AuditEntry.objects.about(visit).get()
    assert (line.verb, line.by) == ("booked", office)


def test_a_visit_in_the_past_is_refused(book):
    with pytest.raises(StartsInThePast, match="is over"):
        book(timezone.now() - timedelta(minutes=1))
    assert not Visit.objects.exists()


def test_two_visits_at_once_are_refused_with_the_other_ones_time_and_address(book):
    first = book(in_days(2, 10))
    with pytest.raises(InspectorBusy, match=r"4 Mill Lane.*10:00 AM to 11:30 AM") as refusal:
        book(in_days(2, 11))
    assert refusal.value.other_visit == first


def test_the_way_there_counts_as_busy(book):
    book(in_days(2, 10))
    with pytest.raises(InspectorBusy, match=r"20 minutes of travel.*start at 11:50 AM at the earliest"):
        book(in_days(2, 11, 40), travel_minutes=20)
    assert book(in_days(2, 11, 50), travel_minutes=20).pk


def test_the_way_to_the_next_visit_counts_as_busy(book):
    book(in_days(2, 10), travel_minutes=45)
    with pytest.raises(InspectorBusy, match=r"sets out for it at 9:15 AM \(45 minutes of travel\).*end at 9:30 AM"):
        book(in_days(2, 8))
    assert book(in_days(2, 8), length_minutes=75).pk


def test_a_long_visit_that_began_hours_ago_is_still_seen(book):
    book(in_days(2, 7), length_minutes=600)
    with pytest.raises(InspectorBusy):
        book(in_days(2, 16, 30), travel_minutes=0, length_minutes=15)


def test_a_visit_that_was_called_off_takes_no_time(book, office):
    call_off(book(in_days(2, 10)), because="The client is ill.", by=office)
    assert book(in_days(2, 10)).pk


def test_another_inspector_is_free_at_that_time(book, make_person):
    book(in_days(2, 10))
    assert book(in_days(2, 10), inspector=make_person("inspector", username="robin")).pk


def test_somebody_who_does_not_inspect_cannot_be_booked(book, office, make_person):
    with pytest.raises(NotAnInspector):
        book(in_days(2, 10), inspector=office)
    with pytest.raises(NotAnInspector):
        book(in_days(2, 10), inspector=make_person("inspector", username="gone", is_active=False))


def test_moving_takes_the_new_time_and_frees_the_old_one(book, office):
    visit = move_visit(book(in_days(2, 10)), starts_at=in_days(3, 14), by=office)
    assert (visit.starts_at, visit.ends_at) == (in_days(3, 14), in_days(3, 15, 30))
    line = AuditEntry.objects.about(visit).first()
    assert line.verb == "moved"
    assert set(line.after) == {"starts_at"}
    assert book(in_days(2, 10)).pk


def test_moving_a_little_does_not_collide_with_itself(book, office):
    assert move_visit(book(in_days(2, 10)), starts_at=in_days(2, 10, 30), by=office).pk


def test_moving_onto_another_visit_is_refused_and_changes_nothing(book, office):
    book(in_days(2, 10))
    visit = book(in_days(2, 14))
    with pytest.raises(InspectorBusy):
        move_visit(visit, starts_at=in_days(2, 11), by=office)
    visit.refresh_from_db()
    assert (visit.starts_at, visit.calendar_version) == (in_days(2, 14), 0)


def test_a_visit_that_has_begun_cannot_be_moved(inspector, office):
    visit = make_visit(inspector, state="under_way")
    with pytest.raises(WrongState, match="under way"):
        move_visit(visit, starts_at=in_days(5, 9), by=office)


def test_calling_off_needs_a_reason_and_keeps_it(book, office):
    visit = book(in_days(2, 10))
    with pytest.raises(ReasonMissing):
        call_off(visit, because="  \n", by=office)
    call_off(visit, because=" The house was sold. ", by=office)
    visit.refresh_from_db()
    assert (visit.state, visit.called_off_because) == ("called_off", "The house was sold.")


@pytest.mark.parametrize("state", ["handed_in", "sent_back", "released"])
def test_what_is_written_up_is_not_called_off(state, inspector, office):
    with pytest.raises(WrongState):
        call_off(make_visit(inspector, state=state), because="Too late.", by=office)


def test_a_visit_with_something_recorded_is_not_called_off(inspector, office):
    visit = make_visit(inspector, state="under_way")
    visit.parts.create(kind="beam", key="B1")
    with pytest.raises(WrongState, match="recorded"):
        call_off(visit, because="Mistake.", by=office)


# --- what the client is told --------------------------------------------------------------------------------------


def test_the_client_is_told_of_booking_move_and_call_off_with_one_calendar_entry(book, office):
    from base64 import b64decode

    from icalendar import Calendar

    visit = book(in_days(2, 10))
    move_visit(visit, starts_at=in_days(3, 9), by=office)
    call_off(visit, because="Rain.", by=office)
    mails = list(OutgoingMail.objects.order_by("pk"))
    assert [mail.kind for mail in mails] == ["visit_confirmed", "visit_moved", "visit_called_off"]
    assert {mail.to for mail in mails} == {"ines.hallam@example.org"}
    entries = [Calendar.from_ical(b64decode(mail.attachments[0]["base64"])).walk("VEVENT")[0] for mail in mails]
    assert len({str(entry["uid"]) for entry in entries}) == 1
    assert [int(entry["sequence"]) for entry in entries] == [0, 1, 2]
    assert [entry["dtstart"].dt for entry in entries] == [in_days(2, 10), in_days(3, 9), in_days(3, 9)]
    assert [str(entry["status"]) for entry in entries] == ["CONFIRMED", "CONFIRMED", "CANCELLED"]
    assert "Rain" not in mails[2].text, "the reason is written for the firm"


def test_the_mail_says_when_by_the_firms_clock_where_and_who(book, inspector):
    inspector.first_name, inspector.last_name, inspector.phone = "Wren", "O'Dell", "207 555 0142"
    inspector.save()
    book(in_days(2, 14))
    text = OutgoingMail.objects.get().text
    assert "2:00 PM to about 3:30 PM" in text
    assert "4 Mill Lane, Harrow Point" in text
    assert "Wren O'Dell, 207 555 0142" in text


def test_without_a_mail_address_nothing_is_sent(book):
    nobody = make_property(make_client(email=""))
    book(in_days(2, 10), client=nobody.client, property=nobody)
    assert not OutgoingMail.objects.exists()


def test_a_longer_way_for_the_inspector_is_not_told_to_the_client(book, office):
    visit = book(in_days(2, 10))
    move_visit(visit, starts_at=visit.starts_at, travel_minutes=40, by=office)
    assert [mail.kind for mail in OutgoingMail.objects.all()] == ["visit_confirmed"]


def test_a_refused_booking_sends_nothing(book):
    book(in_days(2, 10))
    with pytest.raises(InspectorBusy):
        book(in_days(2, 10))
    assert OutgoingMail.objects.count() == 1


# --- two at the same moment ---------------------------------------------------------------------------------------


def in_threads(*calls):
    """Run the calls at the same moment, each on a connection of its own; what each returned or raised."""
    start, answers = Barrier(len(calls)), [None] * len(calls)

    def run(index, call):
        try:
            start.wait(timeout=10)
            answers[index] = call()
        except Exception as error:  # an outcome, looked at by the test
            answers[index] = error
        finally:
            connection.close()

    threads = [Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    return answers


@pytest.mark.django_db(transaction=True)
def test_two_people_booking_the_same_hour_do_not_both_succeed(book):
    for hour in (8, 11, 14):
        answers = in_threads(*[lambda hour=hour: book(in_days(2, hour))] * 4)
        assert sorted(type(answer).__name__ for answer in answers) == ["InspectorBusy"] * 3 + ["Visit"]
    assert Visit.objects.count() == 3


@pytest.mark.django_db(transaction=True)
def test_a_move_and_a_booking_for_the_same_hour_do_not_both_succeed(book, office):
    visit = book(in_days(2, 8))
    answers = in_threads(
        lambda: move_visit(visit, starts_at=in_days(4, 10), by=office), lambda: book(in_days(4, 10, 30))
    )
    assert sorted(type(answer).__name__ for answer in answers) == ["InspectorBusy", "Visit"]
