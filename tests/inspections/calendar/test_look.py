from datetime import date

import pytest
from django.http import QueryDict
from django.utils import timezone

from inspections.calendar.look import Look


def look(text):
    return Look.read(QueryDict(text))


def test_the_address_holds_view_day_and_people():
    seen = look("view=day&day=2027-03-09&who=4&who=2")
    assert (seen.view, seen.day, seen.people) == ("day", date(2027, 3, 9), (2, 4))
    assert look(seen.address) == seen


@pytest.mark.parametrize(
    "text", ["", "view=year&day=soon&who=x", "view=%00&day=2027-02-30&who=-3&who=99999999999999999999", "who=²"]
)
def test_what_cannot_be_read_falls_back_to_this_week_and_everybody(text):
    assert look(text) == Look("week", timezone.localdate())


@pytest.mark.parametrize(
    ("text", "first", "last", "before", "after"),
    [
        ("view=day&day=2027-03-01", "2027-03-01", "2027-03-01", "2027-02-28", "2027-03-02"),
        ("view=week&day=2027-03-10", "2027-03-08", "2027-03-14", "2027-03-03", "2027-03-17"),
        ("view=month&day=2027-03-10", "2027-03-01", "2027-04-04", "2027-02-28", "2027-04-01"),
        ("view=month&day=2027-01-31", "2026-12-28", "2027-01-31", "2026-12-31", "2027-02-01"),
        ("view=month&day=2027-12-31", "2027-11-29", "2028-01-02", "2027-11-30", "2028-01-01"),
    ],
)
def test_a_view_covers_whole_days_weeks_and_the_weeks_of_a_month(text, first, last, before, after):
    seen = look(text)
    assert (seen.first.isoformat(), seen.last.isoformat()) == (first, last)
    assert (seen.before.day.isoformat(), seen.after.day.isoformat()) == (before, after)
    assert len(seen.days) == (seen.last - seen.first).days + 1


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
@pytest.mark.parametrize("view", ["day", "week", "month"])
def test_the_ends_of_time_are_kept_off(view, day):
    seen = look(f"view={view}&day={day}")
    assert seen.days
    assert seen.before.days
    assert seen.after.days


def test_the_title_says_what_is_looked_at():
    assert look("view=week&day=2026-12-30").title == "December 28, 2026 to January 3, 2027"
    assert look("view=day&day=2027-03-09").title == "Tuesday, March 9, 2027"
    assert look("view=month&day=2027-03-09").title == "March 2027"
