"""The next free times that are proposed while the caller waits."""

from datetime import datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.hours.models import Allowances, TimeOff, WorkingHours
from inspections.visits.models import Visit
from inspections.visits.services import book_visit
from inspections.visits.slots import next_slots, proposed_minutes, read_slot
from inspections.visits.travel import Road
from tests.make import make_property, make_visit

pytestmark = pytest.mark.django_db
KEEPS_HOURS = True
ROAD = Road(mph=30, detour=1.3, gap_minutes=20)
MONDAY = 0


def next_weekday(weekday):
    today = timezone.localdate()
    return today + timedelta(days=(weekday - today.weekday()) % 7 + 7)


def at(day, hour, minute=0):
    return timezone.make_aware(datetime.combine(day, time(hour, minute)))


@pytest.fixture
def monday():
    return next_weekday(MONDAY)


@pytest.fixture
def mill():
    return make_property(street="4 Mill Lane", latitude="44.10000", longitude="-70.20000")


@pytest.fixture
def ten_miles_north():
    # A degree of latitude is 69.1 miles on the sphere of mean radius: 10 miles are 0.14472 degrees.
    return make_property(street="8 Kiln Yard", latitude="44.24472", longitude="-70.20000")


def clocks(offer):
    return [f"{timezone.localtime(slot.starts_at):%a %H:%M}" for slot in offer.slots]


def offered(house, length, monday, **more):
    return next_slots(house, length, from_day=monday, road=ROAD, **more)


def test_a_free_day_offers_its_first_hour_and_the_first_of_the_afternoon(inspector, mill, monday):
    (offer,) = offered(mill, 90, monday, each=3)
    assert clocks(offer) == ["Mon 08:00", "Mon 13:00", "Tue 08:00"]
    assert "first of the day: 20 minutes allowed" in offer.slots[0].way


def test_the_way_from_the_visit_before_is_reckoned_and_rounded_up_to_a_quarter(
    inspector, mill, ten_miles_north, monday
):
    """10 miles straight, 13 by road, at 30 miles an hour: 26 minutes, said as 30."""
    make_visit(inspector, starts_at=at(monday, 8, 30), length_minutes=90, property=mill)
    (offer,) = offered(ten_miles_north, 60, monday, each=2)
    assert clocks(offer) == ["Mon 10:30", "Mon 13:00"]
    assert offer.slots[0].travel_minutes == 30
    assert offer.slots[0].way == "about 30 minutes from 4 Mill Lane, where it ends at 10:00 AM"


def test_there_must_be_time_to_get_to_the_next_visit(inspector, mill, ten_miles_north, monday):
    make_visit(inspector, starts_at=at(monday, 9, 30), property=mill, travel_minutes=5, length_minutes=420)
    assert clocks(offered(ten_miles_north, 60, monday, each=1)[0]) == ["Mon 08:00"]  # 60 minutes and 30 on the way
    assert clocks(offered(ten_miles_north, 75, monday, each=1)[0]) == ["Tue 08:00"]


def test_without_coordinates_the_usual_gap_is_allowed_and_that_is_said(inspector, monday):
    make_visit(inspector, starts_at=at(monday, 8), length_minutes=60)
    (offer,) = offered(make_property(), 60, monday, each=1)
    assert clocks(offer) == ["Mon 09:30"]
    assert offer.slots[0].way == "20 minutes allowed for the way: no coordinates on file"


def test_days_off_holidays_and_free_weekdays_are_passed_over(inspector, mill, monday):
    WorkingHours.objects.create(person=inspector, weekday=MONDAY, starts=time(10), ends=time(12))
    WorkingHours.objects.create(person=inspector, weekday=3, starts=time(10), ends=time(12))
    TimeOff.objects.create(person=inspector, first_day=monday, last_day=monday, because="leave")
    thursday = monday + timedelta(days=10)
    TimeOff.objects.create(first_day=thursday, last_day=thursday, because="Founders' Day")
    (offer,) = offered(mill, 90, monday, each=3)
    days = [timezone.localtime(slot.starts_at).date() - monday for slot in offer.slots]
    assert [day.days for day in days] == [3, 7, 14]


def test_what_is_longer_than_any_day_of_the_hours_is_nowhere_free(inspector, mill, monday):
    assert offered(mill, 600, monday)[0].slots == []


def test_whoever_is_free_first_stands_on_top(inspector, make_person, mill, monday):
    robin = make_person("inspector", username="robin")
    make_visit(inspector, starts_at=at(monday, 8), length_minutes=540)
    assert [offer.inspector for offer in offered(mill, 60, monday)] == [robin, inspector]


