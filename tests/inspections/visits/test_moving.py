"""Moving a visit: the next free times stand there, as they do when one is booked."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.visits.models import Visit
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(inspector):
    house = make_property(make_client("Ines Hallam"), latitude=44, longitude=-69)
    return make_visit(inspector, property=house, starts_at=in_days(2, 10))


@pytest.fixture
def press(signed_in, office, visit):
    def send(target="", **fields):
        headers = {"HX-Request": "true", "HX-Target": target} if target else {}
        return signed_in(office).post(reverse("visit-move", args=[visit.pk]), fields, headers=headers)

    return send


def slots(answer):
    return [slot for offer in answer.context["desk"].offers for slot in offer.slots]


def day(days):
    return (timezone.localdate() + timedelta(days=days)).isoformat()


def test_the_page_offers_the_next_free_times_with_the_way_between(signed_in, office, press, visit, inspector):
    before = make_property(street="9 Ferry Landing", latitude=44.1, longitude=-69)
    make_visit(inspector, property=before, starts_at=in_days(1, 8))
    answer = signed_in(office).get(reverse("visit-move", args=[visit.pk]))
    assert slots(answer)
    assert "from 9 Ferry Landing" in " ".join(slot.way for slot in slots(press(propose="1", day=day(1))))


def test_its_own_time_is_not_in_its_way(press, visit):
    """The visit takes the whole day: it can still be put elsewhere on that day."""
    Visit.objects.filter(pk=visit.pk).update(starts_at=in_days(2, 0, 30), ends_at=in_days(2, 23, 50))
    first = slots(press(propose="1", day=day(2), length_minutes="60"))[0]
    assert timezone.localtime(first.starts_at).date().isoformat() == day(2)


def test_a_free_time_is_taken_into_the_fields_and_nothing_is_stored_yet(press, visit):
    slot = slots(press(propose="1", day=day(4), length_minutes="60"))[0]
    answer = press("when", take=slot.value, length_minutes="60", version="0")
    form = answer.context["form"]
    assert (form["day"].value(), form["length_minutes"].value()) == (day(4), "60")
    assert 'id="day"' in answer.content.decode()
    visit.refresh_from_db()
    assert visit.starts_at == in_days(2, 10)


def test_free_times_from_another_day_on_are_swapped_alone(press):
    page = press("slots", propose="1", day=day(6), length_minutes="90").content.decode()
    assert page.lstrip().startswith('<div class="slots"')
    assert "<form" not in page


def test_what_was_typed_stays_while_one_looks(press):
    answer = press(propose="1", day=day(6), time="14:30", travel_minutes="35", length_minutes="75")
    form = answer.context["form"]
    assert [form[name].value() for name in ("time", "travel_minutes", "length_minutes")] == ["14:30", "35", "75"]
