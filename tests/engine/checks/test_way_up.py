import pytest

from engine import Deck
from engine.remedies import remedies_for
from engine.results import Verdict
from tests.engine.deck_files import assessed, changed, the


@pytest.mark.parametrize(
    ("fact", "good", "bad", "check_id"),
    [
        ("risers_in", [7.75] * 6, [7.75] * 5 + [8], "stair.risers"),
        ("risers_in", [7, 7, 7.375, 7], [7, 7, 7.5, 7], "stair.risers_alike"),
        ("treads_in", [10] * 5, [10, 9.75, 10], "stair.treads"),
        ("treads_in", [10.5, 10.25], [10.5, 10], "stair.treads_alike"),
        ("width_in", 36, 35, "stair.width"),
        ("riser_opening_in", 3.9, 4.5, "stair.riser_opening"),
        ("handrail", "one side", "none", "stair.handrail"),
        ("handrail_height_in", 34, 33, "stair.handrail_height"),
        ("handrail_height_in", 38, 38.5, "stair.handrail_height"),
        ("can_be_gripped", True, False, "stair.handrail_grip"),
        ("stringer_span_in", 72, 73, "stringer.span_rule"),
        ("stringer_spacing_in", 18, 19, "stringer.spacing"),
        ("throat_in", 5, 4.75, "stringer.throat"),
        ("top_held_by", "resting on a ledger strip", "nails or screws only", "stringer.top"),
        ("top_hanger_rated_lb", 700, 200, "stringer.hanger"),
        ("stringer_bearing_in", 1.5, 1.25, "stringer.bearing_length"),
    ],
)
def test_each_dimension_of_a_stair_has_its_limit(fact, good, bad, check_id):
    assert the(assessed(S1={fact: good}), check_id).verdict is Verdict.HOLDS
    assert the(assessed(S1={fact: bad}), check_id).verdict is Verdict.FAILS


def test_three_risers_need_no_handrail_and_four_do():
    assert not assessed(S1={"risers_in": [7] * 3, "handrail": "none"}).by_id("stair.handrail")
    assert the(assessed(S1={"risers_in": [7] * 4, "handrail": "none"}), "stair.handrail").verdict is Verdict.FAILS


def test_a_stair_of_30_in_may_have_open_risers():
    assert not assessed(S1={"risers_in": [7.5] * 4, "riser_opening_in": 6}).by_id("stair.riser_opening")


def test_a_stringer_is_judged_by_the_wood_its_cuts_have_left():
    """Bending goes with the square of the throat."""
    deep, shallow = (the(assessed(S1={"throat_in": t}), "stringer.bending").ratio for t in (6, 3))
    assert shallow == pytest.approx(4 * deep)


def test_two_stringers_carry_half_the_stair_each_whatever_spacing_was_written():
    two = the(assessed(S1={"stringer_count": 2, "stringer_spacing_in": 6, "stringer_span_in": 70}), "stringer.hanger")
    uniform_lb = 50 / 144 * 40 / 2 * 70 / 2
    one_tread_lb = 300 + 10 / 144 * 40 / 2 * 70 / 2
    assert two.demand == pytest.approx(max(uniform_lb, one_tread_lb))


def test_headroom_is_judged_only_where_something_hangs_over_the_stair():
    assert not assessed().by_id("stair.headroom")
    assert the(assessed(S1={"headroom_in": 79}), "stair.headroom").verdict is Verdict.FAILS
    assert the(assessed(S1={"headroom_in": 80}), "stair.headroom").verdict is Verdict.HOLDS


def test_a_flight_of_more_than_147_in_needs_a_landing():
    assert the(assessed(S1={"risers_in": [7.5] * 20}), "stair.flight").verdict is Verdict.FAILS


def test_a_stringer_presses_on_its_foot_with_its_end_reaction():
    """Southern pine: 565 psi across the grain, 0.67 of it when wet (NDS Supplement Table 4B and its adjustments)."""
    found = the(assessed(S1={"stringer_bearing_in": 1.5}), "stringer.bearing")
    reaction_lb = the(assessed(), "stringer.hanger").demand
    assert found.demand == pytest.approx(reaction_lb / (1.5 * 1.5))
    assert found.capacity == pytest.approx(565 * 0.67)
    assert found.verdict is Verdict.HOLDS
    assert the(assessed(S1={"stringer_bearing_in": 0.5}), "stringer.bearing").verdict is Verdict.FAILS


def test_the_bearing_of_a_stringer_that_nobody_measured_is_said_to_be_taken():
    found = the(assessed(), "stringer.bearing")
    assert any("stringer bearing" in words and "1.5 in taken" in words for words in found.assumptions)
    assert not assessed().by_id("stringer.bearing_length")


def test_no_stringer_fails_on_a_bearing_that_nobody_measured():
    heavy = {"stringer_count": 2, "stringer_span_in": 200, "width_in": 60}
    assert the(assessed(S1={**heavy, "stringer_bearing_in": 1.5}), "stringer.bearing").verdict is Verdict.FAILS
    open_one = the(assessed(S1=heavy), "stringer.bearing")
    assert open_one.verdict is Verdict.CANNOT_TELL and open_one.depends_on == ("S1.stringer_bearing_in",)


def test_a_tread_carries_300_lb_on_2_in_square_on_one_board():
    """2x10 flat over 12 in: M = P (l/4 - c/8); southern pine No. 2 800 psi x Cfu 1.2 (NDS-S Table 4B)."""
    check = the(assessed(S1={"tread_size": "2x10"}), "tread.bending")
    assert check.demand == pytest.approx(300 * (12 / 4 - 2 / 8) / (9.25 * 1.5**2 / 6))
    assert check.capacity == pytest.approx(800 * 1.2)
    assert not assessed().by_id("tread.bending")


def test_a_tread_gives_no_more_than_a_288th_of_its_span():
    check = the(assessed(S1={"tread_size": "2x6", "stringer_spacing_in": 36}), "tread.deflection")
    assert check.capacity == pytest.approx(36 / 288)
    assert check.demand == pytest.approx(300 * 36**3 / (48 * 1_400_000 * 0.9 * 5.5 * 1.5**3 / 12))
    assert check.verdict is Verdict.FAILS


def test_treads_that_give_too_much_are_made_of_wider_boards():
    found = remedies_for(Deck.from_json(changed(S1={"tread_size": "2x4", "stringer_spacing_in": 24})))
    boards = [each for each in found if each.kind == "tread-boards"]
    assert [each.is_proved for each in boards] == [True]
    assert boards[0].deck_after.by_id["S1"].facts["tread_size"] == "2x6"
