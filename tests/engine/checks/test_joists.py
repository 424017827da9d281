import pytest

from engine import Deck
from engine.remedies import remedies_for
from engine.results import Verdict
from tests.engine.deck_files import assessed, changed, the


def test_a_joist_just_within_the_published_span_holds_and_just_past_it_fails():
    """IRC 2021 Table R507.6: southern pine 2x10 at 16 in spans 14 ft 0 in (168 in)."""
    for span_in, verdict in ((168, Verdict.HOLDS), (168.5, Verdict.FAILS)):
        check = the(assessed(J1={"span_in": span_in}), "joist.span_table")
        assert (check.verdict, check.capacity) == (verdict, 168)


def test_a_spacing_between_two_rows_takes_the_stricter_row_and_says_so():
    check = the(assessed(J1={"spacing_in": 18}), "joist.span_table")
    assert check.capacity == 11 * 12 + 5  # southern pine 2x10 at 24 in: 11 ft 5 in
    assert any("next stricter" in words for words in check.assumptions)


def test_wet_wood_by_the_meter_counts_as_wet_whatever_the_basis_says():
    dry = the(assessed(basis={"is_wet": False}), "joist.live_deflection")
    wet = the(assessed(basis={"is_wet": False}, J1={"moisture_percent": 24}), "joist.live_deflection")
    assert wet.ratio == pytest.approx(dry.ratio / 0.9)  # CM of E, NDS Supplement 4B
    assert any("24 % moist" in words for words in wet.assumptions)


def test_two_joists_do_not_share_their_load_and_three_do():
    two, three = (the(assessed(J1={"count": count}), "joist.bending") for count in (2, 3))
    assert two.ratio == pytest.approx(three.ratio * 1.15)  # NDS 4.3.9


def test_soft_wood_is_taken_off_all_four_faces():
    sound, soft = the(assessed(), "joist.bending"), the(assessed(J1={"decay_depth_in": 0.25}), "joist.bending")
    assert soft.demand == pytest.approx(sound.demand * (1.5 * 9.25**2) / (1.0 * 8.75**2))
    assert any("1 x 8.75 in left" in words for words in soft.assumptions)


def test_wood_with_nothing_sound_left_cannot_be_told_and_the_decay_fails():
    assessment = assessed(J1={"decay_depth_in": 0.75})
    assert the(assessment, "joist.bending").verdict is Verdict.CANNOT_TELL
    assert the(assessment, "water.decay", "joist field J1").verdict is Verdict.FAILS


def test_southern_pine_is_not_tried_as_incised_and_hem_fir_is():
    pine = the(assessed(J1={"is_incised": ...}), "joist.bending")
    assert any("southern pine taken as not incised" in words for words in pine.assumptions)
    fir = the(assessed(J1={"species": "hem-fir", "is_incised": ..., "span_in": 170}), "joist.bending")
    assert fir.depends_on == ("J1.is_incised",)


def test_a_joist_with_an_overhang_bears_on_its_beam_with_all_of_it():
    """R = w (l + a)**2 / (2 l) = (50 * 16 / 144) * 128**2 / 208 = 437.6 lb on 1.5 x 3 in."""
    check = the(assessed(), "joist.bearing_on_beam")
    assert check.demand == pytest.approx(50 * 16 / 144 * 128**2 / 208 / 4.5)


def test_without_an_overhang_no_question_about_it_is_asked():
    ids = {check.id for check in assessed(J1={"overhang_in": 0}).about("J1")}
    assert not ids & {
        "joist.overhang_quarter",
        "joist.tip_deflection",
        "joist.bending_over_beam",
        "joist.lift_at_house",
    }


def test_an_overhang_of_more_than_a_quarter_of_the_span_fails_the_rule():
    assert the(assessed(J1={"overhang_in": 26}), "joist.overhang_quarter").verdict is Verdict.HOLDS
    assert the(assessed(J1={"overhang_in": 26.5}), "joist.overhang_quarter").verdict is Verdict.FAILS


