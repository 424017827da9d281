import pytest

from engine import Deck, assess
from engine.results import Verdict
from tests.engine.deck_files import assessed, changed, the

# Joists of 104 in with 24 in of overhang load the beam over (104 + 24)**2 / (2 * 104) in of deck.
TRIBUTARY_IN = 128**2 / 208


def test_the_posts_of_a_single_span_share_the_load_of_the_joists_with_their_overhang():
    file = changed(B1={"spans_in": [72], "overhang_left_in": 0, "overhang_right_in": 0})
    for part, position_in in (("posts", 0), ("posts", 72)):
        file[part][0 if position_in == 0 else 1]["position_in"] = position_in
    del file["posts"][2], file["footings"][2]
    assessment = assess(Deck.from_json(file))
    load_lb = 50 / 144 * TRIBUTARY_IN * 72 / 2
    for post in ("P1", "P2"):
        assert the(assessment, "post.compression", post).demand == pytest.approx(load_lb)


def test_a_continuous_beam_brings_more_to_its_middle_post_than_one_spliced_there():
    continuous = the(assessed(), "post.compression", "P2").demand
    spliced = the(assessed(B1={"runs": "spliced over posts"}), "post.compression", "P2").demand
    assert continuous > spliced
    # 1.25 w l for two equal spans without overhangs; 12 in of overhang with dead load alone takes a little off.
    assert continuous == pytest.approx(1.25 * 50 / 144 * TRIBUTARY_IN * 72, rel=0.02)


def test_joists_from_both_sides_load_a_beam_together_and_leave_the_table():
    file = changed()
    file["joist_fields"].append({**file["joist_fields"][0], "id": "J2", "inner_beam": "B1", "span_in": 96})
    del file["joist_fields"][1]["ledger"], file["joist_fields"][1]["beam"]
    assessment = assess(Deck.from_json(file))
    ratio = the(assessment, "beam.bending").ratio / the(assessed(), "beam.bending").ratio
    assert ratio == pytest.approx((TRIBUTARY_IN + 96 / 2) / TRIBUTARY_IN)
    assert "joists from one side" in the(assessment, "beam.span_table", "span 1").reason


def test_of_two_fields_on_one_side_the_heavier_counts_along_the_whole_beam():
    file = changed()
    file["joist_fields"].append({**file["joist_fields"][0], "id": "J2", "span_in": 120})
    check = the(assess(Deck.from_json(file)), "beam.bending")
    assert any("heaviest of the joist fields J1, J2" in words for words in check.assumptions)
    assert check.ratio > the(assessed(), "beam.bending").ratio


def test_a_splice_between_posts_fails_and_the_calculation_stays_open():
    assessment = assessed(B1={"runs": "spliced between posts"})
    assert the(assessment, "beam.splice").verdict is Verdict.FAILS
    assert the(assessment, "beam.bending").verdict is Verdict.CANNOT_TELL
    assert the(assessment, "post.compression", "P2").verdict is Verdict.CANNOT_TELL


def test_a_beam_bolted_to_the_side_of_its_posts_fails_the_rule_and_is_calculated_beside_it():
    bolted = {"seat": "bolted to the side of the post", "seat_bolts": 2, "seat_bolt_diameter_in": 0.5}
    assessment = assessed(B1=bolted, P2={"notch_depth_in": 0})
    assert the(assessment, "beam.seat").verdict is Verdict.FAILS
    two = the(assessment, "post.seat_bolts", "P2")
    four = the(assessed(B1={**bolted, "seat_bolts": 4}), "post.seat_bolts", "P2")
    assert two.ratio / 2 < four.ratio < 1.1 * two.ratio / 2  # a longer row shares less evenly (NDS 11.3.6)
    assert the(assessment, "post.compression", "P2").governs == "eccentric seat"
    assert not assessment.by_id("beam.bearing_on_post")


