"""Guards and stairs: built, raised, closed, tied down, rebuilt, to the adopted rules and no more."""

import math

import pytest

from engine.results import Verdict
from tests.engine.deck_files import the
from tests.engine.remedies.proof import judged_anew, of_kind, remedies, still_fails, undisputed_failures


def test_a_missing_guard_is_built_so_that_nothing_about_it_fails():
    found = of_kind(remedies(G1={"is_present": False}), "guard-build")
    after = judged_anew(found)
    assert not [key for key in undisputed_failures(after) if key[1].startswith("guard")]
    assert the(after, "guard.height").capacity == 36


def test_a_local_guard_of_42_in_is_built_by_calculation_since_no_test_reaches_it():
    rule = [{"key": "guard.min_height", "value": 42, "unit": "in", "citation": "city code 12.3"}]
    found = of_kind(remedies(G1={"height_in": 36}, basis={"amendments": rule}), "guard-raise")
    after = judged_anew(found)
    assert the(after, "guard.height").verdict is Verdict.HOLDS
    assert the(after, "guard.post_bending").verdict is Verdict.HOLDS
    assert found.deck_after.by_id["G1"].facts["post_size"] != "4x4"
    assert found.citation == "city code 12.3"


def test_a_whole_post_with_a_hold_down_rated_for_the_larger_pull():
    """200 lb x (36 + 1 + 2 + 5.25) in / 5.25 in = 1686 lb outward; the detail asks for 1800 lb at least."""
    found = of_kind(remedies(G1={"height_in": 36, "attachment": "lag screws", "post_notch_in": 1.5}), "guard-posts")
    facts = found.deck_after.by_id["G1"].facts
    assert facts["post_notch_in"] == 0 and facts["hold_down_rated_lb"] == 1800
    shallow = of_kind(
        remedies(G1={"height_in": 36, "attachment": "lag screws", "rim_size": "2x8", "post_notch_in": 1.5}),
        "guard-posts",
    )
    pull_lb = 200 * (36 + 1 + 2 + 3.25) / 3.25
    rated = shallow.deck_after.by_id["G1"].facts["hold_down_rated_lb"]
    assert rated == 50 * math.ceil(pull_lb / 50)
    assert still_fails(shallow, G1__hold_down_rated_lb=rated - 50)


def test_hold_downs_alone_are_enough_where_post_and_bolts_are_good():
    bare = {"height_in": 36, "attachment": "bolts through the rim only", "hold_down_rated_lb": ...}
    found = of_kind(remedies(G1=bare), "guard-hold-down")
    assert found.deck_after.by_id["G1"].facts["post_size"] == "4x4"
    notched = remedies(G1={**bare, "post_notch_in": 1.75})
    assert of_kind(notched, "guard-posts").deck_after.by_id["G1"].facts["post_notch_in"] == 0


@pytest.mark.parametrize("spacing", [40, 50, 61, 66, 70, 72])
def test_balusters_are_counted_for_the_bay_and_one_fewer_lets_the_ball_through(spacing):
    found = of_kind(remedies(G1={"largest_opening_in": 6, "post_spacing_in": spacing}), "guard-balusters")
    line = found.schedule[0]
    clear = (spacing - 3.5 - line.count * 1.5) / (line.count + 1)
    assert clear < 4
    assert found.deck_after.by_id["G1"].facts["largest_opening_in"] == pytest.approx(clear)
    fewer = (spacing - 3.5 - (line.count - 1) * 1.5) / line.count
    assert fewer > 4 - 0.125
    at = line.positions_in
    assert at[0] - 0.75 == pytest.approx(clear, abs=1e-3) and spacing - 3.5 - at[-1] - 0.75 == pytest.approx(
        clear, abs=1e-3
    )


def test_the_gap_at_the_bottom_is_closed_to_less_than_the_ball():
    found = of_kind(remedies(G1={"bottom_gap_in": 4}), "guard-bottom")
    assert found.deck_after.by_id["G1"].facts["bottom_gap_in"] == 3.875


@pytest.mark.parametrize(("spacing", "more"), [(73, 1), (144, 1), (145, 2)])
def test_the_fewest_posts_bring_them_close_enough(spacing, more):
    found = of_kind(remedies(G1={"post_spacing_in": spacing}), "guard-more-posts")
    assert found.schedule[0].count == more
    assert found.deck_after.by_id["G1"].facts["post_spacing_in"] == spacing / (more + 1)


def test_a_rim_under_guards_is_made_a_2x8():
    assert of_kind(remedies(G1={"rim_size": "2x6", "bolt_spacing_in": 2}), "guard-rim").schedule[0].size == "2x8"