def test_a_long_overhang_full_of_people_lifts_the_house_end():
    """Lift w a**2 / (2 l) with 50 psf against wD l / 2 with 10 psf: level at a = l / root 5."""
    span_in = 104
    for overhang_in, verdict in ((span_in / 5**0.5 - 0.1, Verdict.HOLDS), (span_in / 5**0.5 + 0.1, Verdict.FAILS)):
        assert the(assessed(J1={"overhang_in": overhang_in}), "joist.lift_at_house").verdict is verdict


def test_a_notch_is_asked_about_only_where_there_is_one():
    assert not assessed().by_id("joist.shear_at_notch")
    assessment = assessed(J1={"notch_depth_in": 3})
    assert the(assessment, "joist.notch_depth").verdict is Verdict.FAILS  # more than a quarter of 9.25 in
    assert the(assessment, "joist.shear_at_notch").ratio > the(assessment, "joist.shear").ratio


def test_a_hanger_with_a_third_of_its_nails_keeps_a_third_of_its_rating():
    full, third = the(assessed(), "joist.hanger"), the(assessed(J1={"hanger_fasteners_present": 1 / 3}), "joist.hanger")
    assert third.ratio == pytest.approx(3 * full.ratio)
    assert full.demand == pytest.approx(50 * 16 / 144 * 104 / 2)


def test_the_list_of_hangers_does_not_clear_one_with_empty_holes():
    """980 lb when full; a quarter of its nails leaves 245 lb, under the joist's 289 lb and the 600 lb of the list."""
    thin = assessed(J1={"hanger_fasteners_present": 0.25})
    assert the(thin, "joist.hanger").verdict is Verdict.FAILS
    assert the(thin, "joist.hanger_table").verdict is Verdict.FAILS
    assert not [each for each in thin.disagreements if each.calculation.id == "joist.hanger"]


def test_a_hanger_full_of_other_fasteners_has_no_rating():
    check = the(assessed(J1={"hanger_fasteners": "others"}), "joist.hanger")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "no rating" in check.reason


def test_joists_on_nails_only_fail_and_on_a_ledger_strip_ask_for_the_nails():
    assert the(assessed(J1={"house_end": "nails only"}), "joist.house_end").verdict is Verdict.FAILS
    on_a_strip = assessed(J1={"house_end": "ledger strip"})
    assert the(on_a_strip, "joist.house_end").verdict is Verdict.HOLDS
    for check_id in ("joist.strip_nails", "joist.strip_nailing"):
        assert the(on_a_strip, check_id).verdict is Verdict.CANNOT_TELL
        assert the(on_a_strip, check_id).depends_on == ("J1.house_nails",)


STRIP = {"house_end": "ledger strip", "house_nails": 3, "house_nail_diameter_in": 0.162, "house_nail_length_in": 3.5}


def test_three_16d_nails_meet_the_rule_and_carry_less_than_a_long_joist_brings():
    """Southern pine, wet: 154 lb (NDS Table 12N, 1-1/2 in side) x 0.7 a nail; 50 psf x 16 in x 104 in / 2 on them."""
    assessment = assessed(J1=STRIP)
    nails, rule = the(assessment, "joist.strip_nails"), the(assessment, "joist.strip_nailing")
    assert nails.demand == pytest.approx(50 / 144 * 16 * 104 / 2)
    assert nails.capacity == pytest.approx(3 * 0.7 * 154, rel=0.01)
    assert (rule.verdict, rule.demand, rule.capacity) == (Verdict.HOLDS, 3, 3)
    far = assessed(J1={**STRIP, "span_in": 132})
    assert the(far, "joist.strip_nails").verdict is Verdict.FAILS
    assert far.is_disputed(the(far, "joist.strip_nails"))


@pytest.mark.parametrize(("fact", "value"), [("house_nails", 2), ("house_nail_diameter_in", 0.131)])
def test_fewer_or_thinner_nails_than_the_rule_counts_fail_it(fact, value):
    assert the(assessed(J1={**STRIP, fact: value}), "joist.strip_nailing").verdict is Verdict.FAILS


def test_a_strip_without_nails_holds_nothing():
    assert the(assessed(J1={**STRIP, "house_nails": 0}), "joist.strip_nails").verdict is Verdict.FAILS


