"""Stairs: what a foot and a hand rely on, and the wood that carries them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.loads import Loads
from engine.results import FORMULA_NAMES
from engine.stair_framing import (
    stringer_bearing,
    stringer_bending,
    stringer_hanger,
    stringer_load,
    stringer_shear,
    tread_bending,
    tread_deflection,
)
from engine.stairs import (
    clear_width,
    flight_rise,
    handrail_height,
    headroom,
    needs_handrail,
    open_riser,
    riser_heights,
    round_grip,
    shaped_grip,
    tread_depths,
    uniformity,
)

LOADS = Loads(live=40, dead=10)


def assert_steps_recompute(found):
    for step in found.steps:
        value = eval(step.formula, {"__builtins__": {}}, {**FORMULA_NAMES, **step.inputs})
        assert value == pytest.approx(step.value), step


def test_the_highest_riser_and_the_shallowest_tread_are_named():
    high = riser_heights([7.5, 8.0, 7.5], 7.75, "IRC R311.7.5.1")
    assert (high.demand, high.governs) == (8.0, "riser 2") and high.ratio > 1
    short = tread_depths([10, 10.5, 9.75], 10, "IRC R311.7.5.2")
    assert (short.capacity, short.governs) == (9.75, "tread 3") and short.ratio > 1


def test_one_odd_riser_at_the_bottom_trips_people():
    found = uniformity([6.5, 7.5, 7.5, 7.5], 0.375, "riser", "IRC R311.7.5.1")
    assert found.demand == 1.0 and found.ratio > 1
    assert "riser 1" in found.governs
    assert_steps_recompute(found)
    assert uniformity([7.5, 7.875], 0.375, "riser", "IRC R311.7.5.1").ratio == 1


@given(st.lists(st.floats(4, 12), min_size=1, max_size=16), st.floats(4, 12))
def test_one_more_riser_never_makes_a_flight_more_even_or_lower(risers, added):
    assert uniformity([*risers, added], 0.375, "riser", "").demand >= uniformity(risers, 0.375, "riser", "").demand
    assert riser_heights([*risers, added], 7.75, "").demand >= riser_heights(risers, 7.75, "").demand
    assert flight_rise([*risers, added], 147, "").demand > flight_rise(risers, 147, "").demand


def test_widths_headroom_and_open_risers():
    assert clear_width(35, 36, "IRC R311.7.1").ratio > 1
    assert headroom(80, 80, "IRC R311.7.2").ratio == 1
    assert open_riser(4.0, 4, "IRC R311.7.5.1").ratio > 1


@pytest.mark.parametrize(("risers", "needed"), [(3, False), (4, True), (1, False)])
def test_four_risers_ask_for_a_handrail(risers, needed):
    assert needs_handrail(risers, 4) is needed


def test_a_handrail_may_be_too_low_or_too_high():
    assert [one.ratio > 1 for one in handrail_height(33, 34, 38, "IRC R311.7.8.1")] == [True, False]
    assert [one.ratio > 1 for one in handrail_height(39, 34, 38, "IRC R311.7.8.1")] == [False, True]
    with pytest.raises(OutOfRange):
        handrail_height(36, 38, 34, "")


def test_a_two_by_six_laid_flat_is_no_grip():
    found = shaped_grip(
        14, 5.5, perimeter_least_in=4, perimeter_most_in=6.25, section_most_in=2.25, citation="IRC R311.7.8.5"
    )
    assert [one.ratio > 1 for one in found] == [False, True, True]
    assert all(one.ratio <= 1 for one in round_grip(1.5, 1.25, 2, "IRC R311.7.8.5"))
    assert round_grip(2.5, 1.25, 2, "IRC R311.7.8.5")[1].ratio > 1


@pytest.mark.parametrize(
    "bad", [lambda: riser_heights([], 7.75, ""), lambda: tread_depths([-1], 10, ""), lambda: needs_handrail(0, 4)]
)
def test_nothing_measured_is_not_judged(bad):
    with pytest.raises(OutOfRange):
        bad()


# -- stringers -------------------------------------------------------------------------------------------------------


def test_a_cut_stringer_of_six_feet_under_the_stair_load():
    """18 in of stair, 50 psf: 6.25 lb/in, 4050 in-lb; one 300 lb tread: 5400 in-lb and the dead load 810."""
    found = stringer_load(72, 18, LOADS)
    assert found.moment_in_lb == pytest.approx(5400 + 810)
    assert found.governs == "load on one tread"
    assert found.reaction_lb == pytest.approx(300 + 1.25 * 36)
    bent = stringer_bending(found, 1.5, 5, 1000)
    assert bent.demand == pytest.approx(6210 / 6.25)
    assert_steps_recompute(bent)


@given(st.floats(24, 160), st.floats(0, 60), st.floats(6, 40), st.floats(3, 11), st.floats(0, 2))
def test_a_longer_stringer_or_a_deeper_cut_never_helps(span_in, longer_in, width_in, throat_in, cut_in):
    for question in (stringer_bending, stringer_shear):
        less = question(stringer_load(span_in, width_in, LOADS), 1.5, throat_in, 1000)
        more = question(stringer_load(span_in + longer_in, width_in, LOADS), 1.5, throat_in - cut_in, 1000)
        assert more.ratio >= less.ratio - 1e-12
        assert_steps_recompute(more)


def test_the_stringer_must_be_held_at_its_end():
    found = stringer_load(72, 18, LOADS)
    assert stringer_hanger(found, 300).ratio > 1
    bearing = stringer_bearing(found, 1.5, 1.5, 565)
    assert bearing.demand == pytest.approx(345 / 2.25)
    assert_steps_recompute(bearing)


def test_a_tread_carries_three_hundred_pounds_on_two_inches():
    found = tread_bending(36, 11.25, 1.5, 1000)
    assert found.demand == pytest.approx(300 * (9 - 0.25) / (11.25 * 1.5**2 / 6))
    assert_steps_recompute(found)
    bent = tread_deflection(36, 11.25, 1.5, 1_400_000, 288)
    assert bent.demand == pytest.approx(300 * 36**3 / (48 * 1.4e6 * 11.25 * 1.5**3 / 12))
    assert bent.capacity == 0.125
    assert_steps_recompute(bent)
    with pytest.raises(OutOfRange):
        tread_bending(1, 11.25, 1.5, 1000)
