"""A visit is put elsewhere in the calendar; refused, it stands where it stood."""

from datetime import UTC, datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.hours.models import TimeOff
from firm.mail.models import OutgoingMail
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


@pytest.fixture
def visit(inspector):
    house = make_property(make_client(email="ines@example.org"), street="4 Mill Lane")
    return make_visit(inspector, starts_at=in_days(8, 10), property=house)


@pytest.fixture
def put(signed_in, office, visit):
    def call(starts_at, htmx=True, **more):
        local = timezone.localtime(starts_at)
        fields = {
            "visit": visit.pk, "day": f"{local:%Y-%m-%d}", "time": f"{local:%H:%M}", "length_minutes": 90,
            "inspector": visit.inspector_id, **more,
        }  # fmt: skip
        address = f"{reverse('calendar-shift')}?view=week&day={local:%Y-%m-%d}"
        answer = signed_in(office).post(address, fields, headers=HTMX if htmx else {})
        visit.refresh_from_db()
        return answer

    return call


def test_it_is_moved_and_the_calendar_comes_back_with_words(put, visit):
    answer = put(in_days(9, 14, 15), length_minutes=60)
    assert (answer.status_code, visit.starts_at, visit.length_minutes) == (200, in_days(9, 14, 15), 60)
    page = answer.content.decode()
    assert "4 Mill Lane is now booked for" in page
    assert f'data-focus="visit-{visit.pk}"' in page
    assert [mail.kind for mail in OutgoingMail.objects.all()] == ["visit_moved"]


def test_without_script_it_leads_back_to_the_same_week(put, visit):
    answer = put(in_days(9, 14), htmx=False)
    assert answer.status_code == 302
    assert answer["Location"] == f"{reverse('calendar')}?view=week&day={in_days(9, 14):%Y-%m-%d}"
    assert visit.starts_at == in_days(9, 14)


def test_to_another_inspector(put, visit, make_person):
    robin = make_person("inspector", username="robin")
    put(visit.starts_at, inspector=robin.pk)
    assert visit.inspector == robin


def test_onto_another_visit_it_is_refused_in_words_and_stays(put, visit, inspector):
    make_visit(inspector, starts_at=in_days(9, 14), property=make_property(street="8 Kiln Yard"))
    answer = put(in_days(9, 14, 30))
    assert (answer.status_code, visit.starts_at) == (422, in_days(8, 10))
    page = answer.content.decode()
    assert "Not moved." in page
    assert "8 Kiln Yard" in page
    assert not OutgoingMail.objects.exists()


def test_onto_a_day_off_it_is_refused(put, visit, inspector):
    day = in_days(9, 9).date()
    TimeOff.objects.create(person=inspector, first_day=day, last_day=day, because="training")
    assert "training" in put(in_days(9, 14)).content.decode()
    assert visit.starts_at == in_days(8, 10)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"day": "2020-01-01"}, "This day is over"),
        ({"day": "soon"}, "valid date"),
        ({"time": "25:00"}, "valid time"),
        ({"length_minutes": "5"}, "15"),
        ({"length_minutes": "9000"}, "600"),
        ({"inspector": "999999"}, "valid choice"),
        ({"day": ""}, "required"),
    ],
)
def test_what_cannot_be_is_refused_in_words(put, visit, said, words):
    answer = put(in_days(9, 14), **said)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert visit.starts_at == in_days(8, 10)


def test_no_visit_or_one_that_is_not_there(put, visit):
    assert put(in_days(9, 14), visit="").status_code == 422
    assert put(in_days(9, 14), visit="x").status_code == 422
    assert put(in_days(9, 14), visit=visit.pk + 1000).status_code == 404


def test_once_it_has_begun_it_is_not_moved(put, visit):
    visit.state = "under_way"
    visit.save()
    assert "under way" in put(in_days(9, 14)).content.decode()
    assert visit.starts_at == in_days(8, 10)


# --- the days on which the clock changes --------------------------------------------------------------------------


@pytest.fixture
def _in_2027(monkeypatch):
    now = datetime(2027, 1, 4, 12, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: now)


@pytest.mark.usefixtures("_in_2027")
def test_over_the_night_of_the_change_the_hour_on_the_wall_stays(put, visit):
    visit.starts_at = datetime(2027, 3, 13, 15, tzinfo=UTC)  # Saturday, 10:00 AM, winter time
    visit.save()
    put(visit.starts_at, day="2027-03-14")
    assert visit.starts_at == datetime(2027, 3, 14, 14, tzinfo=UTC)  # Sunday, 10:00 AM, summer time
    put(visit.starts_at, day="2027-11-07", time="10:00")
    assert visit.starts_at == datetime(2027, 11, 7, 15, tzinfo=UTC)


@pytest.mark.usefixtures("_in_2027")
def test_an_hour_that_does_not_exist_is_refused(put, visit):
    was = visit.starts_at
    assert "does not exist" in put(visit.starts_at, day="2027-03-14", time="02:30").content.decode()
    assert visit.starts_at == was


@pytest.mark.usefixtures("_in_2027")
def test_of_an_hour_that_comes_twice_a_longer_visit_keeps_the_one_it_had(put, visit):
    second = datetime(2027, 11, 7, 6, 30, tzinfo=UTC)  # 1:30 AM for the second time
    visit.starts_at = second
    visit.save()
    put(second, length_minutes=120)
    assert (visit.starts_at, visit.length_minutes) == (second, 120)
    assert "comes twice" in put(second, day="2027-11-07", time="01:45").content.decode()
    assert visit.starts_at == datetime(2027, 11, 7, 5, 45, tzinfo=UTC)


def test_what_somebody_else_moved_meanwhile_is_not_moved_again_unseen(put, visit, office):
    seen = visit.calendar_version
    put(in_days(9, 14), version=seen)
    answer = put(in_days(10, 9), version=seen)
    assert (answer.status_code, visit.starts_at) == (422, in_days(9, 14))
    page = answer.content.decode()
    assert "Somebody changed this visit while you looked at it" in page
    assert "2:00 PM to 3:30 PM" in page
    assert put(in_days(10, 9), version=visit.calendar_version).status_code == 200
