from dataclasses import replace

import pytest

from engine import load_rating
from engine.errors import OutOfRange
from engine.guards import ALONG_NOT_JUDGED
from engine.rating import people
from engine.results import Verdict
from tests.engine.deck_files import assessed, the


def test_the_deck_is_rated_by_its_weakest_part_and_the_check_that_sets_it():
    rating = load_rating(assessed())
    assert rating.live_psf == min(part.live_psf for part in rating.by_part)
    assert rating.sets in rating.by_part


def test_at_its_rating_a_part_just_holds_and_above_it_fails():
    rating = load_rating(assessed(J1={"span_in": 140}))
    joists = next(part for part in rating.by_part if part.subject == "joist field J1")
    for live_psf, verdict in ((joists.live_psf - 0.01, Verdict.HOLDS), (joists.live_psf + 0.01, Verdict.FAILS)):
        check = the(assessed(J1={"span_in": 140}, basis={"live_psf": live_psf}), joists.check_id, "J1")
        assert check.verdict is verdict


def test_a_longer_joist_is_rated_lower():
    ratings = []
    for span_in in (100, 120, 140, 160):
        found = load_rating(assessed(J1={"span_in": span_in}))
        ratings.append(next(part.live_psf for part in found.by_part if part.subject == "joist field J1"))
    assert ratings == sorted(ratings, reverse=True)
    assert len(set(ratings)) == 4


def test_a_ledger_fastener_is_rated_by_the_tests_where_they_cover_it_and_else_by_the_equations():
    rating = load_rating(assessed())
    assert {part.check_id for part in rating.by_part if "ledger" in part.subject} == {"ledger.fastener_tested"}
    thick = load_rating(assessed(**{f"F{n}": {"diameter_in": 0.625} for n in range(1, 16)}))
    by_ledger = {part.check_id for part in thick.by_part if "fastener" in part.subject}
    assert by_ledger == {"ledger.fastener_nds"}


def test_a_missing_fastener_lowers_the_rating_of_its_neighbours():
    def rated(assessment):
        return {part.subject: part.live_psf for part in load_rating(assessment).by_part}

    whole, missing = rated(assessed()), rated(assessed(F6={"condition": "missing"}))
    assert missing["fastener 5 of ledger LD1 (F5)"] < whole["fastener 5 of ledger LD1 (F5)"]
    assert missing["fastener 2 of ledger LD1 (F2)"] == pytest.approx(whole["fastener 2 of ledger LD1 (F2)"])


def test_what_could_not_be_judged_is_listed_beside_the_rating():
    rating = load_rating(assessed(B1={"bearing_in": ...}))
    assert "beam.bearing_on_post, post P1" in rating.open_checks
    assert "could be seen" in rating.caution


def test_a_rated_guard_says_that_a_push_along_it_is_not_judged():
    assert ALONG_NOT_JUDGED in load_rating(assessed()).assumptions
    without = replace(assessed(), checks=tuple(one for one in assessed().checks if not one.id.startswith("guard.")))
    assert ALONG_NOT_JUDGED not in load_rating(without).assumptions


def test_a_guard_is_rated_by_the_push_that_it_takes():
    (guard,) = load_rating(assessed()).guards
    check = the(assessed(), guard.check_id)
    assert guard.push_lb == pytest.approx(200 / check.ratio)
    assert guard.check_id == "guard.post_bending"


def test_people_come_only_with_what_was_assumed_about_them():
    found = people(40, 100, person_lb=200, moving_factor=2)
    assert found.count == 10
    assert "200 lb a person, counted 2 times" in found.assumptions[0]
    assert found.caution
    with pytest.raises(OutOfRange):
        people(0, 100)
