from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values
from engine.posts import max_post_height, post_capacity, post_compression
from engine.stability import beam_stability, column_stability, combined_bending_ratio
from tests.engine.derivations import assert_every_step_comes_out

HOUSE = Loads(live=40, dead=10)
POST = Lumber("southern pine", "No. 2", "6x6")
SIZES = st.sampled_from(["4x4", "4x6", "6x6", "8x8"])
SPECIES = st.sampled_from(["southern pine", "douglas fir-larch", "hem-fir", "redwood"])


def test_a_published_post_comes_out() -> None:
    # 6x6 Douglas fir No. 1 posts and timbers, 10 ft, pinned, dry: CP 0.692, Fc' 692 psi (public timber-design test)
    capacity = post_capacity(Lumber("douglas fir-larch", "No. 1", "6x6", wet=False), 120)
    assert capacity.column_stability == pytest.approx(0.692, abs=0.0005)
    assert float(capacity) == pytest.approx(692 * 30.25, rel=0.001)
    assert_every_step_comes_out(capacity.steps)


def test_the_thin_side_of_a_4x6_governs_unless_it_is_braced() -> None:
    post = dataclasses.replace(POST, size="4x6")
    assert post_capacity(post, 120).slenderness == pytest.approx(120 / 3.5)
    braced = post_capacity(post, 120, height_weak_in=40)
    assert braced.slenderness == pytest.approx(120 / 5.5)
    assert braced.load_lb > post_capacity(post, 120).load_lb


def test_a_post_too_slender_for_the_standard_gets_no_number() -> None:
    with pytest.raises(OutOfRange, match="50"):
        post_capacity(dataclasses.replace(POST, size="4x4"), 176)
    assert post_capacity(dataclasses.replace(POST, size="4x4"), 175).load_lb > 0


def test_a_notch_at_the_seat_takes_section_away() -> None:
    short = post_capacity(POST, 24, notch_depth_in=3)
    assert short.governs == "section left at the notch"
    assert short.candidates["section left at the notch"] == pytest.approx(525 * 5.5 * 2.5)
    with pytest.raises(OutOfRange):
        post_capacity(POST, 24, notch_depth_in=5.5)


def test_a_beam_bolted_to_one_side_costs_much_of_the_post() -> None:
    straight, eccentric = post_capacity(POST, 96), post_capacity(POST, 96, eccentricity_in=3.5)
    assert eccentric.governs == "eccentric seat"
    assert eccentric.load_lb < 0.6 * straight.load_lb
    assert eccentric.steps[-1].value == pytest.approx(1)
    assert_every_step_comes_out(eccentric.steps)


def test_a_tiny_eccentricity_hardly_costs_anything() -> None:
    straight, nearly = post_capacity(POST, 96).load_lb, post_capacity(POST, 96, eccentricity_in=0.001).load_lb
    assert nearly == pytest.approx(straight, rel=0.01)


def test_plies_that_can_slip_count_less_and_bolts_hold_them_better() -> None:
    solid, column = (
        post_capacity(Lumber("southern pine", "No. 2", "4x6"), 96),
        Lumber("southern pine", "No. 2", "2x6", plies=3),
    )
    nailed, bolted = post_capacity(column, 96), post_capacity(column, 96, plies_joined="bolts")
    assert nailed.load_lb < bolted.load_lb
    assert nailed.load_lb < solid.load_lb * column.width_in / 3.5
    with pytest.raises(OutOfRange):
        post_capacity(column, 96, plies_joined="glue")


def test_the_height_for_an_area_is_where_the_capacity_meets_the_load() -> None:
    limit = max_post_height(Lumber("southern pine", "No. 2", "4x4"), 100, HOUSE, own_weight=False)
    assert post_capacity(Lumber("southern pine", "No. 2", "4x4"), limit.value_in).load_lb == pytest.approx(
        5000, rel=1e-6
    )
    assert limit.governs == "column stability"
    assert_every_step_comes_out(limit.steps)