def test_today_nothing_is_offered_that_is_over_or_about_to_begin(inspector, mill, monday, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: at(monday, 10, 50))
    assert clocks(offered(mill, 60, monday, each=2)[0]) == ["Mon 11:30", "Mon 13:00"]


@pytest.mark.parametrize("day", ["2027-03-14", "2027-11-07"])
def test_on_the_day_of_the_clock_change_hours_are_those_of_the_wall(day, inspector, mill, monkeypatch):
    sunday = datetime.fromisoformat(day).date()
    monkeypatch.setattr(timezone, "now", lambda: at(sunday - timedelta(days=3), 9))
    WorkingHours.objects.create(person=inspector, weekday=6, starts=time(8), ends=time(17))
    offer = next_slots(mill, 60, from_day=sunday, road=ROAD, each=2)[0]
    assert clocks(offer) == ["Sun 08:00", "Sun 13:00"]


def test_every_slot_that_is_offered_can_be_booked(inspector, office, mill, ten_miles_north, monday):
    for hour, house in ((8, mill), (11, ten_miles_north), (15, mill)):
        make_visit(inspector, starts_at=at(monday, hour), property=house, travel_minutes=15)
    slots = offered(ten_miles_north, 45, monday, each=12)[0].slots
    assert len(slots) == 12
    for slot in slots:
        visit = book_visit(
            client=ten_miles_north.client, property=ten_miles_north, inspector=inspector, starts_at=slot.starts_at,
            length_minutes=slot.length_minutes, travel_minutes=slot.travel_minutes, by=office,
        )  # fmt: skip
        Visit.objects.filter(pk=visit.pk).update(state="called_off", called_off_because="Only a test of the time.")


def test_the_number_of_queries_does_not_grow(make_person, mill, monday, django_assert_num_queries):
    for name in "abc":
        person = make_person("inspector", username=name)
        for hour in (8, 11, 14):
            make_visit(person, starts_at=at(monday, hour))
    with django_assert_num_queries(4):
        offered(mill, 60, monday)


@pytest.mark.parametrize(
    ("purpose", "size", "minutes"),
    [("whole_deck", "", 90), ("whole_deck", "large", 120), ("after_repair", "small", 30), ("nonsense", "", 90)],
)
def test_the_length_is_proposed_from_purpose_and_size(purpose, size, minutes):
    assert proposed_minutes(purpose, size) == minutes


# --- on the page ----------------------------------------------------------------------------------------------------


@pytest.fixture
def post(signed_in, office, mill):
    def call(**more):
        fields = {"client": mill.client_id, "property": mill.pk, "purpose": "whole_deck", **more}
        return signed_in(office).post(reverse("visit-book"), fields)

    return call


def test_one_press_takes_a_slot_and_one_more_books_it(post, inspector, mill, monday):
    page = post(propose="1", day=monday.isoformat(), purpose="after_repair", deck_size="large")
    slot = page.context["desk"].offers[0].slots[1]
    assert slot.length_minutes == 60
    taken = post(take=slot.value, length_minutes="60", proposed_minutes="60", purpose="after_repair")
    filled = {name: str(taken.context["form"][name].value()) for name in read_slot(slot.value)}
    assert filled == read_slot(slot.value)
    assert not Visit.objects.exists()
    assert post(**filled, purpose="after_repair").status_code == 302
    assert Visit.objects.get().starts_at == at(monday, 13)


def test_a_length_that_was_typed_is_kept_when_the_purpose_changes_and_a_proposed_one_is_not(post, inspector):
    kept = post(propose="1", purpose="after_repair", length_minutes="100", proposed_minutes="90")
    assert kept.context["form"]["length_minutes"].value() == "100"
    assert kept.context["desk"].offers[0].slots[0].length_minutes == 100
    proposed = post(propose="1", purpose="after_repair", length_minutes="90", proposed_minutes="90")
    assert proposed.context["form"]["length_minutes"].value() == 45


@pytest.mark.parametrize("take", ["", "1 2 3", "x y z a b", "9 2027-99-99 25:00 -1 1000000", "\x00"])
def test_a_slot_that_cannot_be_read_changes_nothing(take, post, inspector):
    assert post(take=take).status_code == 200


def test_the_usual_gap_of_the_firm_stands_in_the_form(signed_in, office, inspector):
    Allowances.objects.create(pk=1, gap_minutes=35)
    form = signed_in(office).get(reverse("visit-book")).context["form"]
    assert form["travel_minutes"].value() == 35
