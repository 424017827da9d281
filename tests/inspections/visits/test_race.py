"""Twenty people book the same hour at the same moment; one gets it. On SQLite and on PostgreSQL."""

from itertools import pairwise
from threading import Barrier, Thread

import pytest
from django.db import IntegrityError, connection

from inspections.visits import booking
from inspections.visits.models import Visit
from inspections.visits.services import InspectorBusy, book_visit
from tests.make import in_days, make_property, make_visit

pytestmark = pytest.mark.django_db(transaction=True)

PEOPLE = 20


def all_at_once(call, people=PEOPLE):
    start, answers = Barrier(people), []

    def run(number):
        try:
            start.wait(timeout=20)
            answers.append(call(number))
        except Exception as error:  # an outcome, looked at by the test
            answers.append(error)
        finally:
            connection.close()

    threads = [Thread(target=run, args=(number,)) for number in range(people)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return answers


def kinds(answers):
    return sorted(type(answer).__name__ for answer in answers)


@pytest.fixture
def book(inspector, office):
    house = make_property()

    def call(starts_at):
        return book_visit(client=house.client, property=house, inspector=inspector, starts_at=starts_at, by=office)

    return call


def test_of_twenty_who_book_the_same_hour_one_gets_it(book):
    answers = all_at_once(lambda number: book(in_days(9, 10)))
    assert kinds(answers) == ["InspectorBusy"] * (PEOPLE - 1) + ["Visit"]
    assert Visit.objects.count() == 1


def test_of_twenty_who_book_hours_that_overlap_nobody_is_double_booked(book):
    answers = all_at_once(lambda number: book(in_days(9, 8 + number // 4, number % 4 * 15)))
    assert set(kinds(answers)) == {"InspectorBusy", "Visit"}
    taken = list(Visit.objects.order_by("starts_at"))
    for one, next_one in pairwise(taken):
        assert next_one.leaves_at >= one.ends_at


# --- the second bolt: PostgreSQL's own constraint -----------------------------------------------------------------


@pytest.fixture
def _on_postgresql():
    if connection.vendor != "postgresql":
        pytest.fail("these run with SERVICES=1 and DATABASE_URL")


@pytest.mark.services
@pytest.mark.usefixtures("_on_postgresql")
def test_the_database_refuses_two_open_visits_at_once_whoever_writes_them(inspector):
    make_visit(inspector, starts_at=in_days(9, 10))
    with pytest.raises(IntegrityError, match=booking.NO_DOUBLE_BOOKING):
        make_visit(inspector, starts_at=in_days(9, 11))
    with pytest.raises(IntegrityError, match=booking.NO_DOUBLE_BOOKING):
        make_visit(inspector, starts_at=in_days(9, 11, 40), travel_minutes=20)
    assert make_visit(inspector, starts_at=in_days(9, 11, 50), travel_minutes=20).pk
    assert make_visit(inspector, starts_at=in_days(9, 10), state="called_off", called_off_because="Rain.").pk
    assert make_visit(starts_at=in_days(9, 10)).pk, "another inspector"


@pytest.mark.services
@pytest.mark.usefixtures("_on_postgresql")
def test_without_the_look_and_the_lock_the_database_still_lets_one_through(book, monkeypatch):
    looks = []

    def look_only_afterwards(visit):  # the look before the save sees nothing, as if another came in between
        visit.set_times()
        looks.append(visit)
        if looks.count(visit) > 1:
            raise InspectorBusy(visit, "busy")

    monkeypatch.setattr(booking, "refuse_if_busy", look_only_afterwards)
    answers = all_at_once(lambda number: book(in_days(9, 10)))
    assert kinds(answers) == ["InspectorBusy"] * (PEOPLE - 1) + ["Visit"]
