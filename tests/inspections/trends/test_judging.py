"""Decks that two inspectors saw, and the visits behind each number of agreement."""

import pytest
from django.urls import reverse

from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.judging import TWICE_WITHIN_DAYS, seen_twice
from inspections.trends.keeping import rebuild
from tests.make import in_days, make_inspector, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def seen(notice):
    """`seen(house, inspector, days ago, word)`: a released visit with one finding that says this."""

    def make(house, who, ago, word, **fields):
        visit = make_visit(who, property=house, starts_at=in_days(-ago, 10), state="released", **fields)
        if word:
            notice(visit, word, "posts")
        return visit

    return make


def pairs():
    rebuild()
    return [(pair.first_word, pair.second_word) for pair in seen_twice(Bitmaps([Want("word")]).everybody)]


def test_a_deck_that_two_saw_soon_after_each_other_is_a_pair(seen):
    one, other, house = make_inspector(), make_inspector(), make_property()
    seen(house, one, 100, "put_right")
    seen(house, other, 100 - TWICE_WITHIN_DAYS, "look_after")
    assert pairs() == [("put_right", "look_after")]


def test_who_comes_later_or_sees_it_again_himself_or_after_the_repair_makes_no_pair(seen):
    one, other = make_inspector(), make_inspector()
    late, same, repaired, once = (make_property() for _ in range(4))
    seen(late, one, 100, "put_right")
    seen(late, other, 100 - TWICE_WITHIN_DAYS - 1, "put_right")
    seen(same, one, 90, "put_right")
    seen(same, one, 85, "put_right")
    seen(repaired, one, 80, "put_right")
    seen(repaired, other, 75, "sound", purpose="after_repair")
    seen(once, one, 70, "put_right")
    assert pairs() == []


def test_a_visit_after_the_repair_stands_between_the_two(seen):
    one, other, house = make_inspector(), make_inspector(), make_property()
    seen(house, one, 30, "put_right")
    seen(house, other, 25, "sound", purpose="after_repair")
    seen(house, one, 20, "look_after")
    assert pairs() == [("sound", "look_after")], "the first is not set beside the third"


def test_the_numbers_of_agreement_open_both_visits_of_each_deck(seen, signed_in, manager):
    one, other = make_inspector(), make_inspector()
    for ago, first, second in ((50, "put_right", "put_right"), (40, "put_right", "look_after")):
        house = make_property()
        seen(house, one, ago, first)
        seen(house, other, ago - 3, second)
    rebuild()
    browser = signed_in(manager)
    page = browser.get(reverse("trends-alike"))
    assert (page.context["agreement"].pairs, page.context["agreement"].same) == (2, 1)
    for name, count in (("twice_query", 4), ("same_query", 2)):
        behind = browser.get(f"{reverse('trend-visits')}?{page.context[name]}")
        assert behind.context["page"].paginator.count == count
