from __future__ import annotations

import dataclasses
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import NotPublished, OutOfRange
from engine.lumber import Lumber, adjusted_values, design_values, grades, own_weight_pcf, sizes, species_names
from tests.engine.derivations import assert_every_step_comes_out

JOIST = Lumber("southern pine", "No. 2", "2x10")
FRAMING = ("Southern Pine", "Douglas Fir-Larch", "Hem-Fir", "Spruce-Pine-Fir", "Western Cedars", "Western Woods")


def test_a_section_is_computed_from_the_dressed_size() -> None:
    # 2x10: S 21.39 in3, I 98.93 in4 (NDS Supplement Table 1B)
    assert JOIST.s_xx_in3 == pytest.approx(21.39, abs=0.005)
    assert JOIST.i_xx_in4 == pytest.approx(98.93, abs=0.005)
    assert (JOIST.width_in, JOIST.depth_in, JOIST.area_in2) == (1.5, 9.25, 13.875)


def test_plies_add_up_on_the_strong_axis_and_do_not_act_together_on_the_weak_one() -> None:
    single, triple = JOIST, dataclasses.replace(JOIST, plies=3)
    assert triple.s_xx_in3 == pytest.approx(3 * single.s_xx_in3)
    assert triple.i_yy_in4 == pytest.approx(3 * single.i_yy_in4)
    assert triple.i_yy_in4 < triple.depth_in * triple.width_in**3 / 12


def test_decay_that_takes_depth_away_takes_section_away() -> None:
    rotten = dataclasses.replace(JOIST, measured_depth_in=8.25)
    assert rotten.s_xx_in3 == pytest.approx(1.5 * 8.25**2 / 6)
    assert design_values(rotten).fb == design_values(JOIST).fb


@pytest.mark.parametrize("species", ["southern pine", "Southern Pine", "SOUTHERN  PINE", "SP", "syp"])
@pytest.mark.parametrize("grade", ["No. 2", "No.2", "no 2", "#2", "2"])
@pytest.mark.parametrize("size", ["2x10", "2 x 10", "2X10", "2×10"])
def test_names_are_understood_in_any_usual_spelling(species: str, grade: str, size: str) -> None:
    assert design_values(Lumber(species, grade, size)).fb == 800


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"species": "oak"}, "species"),
        ({"size": "2x11"}, "size"),
        ({"plies": 0}, "plies"),
        ({"plies": True}, "plies"),
        ({"measured_depth_in": 0.0}, "measured_depth_in"),
        ({"measured_width_in": float("nan")}, "measured_width_in"),
    ],
)
def test_what_is_not_known_is_refused_with_what_is_accepted(change: dict[str, object], field: str) -> None:
    with pytest.raises(OutOfRange) as refusal:
        dataclasses.replace(JOIST, **change)
    assert refusal.value.field == field
    assert refusal.value.accepted


def test_an_unknown_grade_is_refused_with_the_grades_of_the_species() -> None:
    with pytest.raises(OutOfRange, match=r"No\.2 Dense"):
        design_values(dataclasses.replace(JOIST, grade="No. 7"))


def test_no_value_is_made_up_for_boards_that_the_standard_does_not_list() -> None:
    with pytest.raises(NotPublished):
        design_values(Lumber("southern pine", "No. 2", "5/4x6"))
    with pytest.raises(NotPublished):
        design_values(Lumber("spruce-pine-fir", "No. 2", "6x10"))  # only posts and timbers are held
    with pytest.raises(NotPublished):
        design_values(Lumber("hem-fir", "Construction", "2x8"))  # the grade ends at 4 in


def test_a_plain_grade_of_redwood_is_taken_as_the_weaker_grain() -> None:
    assert design_values(Lumber("redwood", "No. 2", "2x8")).fb == 725
    assert design_values(Lumber("redwood", "No. 2 close grain", "2x8")).fb == 925


def test_a_stud_grade_is_valued_as_no_3_from_8_in_on() -> None:
    assert design_values(Lumber("hem-fir", "Stud", "2x8")).fb == design_values(Lumber("hem-fir", "No. 3", "2x8")).fb


def test_timbers_have_values_of_their_own() -> None:
    assert design_values(Lumber("douglas fir-larch", "No. 2", "6x6")).fb == 750
    assert design_values(Lumber("douglas fir-larch", "No. 2", "6x10")).fb == 875


def test_wet_douglas_fir_2x6_falls_over_the_1150_psi_step_and_hem_fir_does_not() -> None:
    # 900 x 1.3 = 1170 psi against 1150 psi (NDS-S Table 4A); 850 x 1.3 = 1105 psi
    douglas = adjusted_values(Lumber("douglas fir", "No. 2", "2x6", incised=True))
    hem = adjusted_values(Lumber("hem-fir", "No. 2", "2x6", incised=True))
    assert douglas.fb == pytest.approx(900 * 1.3 * 0.85 * 0.8 * 1.15)
    assert hem.fb == pytest.approx(850 * 1.3 * 0.8 * 1.15)
    assert douglas.fb < hem.fb


