"""Working hours are warned of, days off are refused."""

from datetime import date, datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.hours.models import TimeOff, WorkingHours
from inspections.visits.hours import outside_hours
from inspections.visits.models import Visit
from inspections.visits.services import OnDayOff, book_again, book_visit, move_visit
from tests.make import make_property, make_visit

pytestmark = pytest.mark.django_db


def next_weekday(weekday):
    today = timezone.localdate()
    return today + timedelta(days=(weekday - today.weekday()) % 7 + 7)


def at(day, hour, minute=0):
    return timezone.make_aware(datetime.combine(day, time(hour, minute)))


MONDAY, SATURDAY = 0, 5


@pytest.mark.parametrize(
    ("weekday", "hour", "words"),
    [
        (MONDAY, 8, ""),
        (MONDAY, 15, ""),
        (MONDAY, 7, "outside"),
        (MONDAY, 16, "8:00 AM to 5:00 PM"),
        (SATURDAY, 10, "does not work on a Saturday"),
    ],
)
def test_a_visit_outside_the_usual_hours_is_warned_of(inspector, weekday, hour, words):
    warning = outside_hours(make_visit(inspector, starts_at=at(next_weekday(weekday), hour)))
    assert words in warning
    assert bool(warning) == bool(words)


def test_hours_of_ones_own_go_before_the_usual_ones(inspector):
    WorkingHours.objects.create(person=inspector, weekday=SATURDAY, starts=time(9), ends=time(13))
    assert not outside_hours(make_visit(inspector, starts_at=at(next_weekday(SATURDAY), 10)))
    assert "Monday" in outside_hours(make_visit(inspector, starts_at=at(next_weekday(MONDAY), 10)))


def test_a_visit_past_midnight_is_outside(inspector):
    WorkingHours.objects.create(person=inspector, weekday=MONDAY, starts=time(0), ends=time(23, 59))
    assert outside_hours(make_visit(inspector, starts_at=at(next_weekday(MONDAY), 23, 30)))


@pytest.fixture
def book(inspector, office):
    house = make_property()

    def call(starts_at, who=inspector):
        return book_visit(client=house.client, property=house, inspector=who, starts_at=starts_at, by=office)

    return call


def test_on_a_day_off_the_inspector_is_not_booked_and_the_reason_is_said(book, inspector, make_person):
    day = next_weekday(MONDAY)
    TimeOff.objects.create(person=inspector, first_day=day, last_day=day + timedelta(days=1), because="training")
    with pytest.raises(OnDayOff, match=r"off on Monday.*training.*another inspector"):
        book(at(day, 10))
    with pytest.raises(OnDayOff):
        book(at(day + timedelta(days=1), 10))
    assert book(at(day + timedelta(days=2), 10)).pk
    assert book(at(day, 10), who=make_person("inspector", username="robin")).pk


def test_on_a_holiday_nobody_is_booked_moved_or_booked_again(book, office, inspector):
    day = next_weekday(MONDAY)
    visit = book(at(day + timedelta(days=1), 10))
    off = make_visit(inspector, starts_at=at(day, 14), state="called_off", called_off_because="Rain.")
    TimeOff.objects.create(first_day=day, last_day=day, because="Founders' Day")
    for refused in (
        lambda: book(at(day, 10)),
        lambda: move_visit(visit, starts_at=at(day, 10), by=office),
        lambda: book_again(off, by=office),
    ):
        with pytest.raises(OnDayOff, match=r"Nobody in the firm goes out.*Founders' Day"):
            refused()


def test_the_day_off_is_said_beside_the_day_and_the_hours_on_the_next_page(signed_in, office, inspector):
    house, day = make_property(), next_weekday(SATURDAY)
    fields = {
        "client": house.client_id, "property": house.pk, "inspector": inspector.pk, "day": day.isoformat(),
        "time": "10:00", "length_minutes": 90, "travel_minutes": 20, "purpose": "whole_deck",
    }  # fmt: skip
    off = TimeOff.objects.create(first_day=day, last_day=day, because="Founders' Day")
    answer = signed_in(office).post(reverse("visit-book"), fields)
    assert answer.status_code == 422
    assert "Founders" in answer.context["form"].errors["day"][0]
    off.delete()
    page = signed_in(office).post(reverse("visit-book"), fields, follow=True).content.decode()
    assert "does not work on a Saturday" in page
    assert Visit.objects.count() == 1


def test_a_day_off_counts_by_the_firms_calendar_not_by_utc(book, inspector):
    """Eight in the evening in New York is the next day in UTC."""
    day = next_weekday(MONDAY)
    TimeOff.objects.create(person=inspector, first_day=day, last_day=day, because="leave")
    with pytest.raises(OnDayOff):
        book(at(day, 20))
    assert isinstance(day, date)
    assert book(at(day - timedelta(days=1), 20)).pk
