"""The firm's clock, in a zone that changes between standard and daylight-saving time (dates: U.S. Code 15, 260a)."""

from datetime import UTC, date, datetime, time

import pytest

from inspections.visits.clock import clock_words, firm_day, firm_moment
from inspections.visits.services import NoSuchTime


@pytest.fixture(autouse=True)
def _eastern(settings):
    settings.TIME_ZONE = "America/New_York"


def test_a_summer_and_a_winter_morning():
    assert firm_moment(date(2027, 7, 1), time(9)).at == datetime(2027, 7, 1, 13, tzinfo=UTC)
    assert firm_moment(date(2027, 1, 5), time(9)).at == datetime(2027, 1, 5, 14, tzinfo=UTC)


def test_the_hour_that_is_skipped_in_spring_is_refused_in_words():
    with pytest.raises(NoSuchTime, match=r"2:30 AM does not exist on Sunday, March 14, 2027"):
        firm_moment(date(2027, 3, 14), time(2, 30))
    assert firm_moment(date(2027, 3, 14), time(3)).at == datetime(2027, 3, 14, 7, tzinfo=UTC)


def test_the_hour_that_comes_twice_in_autumn_takes_the_first_and_says_so():
    moment = firm_moment(date(2027, 11, 7), time(1, 30))
    assert moment.at == datetime(2027, 11, 7, 5, 30, tzinfo=UTC)
    assert "comes twice" in moment.note
    assert firm_moment(date(2027, 11, 7), time(2)).note == ""


def test_a_day_of_the_change_has_its_own_length():
    lengths = [(b - a).total_seconds() / 3600 for a, b in map(firm_day, (date(2027, 3, 14), date(2027, 11, 7)))]
    assert lengths == [23, 25]


@pytest.mark.parametrize(
    ("moment", "words"),
    [
        (datetime(2027, 7, 1, 4), "12:00 AM"),
        (datetime(2027, 7, 1, 16, 5), "12:05 PM"),
        (datetime(2027, 7, 1, 17), "1:00 PM"),
    ],
)
def test_hours_read_as_on_a_watch(moment, words):
    assert clock_words(moment.replace(tzinfo=UTC)) == words