def test_two_plies_are_not_repetitive_and_three_are() -> None:
    one = adjusted_values(JOIST, members=1).fb
    assert adjusted_values(dataclasses.replace(JOIST, plies=2)).fb == one
    assert adjusted_values(dataclasses.replace(JOIST, plies=3)).fb == pytest.approx(1.15 * one)
    assert adjusted_values(dataclasses.replace(JOIST, plies=2), ply_factor=1.1).fb == pytest.approx(1.1 * one)


def test_timbers_are_never_repetitive() -> None:
    beam = Lumber("douglas fir-larch", "No. 2", "6x10", plies=3)
    assert adjusted_values(beam).fb == adjusted_values(dataclasses.replace(beam, repetitive=False)).fb


def test_stiffness_and_bearing_do_not_know_load_duration() -> None:
    short, long = adjusted_values(JOIST, 1.6), adjusted_values(JOIST, 1.0)
    assert (short.e, short.e_min, short.fc_perp) == (long.e, long.e_min, long.fc_perp)
    assert short.fv == pytest.approx(1.6 * long.fv)


def test_an_incised_timber_says_that_the_factor_is_on_the_safe_side() -> None:
    assert adjusted_values(Lumber("hem-fir", "No. 2", "6x6", incised=True)).assumptions
    assert not adjusted_values(JOIST).assumptions


@pytest.mark.parametrize("duration", [0.5, 2.5, float("nan")])
def test_a_load_duration_outside_the_table_is_refused(duration: float) -> None:
    with pytest.raises(OutOfRange):
        adjusted_values(JOIST, duration)


def test_heat_above_the_table_is_refused_and_below_it_takes_strength() -> None:
    with pytest.raises(OutOfRange):
        adjusted_values(JOIST, temperature_f=160)
    assert adjusted_values(JOIST, temperature_f=120).fb == pytest.approx(0.7 * adjusted_values(JOIST).fb)


def test_wood_weighs_what_the_supplement_says() -> None:
    # G 0.55 at 19 %: 62.4 x 0.55 / (1 + 0.55 x 0.009 x 19) x 1.19 = 37.3 lb per cubic foot
    assert own_weight_pcf(0.55, 19) == pytest.approx(37.3, abs=0.05)


@given(
    st.sampled_from(FRAMING),
    st.sampled_from(["2x6", "2x8", "2x10", "2x12"]),
    st.booleans(),
    st.booleans(),
    st.floats(0.9, 2.0),
)
def test_every_printed_factor_multiplies_to_the_printed_value(
    species: str, size: str, wet: bool, incised: bool, duration: float
) -> None:
    values = adjusted_values(Lumber(species, "No. 2", size, wet=wet, incised=incised), duration)
    assert_every_step_comes_out(values.steps)
    assert [step.value for step in values.steps] == [
        values.fb, values.ft, values.fv, values.fc_perp, values.fc, values.e, values.e_min,
    ]  # fmt: skip


@given(st.sampled_from(FRAMING), st.sampled_from(["2x6", "2x8", "2x10", "2x12", "4x6", "4x4"]))
def test_wet_or_incised_wood_is_never_stronger(species: str, size: str) -> None:
    dry = adjusted_values(Lumber(species, "No. 2", size, wet=False))
    for worse in (adjusted_values(Lumber(species, "No. 2", size, incised=each)) for each in (False, True)):
        for name in ("fb", "ft", "fv", "fc_perp", "fc", "e", "e_min"):
            assert getattr(worse, name) <= getattr(dry, name)


@given(st.sampled_from(FRAMING), st.sampled_from(["2x6", "2x8", "2x10", "2x12"]))
def test_a_better_grade_is_never_weaker_as_printed(species: str, size: str) -> None:
    ladder = ["No. 3", "No. 2", "Select Structural"]
    printed = [design_values(Lumber(species, grade, size)) for grade in ladder]
    for worse, better in pairwise(printed):
        assert worse.fb <= better.fb
        assert worse.e <= better.e


def test_the_lists_of_names_are_those_of_the_tables() -> None:
    assert "Hem-Fir" in species_names()
    assert "No.2" in grades("HF")
    assert "2x10" in sizes()
    for species in species_names():
        assert grades(species), species


def test_a_board_on_its_flat_side_has_the_small_section() -> None:
    # 2x6: S_yy 2.063 in3, I_yy 1.547 in4 (NDS Supplement Table 1B)
    board = Lumber("southern pine", "No. 2", "2x6")
    assert board.s_yy_in3 == pytest.approx(2.063, abs=0.001)
    assert board.i_yy_in4 == pytest.approx(1.547, abs=0.001)
    assert dataclasses.replace(board, plies=3).s_yy_in3 == pytest.approx(3 * 2.0625)
    assert dataclasses.replace(board, plies=3).i_yy_in4 == pytest.approx(3 * 1.546875)


