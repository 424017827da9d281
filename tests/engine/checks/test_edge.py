import pytest

from engine import Deck, assess
from engine.results import Verdict
from tests.engine.deck_files import assessed, changed, the


def test_a_drop_of_more_than_30_in_needs_a_guard_and_one_of_30_does_not():
    none = {"is_present": False}
    assert the(assessed(G1={**none, "drop_in": 30.5}), "guard.present").verdict is Verdict.FAILS
    assert not assessed(G1={**none, "drop_in": 30}).by_id("guard.present")


def test_an_edge_with_no_drop_on_record_takes_the_height_of_its_level_and_says_so():
    check = the(assessed(G1={"drop_in": ...}), "guard.height")
    assert any("the height of level L1 (main deck) taken" in words for words in check.assumptions)


def test_a_guard_that_is_not_needed_is_not_judged():
    assert {check.id for check in assessed(G1={"drop_in": 20}).about("G1")} <= {"water.decay", "water.moisture"}


def test_a_high_level_without_any_guard_on_record_is_asked_about():
    file = changed()
    del file["guards"]
    assert the(assess(Deck.from_json(file)), "guard.recorded").verdict is Verdict.CANNOT_TELL


@pytest.mark.parametrize(
    ("fact", "good", "bad", "check_id"),
    [
        ("height_in", 36, 35.75, "guard.height"),
        ("largest_opening_in", 3.9, 4, "guard.opening"),
        ("bottom_gap_in", 3.9, 4.25, "guard.bottom_gap"),
        ("post_spacing_in", 72, 73, "guard.post_spacing"),
        ("post_notch_in", 0, 1, "guard.post_notch"),
        ("rim_size", "2x8", "2x6", "guard.rim"),
    ],
)
def test_each_dimension_of_a_guard_has_its_limit(fact, good, bad, check_id):
    assert the(assessed(G1={fact: good}), check_id).verdict is Verdict.HOLDS
    assert the(assessed(G1={fact: bad}), check_id).verdict is Verdict.FAILS


def test_beside_a_stair_the_lower_height_and_the_wider_opening_are_allowed():
    beside = assessed(G1={"stair": "S1", "height_in": 34, "largest_opening_in": 4.25, "bottom_gap_in": 5.5})
    for check_id in ("guard.height", "guard.opening", "guard.bottom_gap"):
        assert the(beside, check_id).verdict is Verdict.HOLDS


def test_the_pull_on_the_hold_down_is_the_lever_of_the_post():
    """200 lb at 38 + 1 + 2 in above the upper bolt, 5.25 in to the lower: 200 * (41 + 5.25) / 5.25 = 1762 lb."""
    check = the(assessed(), "guard.pull_outward")
    assert check.demand == pytest.approx(200 * 46.25 / 5.25)
    assert check.capacity == 1800


def test_a_guard_is_pushed_out_in_and_down():
    ids = {check.id for check in assessed().about("G1")}
    assert {"guard.pull_outward", "guard.pull_inward", "guard.push_down"} <= ids


def test_bolts_through_a_bare_rim_fail_by_test_and_their_pull_cannot_be_told():
    assessment = assessed(G1={"attachment": "bolts through the rim only", "height_in": 36})
    assert the(assessment, "guard.tested").ratio == pytest.approx(500 / 237)
    assert the(assessment, "guard.pull_outward").verdict is Verdict.CANNOT_TELL


def test_nails_make_no_couple():
    assert the(assessed(G1={"attachment": "nails or screws"}), "guard.pull_outward").verdict is Verdict.FAILS


def test_a_notched_or_rotten_post_bends_more():
    whole = the(assessed(), "guard.post_bending").demand
    assert the(assessed(G1={"post_notch_in": 1}), "guard.post_bending").demand == pytest.approx(
        whole * (3.5 / 2.5) ** 2
    )
    assert the(assessed(G1={"decay_depth_in": 0.25}), "guard.post_bending").demand > 1.2 * whole


def test_a_rail_bends_about_its_weak_axis():
    """200 lb at midspan of 60 in on a 2x4: M = P l / 4, S = 3.5 * 1.5**2 / 6."""
    check = the(assessed(G1={"rail_size": "2x4", "rail_lies": "flat"}), "guard.rail")
    assert check.demand == pytest.approx(200 * 60 / 4 / (3.5 * 1.5**2 / 6))
    assert not assessed().by_id("guard.rail")
