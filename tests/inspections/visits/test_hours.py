"""Outside the working hours and on days off nobody is booked, unless the office says why."""

from datetime import date, datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.hours.models import TimeOff, WorkingHours
from inspections.visits.hours import outside_hours
from inspections.visits.models import Visit
from inspections.visits.services import OnDayOff, OutsideHours, book_again, book_visit, move_visit
from tests.make import make_property, make_visit

pytestmark = pytest.mark.django_db
KEEPS_HOURS = True


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

    def call(starts_at, who=inspector, **more):
        return book_visit(client=house.client, property=house, inspector=who, starts_at=starts_at, by=office, **more)

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


@pytest.fixture
def post(signed_in, office, inspector):
    house = make_property()

    def call(day, clock="10:00", **more):
        fields = {
            "client": house.client_id, "property": house.pk, "inspector": inspector.pk, "day": day.isoformat(),
            "time": clock, "length_minutes": 90, "travel_minutes": 20, "purpose": "whole_deck", **more,
        }  # fmt: skip
        return signed_in(office).post(reverse("visit-book"), fields, follow=True)

    return call


@pytest.mark.parametrize(
    ("weekday", "clock", "field", "words"),
    [
        (SATURDAY, "10:00", "time", "does not work on a Saturday"),
        (MONDAY, "07:30", "time", "8:00 AM to 5:00 PM"),
        (MONDAY, "16:00", "time", "8:00 AM to 5:00 PM"),
        (MONDAY, "10:00", "day", "Founders"),
    ],
)
def test_the_reason_stands_beside_its_field_and_the_office_can_go_against_it_with_one(
    weekday, clock, field, words, post, office
):
    day = next_weekday(weekday)
    if field == "day":
        TimeOff.objects.create(first_day=day, last_day=day, because="Founders' Day")
    answer = post(day, clock)
    assert answer.status_code == 422
    assert words in answer.context["form"].errors[field][0]
    assert 'name="despite"' in answer.content.decode()
    assert not Visit.objects.exists()
    page = post(day, clock, despite="The sale closes that week.").content.decode()
    line = AuditEntry.objects.about(Visit.objects.get()).get()
    assert line.after["because"] == "The sale closes that week."
    assert words.replace("Founders", "Founders' Day") in line.after["in_spite_of"]
    assert "The sale closes that week." in page


def test_within_the_hours_nothing_is_asked_and_a_reason_that_was_given_is_not_kept(post):
    page = post(next_weekday(MONDAY), despite="Just in case.")
    assert 'name="despite"' not in page.content.decode()
    assert "because" not in AuditEntry.objects.about(Visit.objects.get()).get().after


def test_a_reason_does_not_let_two_visits_lie_on_each_other(post, inspector):
    make_visit(inspector, starts_at=at(next_weekday(SATURDAY), 10))
    answer = post(next_weekday(SATURDAY), "11:00", despite="The sale closes that week.")
    assert answer.status_code == 422
    assert Visit.objects.count() == 1


def test_a_visit_is_moved_out_of_the_hours_with_a_reason_only(inspector, office):
    visit = make_visit(inspector, starts_at=at(next_weekday(MONDAY), 10))
    with pytest.raises(OutsideHours):
        move_visit(visit, starts_at=at(next_weekday(SATURDAY), 10), by=office)
    move_visit(visit, starts_at=at(next_weekday(SATURDAY), 10), by=office, despite="Asked for by the owner.")
    # What was agreed once is not asked again for the way there.
    assert (
        move_visit(visit, starts_at=at(next_weekday(SATURDAY), 10), travel_minutes=45, by=office).travel_minutes == 45
    )


def test_from_the_calendar_it_is_refused_with_the_way_to_say_why(signed_in, office, inspector):
    visit = make_visit(inspector, starts_at=at(next_weekday(MONDAY), 10))
    fields = {"visit": visit.pk, "day": next_weekday(SATURDAY), "time": "10:00", "length_minutes": 90}
    page = signed_in(office).post(reverse("calendar-shift"), fields, headers={"HX-Request": "true"}).content.decode()
    assert "does not work on a Saturday" in page
    assert "choose Move" in page


def test_a_day_off_counts_by_the_firms_calendar_not_by_utc(book, inspector):
    """Eight in the evening in New York is the next day in UTC."""
    day = next_weekday(MONDAY)
    TimeOff.objects.create(person=inspector, first_day=day, last_day=day, because="leave")
    with pytest.raises(OnDayOff):
        book(at(day, 20))
    assert isinstance(day, date)
    assert book(at(day - timedelta(days=1), 20), despite="Only then is the owner at home.").pk
