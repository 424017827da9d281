"""Twenty people want the same hour at the same moment, by booking, moving, making longer or giving a time; one gets it.

On SQLite and on PostgreSQL.
"""

from itertools import pairwise
from threading import Barrier, Thread

import pytest
from django.db import IntegrityError, connection

from inspections.visits import booking
from inspections.visits.models import Visit
from inspections.visits.services import InspectorBusy, ask_for_visit, book_visit, give_time, move_visit
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


def overlaps():
    """Pairs of visits of one inspector that take each other's time."""
    taken = Visit.objects.filter(state__in=Visit.TAKES_TIME).order_by("inspector", "leaves_at")
    return [
        (one, other)
        for one, other in pairwise(taken)
        if one.inspector_id == other.inspector_id and other.leaves_at < one.ends_at
    ]


def test_of_twenty_visits_that_are_moved_to_one_hour_one_gets_it(inspector, office):
    visits = [make_visit(inspector, starts_at=in_days(20 + number, 10)) for number in range(PEOPLE)]
    answers = all_at_once(
        lambda number: move_visit(visits[number], starts_at=in_days(9, 10), by=office, despite="Test")
    )
    assert kinds(answers) == ["InspectorBusy"] * (PEOPLE - 1) + ["Visit"]
    assert Visit.objects.filter(starts_at=in_days(9, 10)).count() == 1
    assert overlaps() == []


def test_of_two_neighbours_of_whom_each_takes_the_hour_between_one_gets_it(inspector, office):
    """The one is made longer, the other begins earlier, on ten days at once."""
    early = [make_visit(inspector, starts_at=in_days(9 + day, 9)) for day in range(10)]
    late = [make_visit(inspector, starts_at=in_days(9 + day, 13)) for day in range(10)]

    def take(number):
        day = number // 2
        if number % 2:
            return move_visit(early[day], starts_at=early[day].starts_at, length_minutes=180, by=office, despite="Test")
        return move_visit(late[day], starts_at=in_days(9 + day, 11), by=office, despite="Test")

    answers = all_at_once(take)
    assert kinds(answers) == ["InspectorBusy"] * 10 + ["Visit"] * 10
    assert overlaps() == []


def test_of_twenty_who_wait_for_a_time_and_book_anew_for_one_hour_one_gets_it(book, inspector, office):
    house = make_property()
    asked = [ask_for_visit(client=house.client, property=house, by=office) for _ in range(PEOPLE // 2)]

    def take(number):
        if number % 2:
            return book(in_days(9, 10))
        when = {"starts_at": in_days(9, 10), "length_minutes": 90, "travel_minutes": 20}
        return give_time(asked[number // 2], inspector=inspector, by=office, despite="Test", **when)

    answers = all_at_once(take)
    assert kinds(answers) == ["InspectorBusy"] * (PEOPLE - 1) + ["Visit"]
    assert Visit.objects.filter(state="booked").count() == 1


def test_of_twenty_who_move_one_visit_and_saw_it_as_it_was_one_moves_it(inspector, office):
    visit = make_visit(inspector, starts_at=in_days(20, 10))

    def move(number):
        when = in_days(21 + number, 10)
        return move_visit(visit, starts_at=when, seen_version=0, by=office, despite="Test")

    assert kinds(all_at_once(move)) == ["ChangedMeanwhile"] * (PEOPLE - 1) + ["Visit"]
    visit.refresh_from_db()
    assert visit.calendar_version == 1


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
