"""Measures that cannot all be right at once are pointed out, and nothing is refused for it."""

import pytest
from django.urls import reverse

from engine.vocabulary import BY_NAME
from inspections.survey.fit import misfits
from inspections.survey.record import Record
from inspections.survey.services import add_part
from inspections.survey.tablet import KeptPart, KeptReading
from tests.make import make_visit

LEVEL = {"stands": "on a ledger", "width_in": 240, "depth_in": 144, "height_in": 42}


def record(**parts):
    """`record(L1=("level", {...}))`: a record of these parts, every one on level L1."""
    given = {"L1": ("level", LEVEL), **parts}
    rows = tuple(KeptPart(key, kind, key, "") for key, (kind, _) in given.items())
    readings = {}
    for key, (kind, facts) in given.items():
        level = {"level": "L1"} if "level" in BY_NAME[kind].index else {}
        readings[key] = {name: KeptReading(name, value, "measured") for name, value in {**level, **facts}.items()}
    return Record(rows, readings, title="a deck", basis={})


def words(**parts):
    return [one.words for one in misfits(record(**parts))]


def test_nine_joists_at_sixteen_inches_do_not_fill_twenty_feet():
    assert words(J1=("joist_field", {"count": 9, "spacing_in": 16})) == [
        "J1: 9 joists at 16\" cover 10' 8\", but L1 is 20' wide."
    ]


@pytest.mark.parametrize("count", [15, 16, 17])  # 240 in at 16 in are 15 bays; an end bay may be short or doubled
def test_joists_that_fill_their_level_are_not_pointed_out(count):
    assert words(J1=("joist_field", {"count": count, "spacing_in": 16})) == []


def test_of_two_fields_of_joists_none_has_to_fill_the_level():
    field = {"count": 6, "spacing_in": 16}
    assert words(J1=("joist_field", field), J2=("joist_field", field)) == []


def test_joists_do_not_span_further_than_their_level_is_deep():
    assert words(J1=("joist_field", {"span_in": 168}))[0].endswith("14' does not fit on L1, which is 12' deep.")
    assert words(J1=("joist_field", {"span_in": 138})) == []


def test_a_beam_of_two_spans_stands_on_three_posts_and_is_no_wider_than_its_level():
    posts = {f"P{number}": ("post", {"beam": "B1"}) for number in (1, 2)}
    assert words(B1=("beam", {"spans_in": [96, 96]}), **posts) == [
        "B1: 2 spans from post to post need 3 posts, but 2 are recorded."
    ]
    assert words(B1=("beam", {"spans_in": [96, 96]}), **posts, P3=("post", {"beam": "B1"})) == []
    assert "add up to 24'" in words(B1=("beam", {"spans_in": [144, 144]}))[0]


def test_a_post_is_no_taller_than_the_deck_on_it():
    assert "a post of 9' does not fit under L1" in words(
        B1=("beam", {}), P1=("post", {"beam": "B1", "height_in": 108})
    )[0]  # fmt: skip


def test_a_ledger_is_no_longer_than_its_level_is_wide():
    assert "is longer than L1 is wide (20')" in words(LD1=("ledger", {"length_in": 260}))[0]


def test_risers_reach_the_level_and_treads_lie_between_them():
    assert "its risers add up to 5'" in words(S1=("stair", {"risers_in": [7.5] * 8}))[0]
    assert words(S1=("stair", {"risers_in": [7] * 6, "treads_in": [10] * 5})) == []
    assert words(S1=("stair", {"risers_in": [7] * 6, "treads_in": [10] * 9})) == [
        "S1: 6 risers and 9 treads do not make a flight."
    ]


def test_what_was_not_measured_or_not_reachable_fits():
    empty = {"J1": ("joist_field", {"count": None, "spacing_in": 16}), "S1": ("stair", {"risers_in": None})}
    assert words(**empty, B1=("beam", {})) == []


@pytest.mark.django_db
@pytest.mark.parametrize("page", ["walk", "walk-link"])
def test_the_walk_says_so_and_judges_all_the_same(client, inspector, page):
    visit = make_visit(inspector, state="under_way")
    add_part(visit, "level", by=inspector, readings={"stands": "on a ledger", "width_in": "20'"})
    add_part(visit, "joist_field", by=inspector, readings={"count": "9", "spacing_in": "16", "span_in": "11'"})
    client.force_login(inspector)
    answer = client.get(reverse(page, args=[visit.pk] + (["joists"] if page == "walk-link" else [])))
    assert "J1: 9 joists at 16&quot; cover 10&#x27; 8&quot;, but L1 is 20&#x27; wide." in answer.content.decode()
    assert "nothing is judged yet" not in answer.content.decode()
