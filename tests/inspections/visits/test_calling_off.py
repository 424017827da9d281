"""Why a visit did not take place, and taking that back."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.mail.models import OutgoingMail
from inspections.visits.next_steps import called_off_words
from inspections.visits.services import InspectorBusy, ReasonMissing, StartsInThePast, WrongState, book_again, call_off
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, property=make_property(make_client(email="ines@example.org")))


@pytest.mark.parametrize(
    ("kind", "typed", "read"),
    [
        ("weather", "", "The weather."),
        ("weather", "Thunderstorms all day.", "The weather: Thunderstorms all day."),
        ("nobody_there", "Rang twice.", "Nobody was there: Rang twice."),
        ("no_way_in", "", "Could not get to the deck."),
        ("other", "Booked by mistake.", "Booked by mistake."),
    ],
)
def test_the_reason_is_a_choice_and_words(visit, office, kind, typed, read):
    call_off(visit, kind=kind, because=typed, by=office)
    visit.refresh_from_db()
    assert called_off_words(visit) == read
    assert AuditEntry.objects.about(visit).get().after["because"]


def test_another_reason_needs_words(visit, office):
    with pytest.raises(ReasonMissing):
        call_off(visit, kind="other", because=" ", by=office)
    with pytest.raises(ValueError, match="moon"):
        call_off(visit, kind="moon", because="x", by=office)


def test_taken_back_the_visit_is_booked_at_its_old_time_and_the_client_is_told(visit, office):
    call_off(visit, kind="weather", by=office)
    again = book_again(visit, by=office)
    assert (again.state, again.starts_at, again.called_off_because) == ("booked", in_days(1, 10), "")
    assert [mail.kind for mail in OutgoingMail.objects.order_by("pk")] == ["visit_called_off", "visit_confirmed"]
    assert again.calendar_version == 2
    assert AuditEntry.objects.about(visit).first().verb == "booked again"


def test_a_time_that_was_given_away_is_not_taken_back(visit, office, inspector):
    call_off(visit, kind="client", by=office)
    make_visit(inspector, starts_at=in_days(1, 11))
    with pytest.raises(InspectorBusy):
        book_again(visit, by=office)
    visit.refresh_from_db()
    assert visit.state == "called_off"


def test_nobody_there_can_be_taken_back_while_the_visit_would_still_run(office, inspector):
    starts_at = timezone.now() - timedelta(minutes=20)
    visit = make_visit(inspector, starts_at=starts_at, state="under_way")
    call_off(visit, kind="nobody_there", by=office)
    assert book_again(visit, by=office).state == "booked"


def test_a_visit_that_is_over_is_not_taken_back(office, inspector):
    visit = make_visit(inspector, starts_at=in_days(-1, 9), state="called_off", called_off_because="Rain.")
    with pytest.raises(StartsInThePast, match="Book another time"):
        book_again(visit, by=office)


def test_only_what_is_called_off_can_be_taken_back(visit, office):
    with pytest.raises(WrongState, match="not called off"):
        book_again(visit, by=office)


def test_taking_back_from_the_page(visit, office, inspector, signed_in):
    call_off(visit, kind="weather", by=office)
    address = reverse("visit-book-again", args=[visit.pk])
    make_visit(inspector, starts_at=in_days(1, 11), property=make_property(street="8 Kiln Yard"))
    page = signed_in(office).post(address, follow=True).content.decode()
    assert "8 Kiln Yard" in page
    visit.inspector.visits.exclude(pk=visit.pk).delete()
    page = signed_in(office).post(address, follow=True).content.decode()
    assert "Booked again, at its old time" in page
