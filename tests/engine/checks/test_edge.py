import math

import pytest

from engine import Deck, assess
from engine.guards import ALONG_NOT_JUDGED
from engine.remedies import remedies_for
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


def test_at_36_in_the_published_detail_holds_and_the_calculation_says_what_the_bolt_hole_costs():
    """200 lb x 39 in over the 7.15 in3 of a whole 4x4 is 1091 psi, within DCA 6's 1,100; less the hole, 1300."""
    assessment = assessed(G1={"height_in": 36})
    bending, detail = the(assessment, "guard.post_bending"), the(assessment, "guard.post_detail")
    assert bending.demand == pytest.approx(200 * 39 / ((3.5 - 0.5625) * 3.5**2 / 6))
    assert (bending.verdict, detail.verdict) == (Verdict.FAILS, Verdict.HOLDS)
    assert assessment.is_disputed(bending)
    assert "hole" in next(each.why for each in assessment.disagreements if each.calculation == bending)


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"hold_down_rated_lb": 1750}, "hold-down 1750 lb, 1800 lb asked"),
        ({"post_notch_in": 1.0}, "a notch of 1 in"),
        ({"bolt_diameter_in": 0.375}, "bolt diameter 0.375 in, 0.5 in asked"),
        ({"bolts": 1}, "bolts 1, 2 asked"),
        ({"upper_bolt_from_top_in": 1.5}, "upper bolt below the top of the rim 1.5 in, 2 in asked"),
        ({"species": "hem-fir"}, "adjusted bending value"),
    ],
)
def test_a_post_that_falls_short_of_the_detail_is_told_in_what(facts, said):
    detail = the(assessed(G1={"height_in": 36, **facts}), "guard.post_detail")
    assert detail.verdict is Verdict.FAILS
    assert said in detail.reason


def test_a_larger_post_of_weaker_wood_may_stand_for_a_4x4_of_stronger():
    held = {"height_in": 36, "species": "hem-fir", "post_size": "4x6"}
    assert the(assessed(G1=held), "guard.post_detail").verdict is Verdict.HOLDS


def test_above_36_in_the_published_detail_is_silent_and_the_calculation_stands_alone():
    assessment = assessed(G1={"height_in": 42})
    detail = the(assessment, "guard.post_detail")
    assert detail.verdict is Verdict.CANNOT_TELL
    assert "up to 36 in" in detail.reason
    bending = the(assessment, "guard.post_bending")
    assert bending.verdict is Verdict.FAILS and not assessment.is_disputed(bending)


def test_half_an_inch_over_36_in_is_still_the_guard_of_the_detail_and_of_the_tests():
    for height_in, verdict in ((36.5, Verdict.HOLDS), (36.75, Verdict.CANNOT_TELL)):
        assessment = assessed(G1={"height_in": height_in})
        for check_id in ("guard.post_detail", "guard.tested"):
            assert the(assessment, check_id).verdict is verdict
    taken = the(assessed(G1={"height_in": 36.5}), "guard.tested").assumptions
    assert any("36.5 in high taken as the 36 in" in words for words in taken)


def test_only_posts_with_a_hold_down_are_put_to_the_detail():
    assert not assessed(G1={"attachment": "bolts through rim and blocking"}).by_id("guard.post_detail")


def test_a_washer_dents_the_post_before_the_detail_says_anything_against_it():
    """A cut washer for a 1/2 in bolt, 1-3/8 in less its hole, on 565 psi x 0.67: 468 lb against the pull of 1686 lb."""
    small = assessed(G1={"height_in": 36, "washer_in": 1.375})
    bearing = the(small, "guard.washer_bearing")
    assert bearing.capacity == pytest.approx(math.pi / 4 * (1.375**2 - 0.5625**2) * 565 * 0.67)
    assert bearing.demand == pytest.approx(200 * (39 + 5.25) / 5.25)
    assert small.is_disputed(bearing)
    assert the(small, "guard.washers").verdict is Verdict.HOLDS
    assert the(assessed(G1={"height_in": 36, "washer_in": 3}), "guard.washer_bearing").verdict is Verdict.HOLDS


def test_no_washers_at_all_fail():
    for check_id in ("guard.washers", "guard.washer_bearing"):
        assert the(assessed(G1={"washer_in": 0}), check_id).verdict is Verdict.FAILS
        assert not assessed().by_id(check_id)