def test_its_own_weight_makes_a_post_a_little_shorter() -> None:
    post = Lumber("southern pine", "No. 2", "4x4")
    light, real = (max_post_height(post, 100, HOUSE, own_weight=each).value_in for each in (False, True))
    assert 0 < light - real < 2


def test_an_area_that_crushes_the_post_is_refused() -> None:
    with pytest.raises(OutOfRange, match="some height"):
        max_post_height(Lumber("southern pine", "No. 2", "4x4"), 400, HOUSE)


def test_a_post_may_be_compared_with_its_load() -> None:
    comparison = post_compression(POST, 96, 5000)
    assert comparison.ratio == pytest.approx(5000 / post_capacity(POST, 96).load_lb)


def test_bending_beside_compression_is_magnified_and_refused_at_the_critical_stress() -> None:
    plain = combined_bending_ratio(0, 1000, (500, 1000, 900))
    assert plain == pytest.approx(0.5)
    assert combined_bending_ratio(450, 1000, (500, 1000, 900)) == pytest.approx(0.45**2 + 1.0)
    with pytest.raises(OutOfRange):
        combined_bending_ratio(900, 1000, (500, 1000, 900))


def test_every_stability_step_can_be_worked_out_again() -> None:
    assert_every_step_comes_out(column_stability(30, 1000, 5e5).steps)
    assert_every_step_comes_out(column_stability(30, 1000, 5e5, built_up_factor=0.6).steps)
    assert_every_step_comes_out(beam_stability(300, 1.5, 9.25, 1000, 5e5).steps)
    with pytest.raises(OutOfRange):
        beam_stability(1000, 1.5, 9.25, 1000, 5e5)


@given(SPECIES, SIZES, st.floats(12, 160))
def test_a_taller_post_never_carries_more(species: str, size: str, height_in: float) -> None:
    post = Lumber(species, "No. 2", size)
    assert post_capacity(post, height_in + 5).load_lb <= post_capacity(post, height_in).load_lb


@given(SPECIES, SIZES, st.floats(12, 160), st.floats(0, 3), st.floats(0, 4))
def test_a_notch_or_an_eccentric_seat_never_helps(
    species: str, size: str, height_in: float, notch_in: float, eccentricity_in: float
) -> None:
    post = Lumber(species, "No. 2", size)
    worse = post_capacity(post, height_in, notch_depth_in=notch_in, eccentricity_in=eccentricity_in)
    assert worse.load_lb <= post_capacity(post, height_in).load_lb * (1 + 1e-9)


@given(SPECIES, SIZES, st.floats(10, 60))
def test_a_larger_area_never_allows_a_taller_post(species: str, size: str, area_sqft: float) -> None:
    post = Lumber(species, "No. 2", size)
    assert (
        max_post_height(post, area_sqft + 10, HOUSE).value_in <= max_post_height(post, area_sqft, HOUSE).value_in + 1e-6
    )


@given(st.floats(1, 50), st.floats(200, 2000), st.floats(2e5, 8e5))
def test_a_column_never_gets_more_than_its_wood_has(slenderness: float, fc_psi: float, e_min_psi: float) -> None:
    factor = column_stability(slenderness, fc_psi, e_min_psi).factor
    assert 0 < factor <= 1
    assert factor * fc_psi <= column_stability(slenderness, fc_psi, e_min_psi).critical_psi


def test_the_own_weight_of_the_post_is_carried_too() -> None:
    post = Lumber("southern pine", "No. 2", "4x4")
    limit = max_post_height(post, 100, HOUSE)
    # 37.3 lb per cubic foot on 3.5 x 3.5 in
    weight_lb = 37.33 * 12.25 / 1728 * limit.value_in
    assert post_capacity(post, limit.value_in).load_lb == pytest.approx(5000 + weight_lb, abs=0.5)
    assert_every_step_comes_out(limit.steps)
    assert limit.steps[1].value == pytest.approx(5000 + weight_lb, abs=0.5)


