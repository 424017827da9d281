from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.bearing import bearing
from engine.errors import EngineError, OutOfRange
from engine.joists import (
    joist_bearing,
    joist_bending,
    joist_bending_over_support,
    joist_live_deflection,
    joist_notch_depth,
    joist_reactions,
    joist_shear,
    joist_tip_deflection,
    joist_total_deflection,
    max_joist_overhang,
    max_joist_span,
)
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values
from engine.statics import Line
from tests.engine.derivations import assert_every_step_comes_out

JOIST = Lumber("southern pine", "No. 2", "2x10")
HOUSE = Loads(live=40, dead=10)
SPECIES = st.sampled_from(["southern pine", "douglas fir-larch", "hem-fir", "spruce-pine-fir", "redwood"])
SIZES = st.sampled_from(["2x6", "2x8", "2x10", "2x12"])
LUMBER = st.builds(Lumber, SPECIES, st.just("No. 2"), SIZES, incised=st.booleans())
SPACINGS = st.floats(8, 24)
LOADS = st.builds(Loads, live=st.floats(20, 100), dead=st.floats(5, 30), snow=st.floats(0, 80))


def test_the_published_span_of_a_2x10_at_16_in_comes_out() -> None:
    # AWC DCA 6-2012 Table 2: southern pine 2x10 at 16 in, 14 ft 0 in, bending
    limit = max_joist_span(JOIST, 16, HOUSE)
    assert limit.value_in == pytest.approx(168.34, abs=0.01)
    assert limit.governs == "bending"
    assert_every_step_comes_out(limit.steps)


def test_a_joist_at_its_longest_span_is_just_full() -> None:
    span_in = max_joist_span(JOIST, 16, HOUSE).value_in
    assert joist_bending(JOIST, 16, span_in, HOUSE).ratio == pytest.approx(1)


def test_a_2x6_is_ruled_by_stiffness() -> None:
    limit = max_joist_span(dataclasses.replace(JOIST, size="2x6"), 12, HOUSE)
    assert limit.governs == "live deflection"
    assert joist_live_deflection(
        dataclasses.replace(JOIST, size="2x6"), 12, limit.value_in, HOUSE
    ).ratio == pytest.approx(1)


def test_the_cap_of_the_tables_can_be_taken_away() -> None:
    large = dataclasses.replace(JOIST, size="2x12")
    assert max_joist_span(large, 12, HOUSE).governs == "end of the published tables"
    assert max_joist_span(large, 12, HOUSE, cap_in=math.inf).value_in > 216


@pytest.mark.parametrize(
    "comparison",
    [
        joist_bending(JOIST, 16, 150, HOUSE),
        joist_bending_over_support(JOIST, 16, 30, HOUSE),
        joist_bending_over_support(JOIST, 16, 60, Loads(live=100)),
        joist_shear(JOIST, 16, 150, HOUSE, 30),
        joist_shear(JOIST, 16, 150, HOUSE, 0, 2),
        joist_notch_depth(JOIST, 2),
        joist_live_deflection(JOIST, 16, 150, Loads(40, 10, 30)),
        joist_total_deflection(JOIST, 16, 150, HOUSE),
        joist_bearing(JOIST, 16, 150, HOUSE, 1.5),
        joist_bearing(JOIST, 16, 150, HOUSE, 3, 30, at_end=False),
        joist_tip_deflection(JOIST, 150, 30),
    ],
    ids=lambda c: c.governs,
)
def test_every_derivation_can_be_worked_out_again(comparison) -> None:
    assert_every_step_comes_out(comparison.steps)
    assert comparison.citation


def test_a_thin_overhang_is_ruled_by_the_tip_load_and_a_wide_load_by_the_uniform_one() -> None:
    assert joist_bending_over_support(JOIST, 16, 24, HOUSE).governs == "tip load"
    assert joist_bending_over_support(JOIST, 24, 72, Loads(live=100)).governs == "uniform load"