def test_a_rail_that_bends_too_far_is_made_wider_or_its_posts_closer():
    wide = of_kind(remedies(G1={"rail_size": "2x4", "rail_lies": "flat", "post_spacing_in": 70}), "guard-rail")
    assert the(judged_anew(wide), "guard.rail").verdict is Verdict.HOLDS


def test_a_flight_is_rebuilt_with_the_fewest_equal_risers():
    """56 in of rise at 7 3/4 in at most: 8 risers of 7 in."""
    found = of_kind(remedies(S1={"risers_in": [9, 9.5, 9.5, 9.5, 9.5, 9], "treads_in": [9] * 5}), "stair-rebuild")
    risers = found.deck_after.by_id["S1"].facts["risers_in"]
    assert risers == (7.0,) * 8
    assert 56 / 7 > 7.75 or len(risers) == math.ceil(56 / 7.75)
    assert found.deck_after.by_id["S1"].facts["treads_in"] == (10.0,) * 7
    assert not [key for key in undisputed_failures(judged_anew(found)) if key[0].startswith(("stair.", "stringer.b"))]


def test_new_stringers_are_cut_as_deep_as_the_steps_ask():
    """The cut of a 7 by 10 in step is 7 x 10 / sqrt(149) = 5.73 in deep: 5.52 in of a 2x12 are left."""
    found = of_kind(remedies(S1={"risers_in": [9, 9.5, 9.5, 9.5, 9.5, 9], "treads_in": [9] * 5}), "stair-rebuild")
    assert found.deck_after.by_id["S1"].facts["throat_in"] == pytest.approx(11.25 - 70 / math.sqrt(149))


def test_only_the_landing_is_moved_where_only_the_bottom_riser_is_out():
    found = of_kind(remedies(S1={"risers_in": [5, 7, 7, 7, 7, 7]}), "stair-landing")
    assert found.title.startswith("Lower the landing") and "2 in" in found.title
    both = remedies(S1={"risers_in": [5, 7, 7, 7, 7, 6]})
    assert not [remedy for remedy in both if remedy.kind == "stair-landing"]


def test_open_risers_are_closed_and_a_handrail_is_put_up():
    found = remedies(S1={"risers_in": [7] * 6, "riser_opening_in": 6, "handrail": "none"})
    assert of_kind(found, "stair-close-risers").schedule[0].count == 6
    rail = of_kind(found, "stair-handrail")
    assert rail.deck_after.by_id["S1"].facts["handrail_height_in"] == 36
    assert not still_fails(rail)


def test_more_stringers_are_added_and_not_one_too_many():
    found = of_kind(remedies(S1={"stringer_count": 2, "stringer_spacing_in": 40}), "stringer-more")
    count = found.deck_after.by_id["S1"].facts["stringer_count"]
    assert found.schedule[0].count == count - 2
    assert still_fails(found, S1__stringer_count=count - 1, S1__stringer_spacing_in=40 / (count - 2))


def test_a_support_in_the_middle_halves_the_span_of_the_stringers():
    found = of_kind(remedies(S1={"stringer_span_in": 100}), "stringer-support")
    assert found.deck_after.by_id["S1"].facts["stringer_span_in"] == 50
    assert found.schedule[0].positions_in == (50.0,)


def test_stringer_hangers_are_rated_for_the_end_of_one_stringer():
    found = of_kind(remedies(S1={"top_held_by": "nails or screws only"}), "stringer-hangers")
    rated = found.deck_after.by_id["S1"].facts["top_hanger_rated_lb"]
    assert rated == 5 * math.ceil(the(judged_anew(found), "stringer.hanger").demand / 5)


def test_a_long_flight_is_broken_by_a_landing():
    found = of_kind(remedies(S1={"risers_in": [7.5] * 21, "treads_in": [10.5] * 20}), "stair-middle-landing")
    flights = [stair.facts["risers_in"] for stair in found.deck_after.of_kind("stair")]
    assert [len(flight) for flight in flights] == [10, 11]
    assert not [key for key in undisputed_failures(judged_anew(found)) if key[0] == "stair.flight"]


def test_a_short_seat_of_the_stringers_is_made_as_long_as_it_must_be():
    found = of_kind(remedies(S1={"stringer_bearing_in": 0.5}), "stringer-seat")
    length = found.deck_after.by_id["S1"].facts["stringer_bearing_in"]
    assert length == 1.5
    assert still_fails(found, S1__stringer_bearing_in=1.0)
