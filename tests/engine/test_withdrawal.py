"""Pulling a screw or nail out: what holds it, and what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.fasteners import (
    Fastener,
    adjusted_withdrawal,
    combined_load_capacity_lb,
    common_nail,
    corroded,
    head_pull_through,
    over_length,
    withdrawal,
    withdrawal_capacity,
    wood_screw,
)

LAG = Fastener("lag screw", 0.5)
KINDS = [
    LAG,
    wood_screw(10),
    common_nail("16d"),
    Fastener("nail", 0.148, shank="ring"),
    Fastener("nail", 0.148, is_stainless=True),
]


@given(st.sampled_from(KINDS), st.floats(0.31, 0.73), st.floats(0.31, 0.73))
def test_denser_wood_holds_at_least_as_well(fastener, g1, g2):
    light, dense = sorted((g1, g2))
    assert withdrawal(fastener, dense).w_lb_per_in >= withdrawal(fastener, light).w_lb_per_in


def test_a_bolt_is_not_pulled_out_but_bears_on_its_washer():
    with pytest.raises(OutOfRange, match="washer"):
        withdrawal(Fastener("bolt", 0.5), 0.5)


def test_end_grain_holds_a_lag_at_three_quarters_and_a_nail_not_at_all():
    assert withdrawal(LAG, 0.5, is_end_grain=True).w_lb_per_in == pytest.approx(0.75 * withdrawal(LAG, 0.5).w_lb_per_in)
    for fastener in (common_nail("16d"), wood_screw(10)):
        with pytest.raises(OutOfRange, match="end grain"):
            withdrawal(fastener, 0.5, is_end_grain=True)


def test_no_rule_says_what_a_rusted_thread_holds():
    with pytest.raises(OutOfRange, match="no published rule"):
        withdrawal(corroded(LAG, 0.01), 0.5)
    assert (
        withdrawal(corroded(common_nail("16d"), 0.01), 0.5).w_lb_per_in
        < withdrawal(common_nail("16d"), 0.5).w_lb_per_in
    )


def test_a_smooth_nail_loses_three_quarters_where_the_wood_dried_and_a_ring_shank_does_not():
    smooth, ring = withdrawal(common_nail("16d"), 0.5), withdrawal(Fastener("nail", 0.162, shank="ring"), 0.5)
    assert adjusted_withdrawal(smooth, wet_when_made=True).factors["CM"] == 0.25
    assert adjusted_withdrawal(smooth, wet=True, wet_when_made=False).factors["CM"] == 0.25
    assert adjusted_withdrawal(smooth, wet=True).factors["CM"] == 1.0
    assert adjusted_withdrawal(ring, wet_when_made=True).factors["CM"] == 1.0


def test_a_toe_nail_is_pulled_at_two_thirds_without_the_wet_factor():
    found = adjusted_withdrawal(withdrawal(common_nail("16d"), 0.5), wet_when_made=True, is_toe_nail=True)
    assert found.factors == {"CD": 1.0, "CM": 1.0, "Ct": 1.0, "Ctn": 0.67}
    assert found.unit == "lb/in"


def test_a_lag_in_wet_wood_keeps_seven_tenths():
    assert adjusted_withdrawal(withdrawal(LAG, 0.55), wet=True).value == pytest.approx(0.7 * 436.56, abs=0.01)


def test_length_times_value_and_nothing_for_no_length():
    total_lb, step = withdrawal_capacity(withdrawal(LAG, 0.55), 2.5)
    assert total_lb == step.value == pytest.approx(2.5 * 436.56, abs=0.02)
    dry = over_length(adjusted_withdrawal(withdrawal(LAG, 0.55)), 2.5)
    assert (dry.value, dry.unit) == (pytest.approx(total_lb), "lb")
    with pytest.raises(OutOfRange):
        over_length(dry, 2.5)
    with pytest.raises(OutOfRange):
        withdrawal_capacity(withdrawal(LAG, 0.55), 0)


def test_the_two_pull_through_formulas_meet_at_two_and_a_half_heads():
    thin, thick = head_pull_through(0.5, 0.5, 1.25)[0], head_pull_through(0.5, 0.5, 1.2501)[0]
    assert thin == pytest.approx(thick)


@pytest.mark.parametrize("kind", ["lag screw", "nail"])
def test_a_slanting_load_runs_from_lateral_to_withdrawal(kind):
    assert combined_load_capacity_lb(kind, 400, 150, 0)[0] == pytest.approx(150)
    assert combined_load_capacity_lb(kind, 400, 150, 90)[0] == pytest.approx(400)
    with pytest.raises(OutOfRange):
        combined_load_capacity_lb("bolt", 400, 150, 10)
    with pytest.raises(OutOfRange):
        combined_load_capacity_lb(kind, 400, 150, 100)


def test_a_ring_shank_and_a_stainless_nail_hold_by_formulas_of_their_own():
    """NDS 2018 Eq. 12.2-5: 1800 G^2 D, 66.6 lb/in; Eq. 12.2-4: 465 G^1.5 D, 24.33 lb/in (by hand, G 0.50)."""
    ring, stainless = Fastener("nail", 0.148, shank="ring"), Fastener("nail", 0.148, is_stainless=True)
    assert withdrawal(ring, 0.5).w_lb_per_in == pytest.approx(66.6)
    assert withdrawal(stainless, 0.5).w_lb_per_in == pytest.approx(24.3311, abs=1e-3)
    assert withdrawal(ring, 0.31).w_lb_per_in == pytest.approx(1800 * 0.0961 * 0.148)
    assert withdrawal(stainless, 0.36).w_lb_per_in == pytest.approx(465 * 0.216 * 0.148)


def test_a_wood_screw_holds_by_the_square_of_the_wood():
    """NDS Eq. 12.2-2: 2850 G^2 D; No. 10 (0.190 in) in G 0.50: 135.4 lb/in."""
    assert withdrawal(wood_screw(10), 0.5).w_lb_per_in == pytest.approx(135.375)


def test_rust_on_both_sides_of_a_nail_is_taken_off_its_diameter():
    nail = Fastener("nail", 0.162)
    rusted, thinner = corroded(nail, 0.01), Fastener("nail", 0.142)
    assert withdrawal(rusted, 0.5).w_lb_per_in == pytest.approx(withdrawal(thinner, 0.5).w_lb_per_in)


def test_wood_lighter_or_heavier_than_the_tables_and_heads_of_no_size_are_refused():
    for gravity in (0.2, 0.8):
        with pytest.raises(OutOfRange):
            withdrawal(LAG, gravity)
        with pytest.raises(OutOfRange):
            head_pull_through(0.5, gravity, 1.25)
    for head_in, thickness_in in ((0, 1.25), (0.5, 0)):
        with pytest.raises(OutOfRange):
            head_pull_through(head_in, 0.5, thickness_in)
    with pytest.raises(OutOfRange):
        combined_load_capacity_lb("nail", 0, 150, 10)
    with pytest.raises(OutOfRange):
        combined_load_capacity_lb("nail", 400, 150, 90.5)


@pytest.mark.parametrize("alpha_deg", [20, 45, 70])
def test_a_lag_pulled_aslant_follows_the_squares_of_sine_and_cosine(alpha_deg):
    """NDS Eq. 12.4-1: at 45 degrees twice the product over the sum."""
    found, _ = combined_load_capacity_lb("wood screw", 400, 150, alpha_deg)
    share = math.sin(math.radians(alpha_deg)) ** 2
    assert found == pytest.approx(1 / ((1 - share) / 150 + share / 400))


def test_a_pull_is_adjusted_for_duration_heat_and_wet_wood():
    """NDS Table 11.3.1: W' = W CD CM Ct; a screw in wet wood keeps 0.7, a nail that stayed wet keeps all."""
    screw = adjusted_withdrawal(withdrawal(wood_screw(10), 0.5), load_duration=1.15, wet=True, temperature_f=110)
    assert screw.factors == {"CD": 1.15, "CM": 0.7, "Ct": 0.7}
    assert screw.value == pytest.approx(135.375 * 1.15 * 0.7 * 0.7)
    assert adjusted_withdrawal(withdrawal(wood_screw(10), 0.5)).value == pytest.approx(135.375)
    for wrong in ({"load_duration": 0}, {"load_duration": 2}, {"temperature_f": 151}):
        with pytest.raises(OutOfRange):
            adjusted_withdrawal(withdrawal(LAG, 0.5), **wrong)
    with pytest.raises(OutOfRange, match="toe-nail"):
        adjusted_withdrawal(withdrawal(LAG, 0.5), is_toe_nail=True)
    with pytest.raises(OutOfRange):
        over_length(adjusted_withdrawal(withdrawal(LAG, 0.5)), 0)