def test_the_shear_beside_the_beam_is_that_of_the_statics() -> None:
    w = 50 * 16 / 144
    found = Line((150.0,), 0.0, 30.0).solve((w,), 0.0, w)
    assert joist_shear(JOIST, 16, 150, HOUSE, 30).demand == pytest.approx(max(abs(v) for v in found.shears_lb[0]))
    ledger_lb, beam_lb = joist_reactions(16, 150, HOUSE, 30)
    assert beam_lb == pytest.approx(found.reactions_lb[1])
    assert ledger_lb == pytest.approx(w * 75)


def test_a_notch_takes_more_shear_than_its_depth_alone() -> None:
    # NDS 3.4.3.2(a): (2/3 Fv' b dn)(dn / d)^2 with 1.5 in, 9.25 in less 3 in and Fv' 175 x 0.97
    left_in = 6.25
    by_hand_lb = 2 / 3 * 175 * 0.97 * 1.5 * left_in * (left_in / 9.25) ** 2
    assert joist_shear(JOIST, 16, 150, HOUSE, 0, 3).capacity == pytest.approx(by_hand_lb)
    assert joist_notch_depth(JOIST, 2.3125).ratio == pytest.approx(1)
    with pytest.raises(OutOfRange):
        joist_shear(JOIST, 16, 150, HOUSE, 0, 9.25)


def test_creep_adds_the_dead_load_twice_where_the_wood_is_wet() -> None:
    wet = joist_total_deflection(JOIST, 16, 150, HOUSE)
    live = joist_live_deflection(JOIST, 16, 150, HOUSE)
    assert wet.demand == pytest.approx(live.demand * (40 + 2 * 10) / 40)


def test_a_bearing_far_from_the_end_takes_more() -> None:
    assert bearing(JOIST, 500, 1.5, 3).capacity == pytest.approx(1.25 * bearing(JOIST, 500, 1.5, 0).capacity)
    assert bearing(JOIST, 500, 6, 12).capacity == bearing(JOIST, 500, 6, 0).capacity


def test_an_overhang_stays_within_a_quarter_of_the_span() -> None:
    limit = max_joist_overhang(JOIST, 100)
    assert limit.governs == "a quarter of the span"
    assert limit.value_in == 25
    assert_every_step_comes_out(limit.steps)
    with pytest.raises(OutOfRange, match="quarter"):
        max_joist_span(JOIST, 16, HOUSE, overhang_in=50)


def test_a_span_with_an_overhang_passes_all_its_single_checks() -> None:
    limit = max_joist_span(JOIST, 16, HOUSE, overhang_in=38)
    assert_every_step_comes_out(limit.steps)
    span_in = limit.value_in
    assert joist_tip_deflection(JOIST, span_in, 38).ratio <= 1 + 1e-9
    assert joist_bending(JOIST, 16, span_in, HOUSE).ratio <= 1 + 1e-9
    assert joist_shear(JOIST, 16, span_in, HOUSE, 38).ratio <= 1


def test_a_single_joist_wide_apart_is_not_repetitive() -> None:
    assert joist_bending(JOIST, 30, 100, HOUSE).capacity * 1.15 == pytest.approx(
        joist_bending(JOIST, 24, 100, HOUSE).capacity
    )


@pytest.mark.parametrize(
    ("spacing_in", "span_in", "overhang_in"),
    [(0, 100, 0), (16, -5, 0), (16, 100, -1), (16, float("nan"), 0), (16, 5000, 0)],
)
def test_a_joist_that_cannot_be_is_refused(spacing_in: float, span_in: float, overhang_in: float) -> None:
    with pytest.raises(OutOfRange):
        joist_shear(JOIST, spacing_in, span_in, HOUSE, overhang_in)


@given(LUMBER, SPACINGS, LOADS)
def test_more_load_never_lengthens_a_span(lumber: Lumber, spacing_in: float, loads: Loads) -> None:
    more = dataclasses.replace(loads, live=loads.live + 10, dead=loads.dead + 5)
    assert (
        max_joist_span(lumber, spacing_in, more).value_in <= max_joist_span(lumber, spacing_in, loads).value_in + 1e-9
    )


@given(LUMBER, SPACINGS, LOADS)
def test_joists_closer_together_never_span_less(lumber: Lumber, spacing_in: float, loads: Loads) -> None:
    closer = max_joist_span(lumber, spacing_in * 0.9, loads)
    assert closer.value_in >= max_joist_span(lumber, spacing_in, loads).value_in - 1e-9