def test_a_joist_bears_on_as_much_of_a_strip_as_stands_out_under_it():
    """289 lb on 1.5 x 1.5 in; southern pine 565 psi x 0.67 wet."""
    check = the(assessed(J1={**STRIP, "strip_width_in": 1.5}), "joist.strip_bearing")
    assert check.demand == pytest.approx(50 / 144 * 16 * 104 / 2 / 1.5**2)
    assert check.capacity == pytest.approx(565 * 0.67)
    assert the(assessed(J1={**STRIP, "strip_width_in": 1.0}), "joist.strip_size").verdict is Verdict.FAILS


@pytest.mark.parametrize(
    ("nailing", "factor"), [("toe-nails", 0.83), ("through the ledger or rim into the joist's end", 0.67)]
)
def test_a_joist_on_nails_alone_carries_what_slanted_or_end_grain_nails_do(nailing, factor):
    held = {**STRIP, "house_end": "nails only", "house_nailing": nailing}
    check = the(assessed(J1=held), "joist.end_nails")
    assert {step.symbol: step.value for step in check.steps}[{0.83: "Ctn", 0.67: "Ceg"}[factor]] == factor
    assert check.ratio == pytest.approx(the(assessed(J1={**held, "house_nails": 6}), "joist.end_nails").ratio * 2)
    assert the(assessed(J1=held), "joist.house_end").verdict is Verdict.FAILS
    assert not assessed(J1={**held, "house_nails": ...}).by_id("joist.end_nails")


def test_a_new_hanger_takes_the_place_of_a_strip_that_is_short_of_nails():
    found = remedies_for(Deck.from_json(changed(J1={**STRIP, "house_nails": 1})))
    assert "hanger-new" in [each.kind for each in found if "joist.strip_nails" in {a.check_id for a in each.answers}]


def test_a_count_that_does_not_fit_the_width_is_a_contradiction_to_be_measured_again():
    assert the(assessed(), "joist.count").verdict is Verdict.HOLDS
    check = the(assessed(J1={"count": 6}), "joist.count")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "6 joists at 16 in do not fill the 168 in" in check.reason


def test_a_missing_overhang_table_is_said_once_for_the_deck_and_not_for_each_field():
    assert the(assessed(), "joist.overhang_table_held").subject == "the deck"
    assert the(assessed(basis={"edition": "DCA 6-2012"}), "joist.overhang_table").verdict is Verdict.HOLDS


def test_a_deck_heavier_than_the_tables_take_is_left_to_the_calculation():
    assessment = assessed(basis={"dead_psf": 15})
    assert the(assessment, "joist.span_table").verdict is Verdict.CANNOT_TELL
    assert "dead load of 10 psf" in the(assessment, "joist.span_table").reason
    assert the(assessment, "joist.bending").verdict is Verdict.HOLDS


def test_a_clip_at_the_house_end_is_judged_by_its_rating():
    """50 psf live on 48 in of overhang alone, 10 psf dead: uplift by statics against what the clip is rated for."""
    check = the(assessed(J1={"overhang_in": 50, "uplift_clip_rated_lb": 100}), "joist.lift_at_house")
    strip, span_in, overhang_in = 16 / 144, 104, 50
    lift_lb = 40 * strip * overhang_in**2 / (2 * span_in) - 10 * strip * (span_in / 2 - overhang_in**2 / (2 * span_in))
    assert check.demand == pytest.approx(max(0, lift_lb))
    assert check.capacity == 100


def test_a_hanger_holds_at_least_six_tenths_of_the_joist_s_depth():
    """DCA 6-2012, IRC R507.6.2: 0.6 x 9.25 in."""
    check = the(assessed(J1={"hanger_depth_in": 5.5}), "joist.hanger_depth")
    assert (check.verdict, check.demand) == (Verdict.FAILS, pytest.approx(0.6 * 9.25))
    assert the(assessed(J1={"hanger_depth_in": 5.6}), "joist.hanger_depth").verdict is Verdict.HOLDS
    assert not assessed().by_id("joist.hanger_depth")