def test_a_timber_deeper_than_12_in_loses_by_the_ninth_root() -> None:
    # NDS 4.3.6.3: (12 / 15.5)^(1/9) = 0.9720; 875 psi is Douglas fir No. 2 beams and stringers
    deep = adjusted_values(Lumber("douglas fir-larch", "No. 2", "6x16", wet=False))
    assert deep.fb == pytest.approx(875 * 0.9720, abs=0.1)
    assert adjusted_values(Lumber("douglas fir-larch", "No. 2", "6x10", wet=False)).fb == 875


def test_a_stud_takes_the_factors_of_no_3_from_8_in_on() -> None:
    stud, third = (adjusted_values(Lumber("hem-fir", each, "2x8", wet=False)) for each in ("Stud", "No. 3"))
    assert (stud.fb, stud.fc) == (third.fb, third.fc)
    assert stud.fb == pytest.approx(500 * 1.2 * 1.15)


def test_the_derivation_says_when_wet_service_takes_nothing() -> None:
    low, high = (adjusted_values(Lumber(s, "No. 2", "2x6")).steps[0].note for s in ("hem-fir", "douglas fir"))
    assert "1.0" in low
    assert not high


def test_the_temperature_steps_are_at_100_and_150_degrees() -> None:
    assert adjusted_values(JOIST, temperature_f=100).fb == adjusted_values(JOIST).fb
    assert adjusted_values(JOIST, temperature_f=100.5).fb < adjusted_values(JOIST).fb
    assert adjusted_values(JOIST, temperature_f=150).fb == pytest.approx(0.5 * adjusted_values(JOIST).fb)
    with pytest.raises(OutOfRange):
        adjusted_values(JOIST, temperature_f=150.5)


def test_the_weight_of_wood_by_hand() -> None:
    # 62.4 x 0.43 / (1 + 0.43 x 0.009 x 12) x 1.12
    assert own_weight_pcf(0.43, 12) == pytest.approx(62.4 * 0.43 / 1.04644 * 1.12)


def test_lumber_has_a_name_for_people() -> None:
    assert JOIST.name == "2x10 Southern Pine No. 2"
    assert Lumber("hf", "No. 2", "2x12", plies=2).name == "2-2x12 Hem-Fir No. 2"


def test_southern_pine_wider_than_12_in_takes_nine_tenths_of_the_12_in_values() -> None:
    # NDS-S Table 4B: No. 2 12 in wide 750 psi
    assert adjusted_values(Lumber("southern pine", "No. 2", "2x14", wet=False), members=1).fb == pytest.approx(675)
    with pytest.raises(NotPublished):
        design_values(Lumber("southern pine", "Construction", "2x6"))


def test_a_timber_has_a_size_factor_in_bending_only_and_only_beyond_12_in() -> None:
    """NDS 4.3.6.3: (12 / d)^(1/9) on Fb; Ft and Fc of posts and beams 5 x 5 and larger stand as they are."""
    post = Lumber("southern pine", "No. 2", "6x6", wet=False)
    found, given_values = adjusted_values(post), design_values(post)
    assert (found.fb, found.ft, found.fc) == (given_values.fb, given_values.ft, given_values.fc)


@pytest.mark.parametrize(
    ("size", "incised", "said"), [("6x6", True, True), ("6x6", False, False), ("4x4", True, False)]
)
def test_only_an_incised_timber_borrows_the_incising_factor_of_dimension_lumber(size, incised, said) -> None:
    words = adjusted_values(Lumber("hem-fir", "No. 2", size, incised=incised)).assumptions
    assert any("incising factor of dimension lumber" in each for each in words) is said


def test_southern_pine_timbers_have_one_value_wet_or_dry_and_others_lose_by_table_4d():
    """NDS-S Table 4D: southern pine 5x5 and larger is listed for wet or dry use; others Fc 0.91, Fc_perp 0.67."""
    pine, dry = (adjusted_values(Lumber("southern pine", "No. 2", "6x6", wet=wet)) for wet in (True, False))
    assert (pine.fb, pine.fv, pine.fc, pine.fc_perp, pine.e) == (dry.fb, dry.fv, dry.fc, dry.fc_perp, dry.e)
    assert (pine.fb, pine.fc, pine.fc_perp) == (850, 525, 375)
    fir = adjusted_values(Lumber("douglas fir-larch", "No. 2", "6x6", wet=True))
    assert (fir.fb, fir.e) == (750, 1_300_000)
    assert fir.fc == pytest.approx(700 * 0.91)
    assert fir.fc_perp == pytest.approx(625 * 0.67)