@given(SPECIES, SIZES, SPACINGS, LOADS)
def test_a_stronger_grade_never_spans_less(species: str, size: str, spacing_in: float, loads: Loads) -> None:
    weak, strong = (Lumber(species, grade, size, wet=False) for grade in ("No. 3", "Select Structural"))
    assert max_joist_span(strong, spacing_in, loads).value_in >= max_joist_span(weak, spacing_in, loads).value_in


@given(LUMBER, SPACINGS, LOADS, st.floats(48, 200))
def test_the_longest_span_and_the_single_checks_agree(
    lumber: Lumber, spacing_in: float, loads: Loads, span_in: float
) -> None:
    limit = max_joist_span(lumber, spacing_in, loads, cap_in=math.inf)
    ratios = (
        joist_bending(lumber, spacing_in, span_in, loads).ratio,
        joist_shear(lumber, spacing_in, span_in, loads).ratio,
        joist_live_deflection(lumber, spacing_in, span_in, loads).ratio,
    )
    assert (max(ratios) <= 1) == (span_in <= limit.value_in)


@given(LUMBER, st.floats(48, 200), st.floats(6, 40))
def test_a_longer_overhang_never_deflects_less_for_its_length(lumber: Lumber, span_in: float, a_in: float) -> None:
    assert joist_tip_deflection(lumber, span_in, a_in + 1).ratio > joist_tip_deflection(lumber, span_in, a_in).ratio


@given(LUMBER, SPACINGS, st.floats(60, 160), st.floats(0, 6))
def test_a_deeper_notch_never_carries_more(lumber: Lumber, spacing_in: float, span_in: float, notch_in: float) -> None:
    try:
        shallow = joist_shear(lumber, spacing_in, span_in, HOUSE, 0, notch_in)
        deep = joist_shear(lumber, spacing_in, span_in, HOUSE, 0, notch_in + 0.25)
    except EngineError:
        assert notch_in + 0.25 >= lumber.depth_in
        return
    assert deep.capacity <= shallow.capacity


def test_a_named_species_may_span_more_than_its_group() -> None:
    # Douglas fir 2x8 at 16 in computes to 11-5, the group prints 11-1 (hem-fir)
    alone = max_joist_span(Lumber("douglas fir-larch", "No. 2", "2x8", incised=True), 16, HOUSE).value_in
    assert alone == pytest.approx(137, abs=1)
    assert adjusted_values(Lumber("douglas fir-larch", "No. 2", "2x8", incised=True)).fb > 0


def test_a_short_overhang_brings_the_bearing_too_near_the_end_for_cb() -> None:
    # 3.5 in of bearing, joist end 4 in past its middle: 2.25 in to the end, less than the 3 in of NDS 3.10.4
    near = joist_bearing(JOIST, 16, 150, HOUSE, 3.5, 4, at_end=False)
    far = joist_bearing(JOIST, 16, 150, HOUSE, 3.5, 5, at_end=False)
    assert far.capacity == pytest.approx(near.capacity * (3.5 + 0.375) / 3.5)


def test_a_seat_narrower_than_the_beam_carries_on_its_own_width() -> None:
    """NDS 3.10.2: 3000 lb on 3.5 in along two 1.5 in plies, of which a seat takes 1.5 in, or never more than both."""
    beam = Lumber("southern pine", "No. 2", "2x10", plies=2)
    assert bearing(beam, 3000, 3.5, width_in=1.5).demand == pytest.approx(3000 / (1.5 * 3.5))
    assert bearing(beam, 3000, 3.5, width_in=5.5).demand == pytest.approx(3000 / (3.0 * 3.5))
    assert bearing(beam, 3000, 3.5).demand == pytest.approx(3000 / (3.0 * 3.5))
    for bad in ({"bearing_length_in": 0}, {"bearing_length_in": 3, "width_in": 0}):
        with pytest.raises(OutOfRange):
            bearing(beam, 3000, **bad)
    with pytest.raises(OutOfRange):
        bearing(beam, -1, 3.5)
