"""The demo is started on any day of the year: its visits must fit whatever the weekday, and when the clock changes."""

from collections import defaultdict
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from django.utils import timezone

from inspections.demo import load
from inspections.demo.story import PEOPLE, VISITS

pytestmark = pytest.mark.django_db

A_WEEK = [datetime(2026, 11, 23, 15, tzinfo=UTC) + timedelta(days=number) for number in range(7)]
# In New York the clock is put forward on March 14, 2027 and back on November 7, 2027.
CLOCK_CHANGES = [datetime(2027, 3, day, 15, tzinfo=UTC) for day in (13, 14, 15)] + [
    datetime(2027, 11, day, 15, tzinfo=UTC) for day in (6, 7, 8)
]


@pytest.mark.parametrize("now", A_WEEK + CLOCK_CHANGES, ids=lambda now: f"{now:%a %b %d}")
def test_no_inspector_of_the_story_is_in_two_places_at_once(now, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: now)
    people = {name: load._person(name, facts, "a password for tests") for name, facts in PEOPLE.items()}
    visits, days = {}, defaultdict(list)
    for told in VISITS:  # on PostgreSQL the database itself refuses two open visits that overlap
        visit = visits[told.key] = load._booked(told, people[told.inspector], people["office"], visits)
        if told.until == "asked_for":
            assert visit.starts_at is None and visit.asked_at < now
            continue
        days[told.inspector].append(visit)
        local = timezone.localtime(visit.starts_at)
        assert (local.hour, local.minute) == (int(told.hour), told.hour % 1 * 60)
        assert (local.date() - timezone.localdate()).days * told.day >= told.day**2
        assert told.day == 0 or local.weekday() < 5
    for own in days.values():
        for one, next_one in pairwise(sorted(own, key=lambda visit: visit.starts_at)):
            assert one.ends_at <= next_one.leaves_at
