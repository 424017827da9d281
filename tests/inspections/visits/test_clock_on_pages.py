from datetime import UTC, datetime, timedelta

import pytest
from django.template.defaultfilters import date
from django.utils import timezone

from inspections.visits.templatetags.clock import clock, short_day

# Every month, every weekday, both sides of noon and of midnight, and both nights on which the clock is changed.
MOMENTS = [datetime(2027, 1, 1, 0, 5, tzinfo=UTC) + timedelta(hours=37 * step) for step in range(240)]


@pytest.mark.parametrize("filter, form", [(clock, "g:i A"), (short_day, "D, M j")])
def test_an_hour_and_a_day_read_as_djangos_date_writes_them(filter, form):
    for moment in MOMENTS:
        assert filter(moment) == date(timezone.localtime(moment), form)
    assert {moment.month for moment in MOMENTS} == set(range(1, 13))


def test_without_a_time_nothing_is_written():
    assert clock(None) == "" and short_day(None) == ""
