"""Stability of columns and beams: the laws of its factors, where its formulas change, and where they end."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.bearing import bearing
from engine.errors import OutOfRange
from engine.lumber import Lumber, adjusted_values
from engine.stability import (
    beam_effective_length_in,
    beam_stability,
    column_stability,
    combined_bending_ratio,
)
from tests.engine.derivations import assert_every_step_comes_out


def test_a_short_column_is_crushed_and_a_slender_one_buckles():
    """NDS 3.7.1.5: towards 1 for a stub; towards FcE / Fc* (Euler) for a slender one."""
    assert column_stability(1, 1000, 500_000).factor == pytest.approx(1, abs=0.001)
    slender = column_stability(50, 2000, 400_000)
    assert slender.factor == pytest.approx(slender.critical_psi / 2000, rel=0.02)
    assert slender.critical_psi == pytest.approx(0.822 * 400_000 / 2500)


@given(st.floats(1, 49), st.floats(0.1, 1), st.floats(200, 2500), st.floats(300_000, 700_000))
def test_a_more_slender_column_never_carries_more(slenderness, more, fc_psi, e_min_psi):
    one, other = (column_stability(each, fc_psi, e_min_psi) for each in (slenderness, slenderness + more))
    assert other.factor <= one.factor <= 1
    assert_every_step_comes_out(other.steps)


def test_only_a_built_up_column_is_printed_with_its_slip():
    """NDS 15.3.2: Kf 0.6 for nailed plies."""
    whole, nailed = column_stability(20, 1500, 500_000), column_stability(20, 1500, 500_000, built_up_factor=0.6)
    assert nailed.factor == pytest.approx(0.6 * whole.factor)
    assert (whole.steps[-1].source, nailed.steps[-1].source) == ("NDS 3.7.1.5", "NDS 15.3.2")
    assert "Kf" not in whole.steps[-1].inputs
    assert nailed.steps[-1].inputs["Kf"] == 0.6
    assert_every_step_comes_out(nailed.steps)


@pytest.mark.parametrize(
    ("unbraced_in", "length_in"),
    [(69.9, 2.06 * 69.9), (70, 1.63 * 70 + 30), (143, 1.63 * 143 + 30), (200, 1.63 * 200 + 30)],
)
def test_the_effective_length_under_a_uniform_load_changes_its_rule_at_seven_depths(unbraced_in, length_in):
    """NDS Table 3.3.3, 10 in deep: 2.06 lu below 7, 1.63 lu + 3 d from there."""
    assert beam_effective_length_in(unbraced_in, 10) == pytest.approx(length_in)


@pytest.mark.parametrize(("unbraced_in", "length_in"), [(69, 2.06 * 69), (143, 1.63 * 143 + 30), (144, 1.84 * 144)])
def test_the_effective_length_under_any_other_load_has_a_third_rule_above_14_3_depths(unbraced_in, length_in):
    """NDS Table 3.3.3 note 1, 10 in deep: 1.63 lu + 3 d up to 14.3, 1.84 lu above."""
    assert beam_effective_length_in(unbraced_in, 10, "other") == pytest.approx(length_in)


def test_bending_and_compression_add_as_the_interaction_says():
    """NDS Eq. 3.9-3: (300/600)^2 + 400 / (1000 x (1 - 300/1200)) = 0.783; the weak axis adds its own."""
    assert combined_bending_ratio(300, 600, (400, 1000, 1200)) == pytest.approx(0.25 + 400 / 750)
    both = combined_bending_ratio(300, 600, (400, 1000, 1200), (100, 900, 800), 2000)
    assert both == pytest.approx(0.25 + 400 / 750 + 100 / (900 * (1 - 300 / 800 - (400 / 2000) ** 2)))
    assert combined_bending_ratio(0, 600, (400, 1000, 1200)) == pytest.approx(0.4)


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: column_stability(0, 1000, 500_000),
        lambda: column_stability(50.1, 1000, 500_000),
        lambda: column_stability(20, 0, 500_000),
        lambda: column_stability(20, 1000, 0),
        lambda: beam_effective_length_in(0, 10),
        lambda: beam_effective_length_in(100, 0),
        lambda: beam_effective_length_in(100, 10, "sideways"),
        lambda: beam_stability(0, 1.5, 9.25, 1000, 500_000),
        lambda: beam_stability(2000, 1.5, 9.25, 1000, 500_000),  # RB above 50
        lambda: beam_stability(200, 1.5, 9.25, 0, 500_000),
        lambda: combined_bending_ratio(300, 0, (400, 1000, 1200)),
        lambda: combined_bending_ratio(1200, 2000, (400, 1000, 1200)),
        lambda: combined_bending_ratio(300, 600, (400, 1000, 1200), (100, 900, 300)),
        lambda: combined_bending_ratio(0, 600, (2000, 3000, math.inf), (1, 900, math.inf), 2000),  # FbE is reached
    ],
)
def test_where_the_formulas_end_nothing_is_given(impossible):
    with pytest.raises(OutOfRange):
        impossible()


BEAM = Lumber("southern pine", "No. 2", "2x10", plies=2)


def test_a_beam_that_bears_on_part_of_its_width_is_pressed_by_as_much_more():
    """NDS 3.10.2: 3000 lb on 1.5 in of 3 in of width, 3.5 in long: 571 psi instead of 286."""
    whole, half, wider = (bearing(BEAM, 3000, 3.5, 0.0, width_in) for width_in in (None, 1.5, 9.0))
    assert whole.demand == wider.demand == pytest.approx(3000 / 3 / 3.5)
    assert half.demand == pytest.approx(3000 / 1.5 / 3.5)
    assert half.capacity == whole.capacity == pytest.approx(adjusted_values(BEAM).fc_perp)
    assert_every_step_comes_out(half.steps)


@pytest.mark.parametrize(("distance_in", "length_in", "gains"), [(2.99, 3.5, False), (3, 3.5, True), (3, 6, False)])
def test_a_bearing_gains_where_it_is_short_and_away_from_the_end(distance_in, length_in, gains):
    """NDS 3.10.4: (lb + 0.375) / lb for less than 6 in, 3 in or more from the end."""
    found = bearing(BEAM, 3000, length_in, distance_in).capacity / adjusted_values(BEAM).fc_perp
    assert found == pytest.approx((length_in + 0.375) / length_in if gains else 1)


@pytest.mark.parametrize("wrong", [(-1, 3.5, 3), (3000, 0, 3), (3000, 3.5, 0)])
def test_a_bearing_without_load_length_or_width_is_refused(wrong):
    reaction_lb, length_in, width_in = wrong
    with pytest.raises(OutOfRange):
        bearing(BEAM, reaction_lb, length_in, 0.0, width_in)