def test_the_derivation_of_a_flat_post_names_its_thin_side() -> None:
    capacity = post_capacity(dataclasses.replace(POST, size="4x6"), 120)
    assert_every_step_comes_out(capacity.steps)
    assert capacity.steps[2].inputs["d"] == 3.5
    wood = adjusted_values(dataclasses.replace(POST, size="4x6"), members=1)
    assert capacity.column_stability == column_stability(120 / 3.5, wood.fc, wood.e_min).factor


def test_a_post_fixed_at_its_foot_only_is_slender_at_half_the_height() -> None:
    post = Lumber("southern pine", "No. 2", "4x4")
    free = max_post_height(post, 2, HOUSE, end_factor=2.1)
    assert free.candidates["slenderness"] == pytest.approx(50 * 3.5 / 2.1)
    assert any("braced" in each for each in post_capacity(post, 60).assumptions)
    assert not any("braced" in each for each in post_capacity(post, 60, end_factor=2.1).assumptions)


def test_only_the_axis_on_which_plies_slip_is_made_weaker() -> None:
    column = Lumber("southern pine", "No. 2", "2x6", plies=3)
    braced = post_capacity(column, 96, height_weak_in=1)
    one_ply = post_capacity(Lumber("southern pine", "No. 2", "2x6"), 96, height_weak_in=1)
    # Kf caps the braced slip axis at 0.6, which then governs over the strong axis at 96/5.5
    assert braced.column_stability == pytest.approx(0.6, abs=0.001)
    assert one_ply.column_stability == pytest.approx(0.7246, abs=0.0005)


def test_bending_about_both_axes_counts_the_strong_one_against_buckling_sideways() -> None:
    # (fc/Fc')^2 + fb1/(Fb1'(1 - fc/FcE1)) + fb2/(Fb2'(1 - fc/FcE2 - (fb1/FbE)^2)), NDS Eq. 3.9-3, by hand
    found = combined_bending_ratio(100, 500, (300, 1000, 1000), (200, 1200, 400), fbe_psi=600)
    by_hand = 0.04 + 300 / (1000 * 0.9) + 200 / (1200 * (1 - 0.25 - 0.25))
    assert found == pytest.approx(by_hand)


def test_a_beam_in_a_notch_stands_on_the_wood_below_it_and_not_on_what_is_left_beside_it() -> None:
    """6x6 notched 4.5 in: 24.75 in2 of end grain carry the seat; 5.5 in2 beside it carry nothing of the beam."""
    post = Lumber("southern pine", "No. 2", "6x6")
    fc = adjusted_values(post, 1.0, members=1).fc
    seated = post_capacity(post, 36, notch_depth_in=4.5, on_the_notch=True)
    beside = post_capacity(post, 36, notch_depth_in=4.5)
    assert seated.candidates["seat in the notch"] == pytest.approx(fc * 5.5 * 4.5)
    assert beside.candidates["section left at the notch"] == pytest.approx(fc * 5.5 * 1.0)
    assert_every_step_comes_out(seated.steps)


def test_a_brace_on_the_thin_side_leaves_the_whole_height_on_the_thick_one():
    """4x6, 10 ft: thin side held at 3 ft, 120 / 5.5 = 21.8 rules over 36 / 3.5 = 10.3; held at 7 ft, 84 / 3.5 = 24."""
    post = Lumber("southern pine", "No. 2", "4x6")
    for weak_in, length_in, side_in in ((36, 120, 5.5), (84, 84, 3.5)):
        (ratio,) = [step for step in post_capacity(post, 120, height_weak_in=weak_in).steps if step.symbol == "r"]
        assert (ratio.inputs["l"], ratio.inputs["d"]) == (length_in, side_in)
        assert ratio.value == pytest.approx(length_in / side_in)


def test_a_notch_or_an_offset_below_nothing_is_refused():
    post = Lumber("southern pine", "No. 2", "6x6")
    for name in ("notch_depth_in", "eccentricity_in"):
        with pytest.raises(OutOfRange, match=name):
            post_capacity(post, 96, **{name: -1})