def test_a_beam_bolted_with_no_bolt_fails():
    none = assessed(B1={"seat": "bolted to the side of the post", "seat_bolts": 0, "seat_bolt_diameter_in": 0.5})
    assert the(none, "post.seat_bolts", "P1").verdict is Verdict.FAILS


def test_posts_and_spans_that_do_not_fit_are_to_be_measured_again():
    assessment = assessed(B1={"spans_in": [48, 48, 48]})
    check = the(assessment, "post.compression", "P2")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "3 spans and 3 posts" in check.reason
    moved = the(assessed(P2={"position_in": 60}), "post.compression", "P2")
    assert "stands 60 in along beam B1; its spans put it at 84 in" in moved.reason


def test_posts_count_from_the_left_whatever_their_order_in_the_file():
    file = changed()
    file["posts"].reverse()
    assert the(assess(Deck.from_json(file)), "post.compression", "P2").demand == the(
        assessed(), "post.compression", "P2"
    ).demand  # fmt: skip


def test_a_long_overhang_fails_the_rule_and_lifts_the_far_post():
    assessment = assessed(B1={"spans_in": [72, 72], "overhang_right_in": 40})
    assert the(assessment, "beam.overhang").verdict is Verdict.FAILS
    check = the(assessed(B1={"overhang_right_in": 70}), "beam.lift_off_post", "P1")
    assert check.verdict in (Verdict.HOLDS, Verdict.CANNOT_TELL)
    lifted = the(assessed(B1={"overhang_right_in": 110}), "beam.lift_off_post", "P2")
    assert lifted.verdict is Verdict.CANNOT_TELL
    assert "lifts off" in lifted.reason


def test_the_published_beam_span_of_three_2x10_is_that_of_the_edition():
    """IRC 2021 R507.5(1): southern pine 3-2x10 under joists of 12 ft spans 9 ft 2 in; here 104 in joists, factored."""
    check = the(assessed(J1={"span_in": 144, "overhang_in": 36}), "beam.span_table", "span 1")
    assert check.capacity == 9 * 12 + 2


def test_two_plies_have_no_repetitive_factor_and_three_have():
    two, three = (the(assessed(B1={"plies": plies}), "beam.bending") for plies in (2, 3))
    assert two.ratio == pytest.approx(three.ratio * 1.5 * 1.15)  # NDS 4.3.9; half as much wood again


BOLTED = {"seat": "bolted to the side of the post", "seat_bolts": 2, "seat_bolt_diameter_in": 0.5}


def test_side_bolts_that_hold_by_calculation_and_the_rule_against_them_stand_as_two_witnesses():
    """Short spans: the bolts carry what the beam brings; the rule does not count them as bearing all the same."""
    light = {"B1": {**BOLTED, "seat_bolts": 6, "seat_bolt_diameter_in": 0.75, "spans_in": [36, 36]},
             "J1": {"span_in": 60, "overhang_in": 6}, "P2": {"position_in": 48}, "P3": {"position_in": 84}}  # fmt: skip
    assessment = assessed(**light)
    bolts = the(assessment, "post.seat_bolts", "P2")
    assert bolts.verdict is Verdict.HOLDS
    apart = [each for each in assessment.disagreements if each.calculation == bolts]
    assert [each.published.id for each in apart] == ["beam.seat"]
    assert not assessment.is_disputed(the(assessment, "beam.seat"))


def test_side_bolts_near_the_top_of_the_beam_have_no_value_and_close_ones_a_reduced_one():
    """NDS Table 12.5.1C: 4D to the loaded edge, 2 in for 1/2 in bolts; Table 12.5.1B: 4D apart, never under 3D."""
    near = the(assessed(B1={**BOLTED, "seat_bolt_from_top_in": 1.5}), "post.seat_bolts", "P2")
    assert near.verdict is Verdict.CANNOT_TELL
    assert "2 in at the loaded edge" in near.reason
    wide, close = (
        the(assessed(B1={**BOLTED, "seat_bolt_from_top_in": 2, "seat_bolt_spacing_in": apart}), "post.seat_bolts", "P2")
        for apart in (2.0, 1.5)
    )
    factors = [{step.symbol: step.value for step in check.steps}["C_delta"] for check in (wide, close)]
    assert factors == [1.0, pytest.approx(0.75)]


