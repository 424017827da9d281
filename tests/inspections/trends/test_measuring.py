"""Histograms of what was measured: every visit has its place in them, and every number its visits."""

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.trends.keeping import rebuild
from inspections.trends.models import MeasuredRecord
from tests.make import make_visit

pytestmark = pytest.mark.django_db

HIGH_ENOUGH = ["holds", 36 / 42, 36.0, 42.0, "in"]
TOO_LOW = ["fails", 36 / 30, 36.0, 30.0, "in"]
NO_GUARD = ["fails", None, None, None, "in"]
NOT_NEEDED = ["holds", None, None, None, "in"]
NOT_SEEN = ["cannot tell", None, None, None, "in"]


@pytest.fixture
def measured(inspector):
    """`measured(answer, ...)`: a visit with each of these answers to the check of the guard's height."""

    def make(*answers):
        for answer in answers:
            visit = make_visit(inspector, state="released", handed_in_at=timezone.now())
            kept_of = visit.handed_in_at.isoformat()
            MeasuredRecord.objects.create(visit=visit, of=kept_of, checks={"guard.height": answer})
        rebuild()

    return make


def whole(browser, **asked):
    return browser.get(reverse("trends-measured"), {"measure": "guard.height", **asked}).context["whole"]


def behind(browser, query):
    return browser.get(f"{reverse('trend-visits')}?{query}").context["page"].paginator.count


def test_answers_without_a_number_are_not_lost_beside_those_with_one(measured, signed_in, manager):
    measured(HIGH_ENOUGH, HIGH_ENOUGH, TOO_LOW, NO_GUARD, NOT_NEEDED, NOT_SEEN)
    browser = signed_in(manager)
    chart = whole(browser)
    assert chart.count == 5 and chart.short == 2 and chart.not_told == 1
    assert sum(bar.count for bar in chart.bars) == 3
    assert {bar.label: bar.count for bar in chart.without_number} == {"Holds": 1, "Falls short": 1}
    assert behind(browser, chart.every_query) == 5
    assert behind(browser, chart.short_query) == 2
    assert behind(browser, chart.not_told_query) == 1
    text = browser.get(reverse("trends-measured"), {"measure": "guard.height"}).content.decode()
    assert "1 without a number: falls short" in text


def test_a_question_of_yes_or_no_has_two_bars(measured, signed_in, manager):
    measured(NO_GUARD, NOT_NEEDED, NOT_NEEDED)
    chart = whole(signed_in(manager))
    assert [(bar.label, bar.count) for bar in chart.bars] == [("Holds", 2), ("Falls short", 1)]
    assert not chart.without_number


def test_lengths_below_the_limit_fall_short_and_open_their_visits(measured, signed_in, manager):
    measured(HIGH_ENOUGH, TOO_LOW, TOO_LOW)
    browser = signed_in(manager)
    chart = whole(browser, measure="guard-height")
    assert (chart.count, chart.short) == (3, 2)
    assert behind(browser, chart.short_query) == 2
    assert behind(browser, chart.every_query) == 3