def test_bolts_too_near_the_lower_edge_of_the_rim_have_no_value_downward():
    """NDS Table 12.5.1C: 4D to the loaded edge; pushed down, the bolts press the rim towards its lower edge."""
    check = the(assessed(G1={"bolt_spacing_in": 6}), "guard.push_down")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "loaded edge" in check.reason


BALUSTERS = {"baluster_size": "2x2", "baluster_length_in": 32, "baluster_spacing_in": 5}
NAILED = {"baluster_fastener": "nail", "baluster_fasteners": 2, "baluster_fastener_diameter_in": 0.131,
          "baluster_fastener_length_in": 2.5}  # fmt: skip


def test_a_baluster_bends_under_its_share_of_50_lb_on_a_square_foot():
    """50 lb x 5/12 on 12 in at midspan of 32 in: M = P (l/4 - c/8); S = 1.5^3 / 6."""
    check = the(assessed(G1=BALUSTERS), "guard.baluster_bending")
    assert check.demand == pytest.approx(50 * 5 / 12 * (32 / 4 - 12 / 8) / (1.5**3 / 6))
    assert check.verdict is Verdict.HOLDS


def test_nails_of_a_baluster_are_drawn_out_of_the_rail():
    """8d common in southern pine: 1380 x 0.55^2.5 x 0.131 lb an inch (NDS 12.2-3), 1 in past the baluster."""
    check = the(assessed(G1={**BALUSTERS, **NAILED}), "guard.baluster_fastening")
    assert check.capacity == pytest.approx(2 * 1380 * 0.55**2.5 * 0.131)
    assert check.demand == pytest.approx(50 * 5 / 12 * (1 - 12 / 64))
    short = the(assessed(G1={**BALUSTERS, **NAILED, "baluster_fastener_length_in": 1.25}), "guard.baluster_fastening")
    assert short.verdict is Verdict.CANNOT_TELL
    none = the(assessed(G1={**BALUSTERS, **NAILED, "baluster_fasteners": 0}), "guard.baluster_fastening")
    assert none.verdict is Verdict.FAILS
    assert not assessed(G1=BALUSTERS).by_id("guard.baluster_fastening")


def test_loose_balusters_are_screwed_and_small_washers_made_wider():
    loose = {**BALUSTERS, **NAILED, "baluster_fasteners": 0, "washer_in": 0, "height_in": 36}
    kinds = {each.kind: each for each in remedies_for(Deck.from_json(changed(G1=loose)))}
    assert kinds["guard-balusters-refasten"].is_proved and kinds["guard-washers"].is_proved
    assert "two at each end" in kinds["guard-balusters-refasten"].schedule[0].pattern


RAIL = {"rail_size": "2x4", "rail_lies": "on edge", "rail_fastener": "nail", "rail_fasteners": 3,
        "rail_fastener_diameter_in": 0.162, "rail_fastener_length_in": 3.5}  # fmt: skip


def test_an_end_of_the_top_rail_takes_the_whole_push_beside_its_post():
    """Three 16d common in southern pine, 154 lb each (NDS Table 12N), wet 0.7, against 200 lb."""
    check = the(assessed(G1=RAIL), "guard.rail_end")
    assert (check.verdict, check.demand) == (Verdict.HOLDS, 200)
    assert check.capacity == pytest.approx(3 * 154 * 0.7, rel=0.01)
    assert the(assessed(G1={**RAIL, "rail_fasteners": 1}), "guard.rail_end").verdict is Verdict.FAILS
    assert the(assessed(G1={**RAIL, "rail_fasteners": 0}), "guard.rail_end").verdict is Verdict.FAILS
    assert not assessed().by_id("guard.rail_end")


def test_a_loose_rail_end_is_screwed():
    found = remedies_for(Deck.from_json(changed(G1={**RAIL, "rail_fasteners": 1})))
    ends = next(each for each in found if each.kind == "guard-rail-ends")
    assert ends.is_proved and "through the rail into the post" in ends.schedule[0].pattern


@pytest.mark.parametrize("check_id", ["guard.post_bending", "guard.pull_outward", "guard.pull_inward"])
def test_a_guard_says_that_a_push_along_its_line_is_not_judged(check_id):
    """IRC Table R301.5 note d says any direction; no published value tells how a rail shares that push."""
    assert ALONG_NOT_JUDGED in the(assessed(), check_id).assumptions
    assert ALONG_NOT_JUDGED not in the(assessed(), "guard.push_down").assumptions