def test_each_run_at_a_splice_has_half_of_the_post_to_bear_on():
    spliced = {"runs": "spliced over posts", "seat": "on top of the post"}
    assert the(assessed(B1={**spliced, "bearing_in": 3.5}), "beam.bearing_at_splice").capacity == 1.75
    assert the(assessed(B1={**spliced, "bearing_in": 2.5}), "beam.bearing_at_splice").verdict is Verdict.FAILS
    assert not assessed().by_id("beam.bearing_at_splice")


def test_a_beam_sags_under_its_dead_load_for_good():
    """One span of 96 in, 3-2x10, wet: 40 psf + 2 x 10 psf (NDS 3.5.2), 5 w l^4 / (384 E I), l/240."""
    one = {"spans_in": [96], "overhang_left_in": 0, "overhang_right_in": 0}
    file = changed(B1=one, P1={"position_in": 0}, P2={"position_in": 96})
    file["posts"] = file["posts"][:2]
    file["footings"] = file["footings"][:2]
    check = the(assess(Deck.from_json(file)), "beam.total_deflection")
    width_in = (104 + 24) ** 2 / (2 * 104)
    e_psi, i_in4 = 1_400_000 * 0.9, 3 * 1.5 * 9.25**3 / 12
    assert check.demand == pytest.approx(5 * 60 / 144 * width_in * 96**4 / (384 * e_psi * i_in4))
    assert check.capacity == pytest.approx(96 / 240)


def test_a_tie_from_beam_to_post_is_judged_by_its_rating():
    held = {"B1": {"overhang_right_in": 110}, "P2": {"tie_uplift_rated_lb": 20000}}
    check = the(assessed(**held), "beam.lift_off_post", "P2")
    assert check.verdict is Verdict.HOLDS
    weak = the(assessed(**{**held, "P2": {"tie_uplift_rated_lb": 10}}), "beam.lift_off_post", "P2")
    assert (weak.verdict, weak.demand) == (Verdict.FAILS, check.demand)


def test_the_free_end_of_a_beam_may_spring_too_far_though_its_spans_are_stiff():
    """12 in past the posts it hardly moves; 70 in past the last one the end springs far, and the rule says so, too."""
    assert the(assessed(), "beam.tip_deflection").verdict is Verdict.HOLDS
    long = assessed(B1={"overhang_right_in": 70})
    assert the(long, "beam.tip_deflection").verdict is Verdict.FAILS
    assert the(long, "beam.tip_deflection").governs == "free end, right"
    assert the(long, "beam.overhang").verdict is Verdict.FAILS
    flush = assessed(
        B1={"overhang_left_in": 0, "overhang_right_in": 0},
        **{f"P{n}": {"position_in": at_in} for n, at_in in ((1, 0), (2, 72), (3, 144))},
    )
    assert not flush.by_id("beam.tip_deflection")


NAILED = {
    "ply_fastener": "nail",
    "ply_fastener_rows": 2,
    "ply_fastener_diameter_in": 0.131,
    "ply_fastener_length_in": 3,
}


@pytest.mark.parametrize(
    ("found", "verdict"),
    [
        ({**NAILED, "ply_fastener_spacing_in": 16}, Verdict.HOLDS),
        ({**NAILED, "ply_fastener_spacing_in": 24}, Verdict.FAILS),
        ({**NAILED, "ply_fastener_spacing_in": 16, "ply_fastener_diameter_in": 0.12}, Verdict.FAILS),
        ({**NAILED, "ply_fastener_spacing_in": 12, "ply_fastener_diameter_in": 0.12}, Verdict.HOLDS),
        ({**NAILED, "ply_fastener_spacing_in": 8, "ply_fastener_rows": 1}, Verdict.FAILS),
        ({"ply_fastener": "nothing seen"}, Verdict.FAILS),
        ({"ply_fastener": ...}, Verdict.CANNOT_TELL),
    ],
)
def test_the_plies_are_held_by_the_nails_of_the_rule_or_by_as_much(found, verdict):
    """IRC R507.5: two rows of 10d nails, 3 in by 0.128 in, at most 16 in apart."""
    assert the(assessed(B1=found), "beam.ply_fastening").verdict is verdict


def test_bolts_between_the_plies_count_for_what_they_pass_and_it_is_said_that_the_rule_names_nails():
    bolts = {"ply_fastener": "bolt", "ply_fastener_diameter_in": 0.5, "ply_fastener_spacing_in": 24}
    check = the(assessed(B1=bolts), "beam.ply_fastening")
    assert check.verdict is Verdict.HOLDS
    assert any("as good as the rule's nails" in words for words in check.assumptions)
    assert not any("as good as" in words for words in the(assessed(), "beam.ply_fastening").assumptions)


def test_one_board_has_no_plies_to_hold_together():
    assert not assessed(B1={"size": "4x10", "plies": 1}).by_id("beam.ply_fastening")


def test_a_notch_as_wide_as_the_beam_bears_all_of_it_and_holds_every_ply():
    assessment = assessed()  # three plies, 4.5 in, in a notch of 4.5 in
    assert the(assessment, "beam.bearing_width", "P2").verdict is Verdict.HOLDS
    assert not assessment.by_id("beam.ply_hold")


def test_of_a_beam_in_a_narrow_notch_only_what_stands_on_it_bears():
    """3 in of 4.5 in: the stress is half as much again, and a third of the load hangs on what holds the last ply."""
    whole, narrow = assessed(), assessed(P2={"notch_depth_in": 3}, B1={"seat_bolts": 0})
    ratio = the(narrow, "beam.bearing_on_post", "P2").demand / the(whole, "beam.bearing_on_post", "P2").demand
    assert ratio == pytest.approx(4.5 / 3)
    assert the(narrow, "beam.bearing_width", "P2").verdict is Verdict.FAILS
    assert the(narrow, "beam.ply_hold", "P2").demand == pytest.approx(the(narrow, "post.compression", "P2").demand / 3)
    assert the(narrow, "beam.ply_hold", "P2").verdict is Verdict.FAILS


def test_bolts_through_the_notch_hold_the_ply_that_hangs_beside_it():
    bolted = {"seat_bolts": 2, "seat_bolt_diameter_in": 0.5}
    two = the(assessed(P2={"notch_depth_in": 3}, B1=bolted), "beam.ply_hold", "P2")
    four = the(assessed(P2={"notch_depth_in": 3}, B1={**bolted, "seat_bolts": 4}), "beam.ply_hold", "P2")
    assert two.capacity < four.capacity < 2 * two.capacity  # the nails beside the post count once
    assert any("no published source" in words for words in two.assumptions)


def test_a_hanging_ply_is_not_judged_before_its_bolts_were_counted():
    check = the(assessed(P2={"notch_depth_in": 3}), "beam.ply_hold", "P2")
    assert (check.verdict, check.depends_on) == (Verdict.CANNOT_TELL, ("B1.seat_bolts",))


@pytest.mark.parametrize("notch", [..., 0])
def test_a_seat_in_a_notch_that_was_not_measured_is_asked_for(notch):
    check = the(assessed(P2={"notch_depth_in": notch}), "beam.bearing_on_post", "P2")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "P2" in check.settles[0]


def test_a_beam_wider_than_the_post_it_stands_on_may_have_a_cap_or_not():
    check = the(assessed(B1={"seat": "on top of the post"}, P2={"size": "4x4"}), "beam.bearing_width", "P2")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "cap" in check.settles[0]
    assert the(assessed(B1={"seat": "on top of the post"}), "beam.bearing_width", "P2").verdict is Verdict.HOLDS
