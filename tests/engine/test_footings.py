from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.footings import base_area_in2, footing_bearing, footing_depth, footing_thickness, required_footing
from engine.loads import Loads
from tests.engine.derivations import assert_every_step_comes_out

HOUSE = Loads(live=40, dead=10)


def test_a_footing_spreads_the_deck_area_over_the_soil() -> None:
    # 50 psf x 100 sq ft on 1500 psf: 3.33 sq ft, a side of 21.9 in (IRC 2018 Table R507.3.1 prints 22)
    footing = required_footing(100, HOUSE, 1500)
    assert footing.square_in == pytest.approx(math.sqrt(5000 / 1500 * 144))
    assert footing.round_in == pytest.approx(footing.square_in * math.sqrt(4 / math.pi))
    assert footing.thickness_in == pytest.approx((footing.square_in - 6) / 2)
    assert_every_step_comes_out(footing.steps)


def test_a_small_area_still_gets_the_least_footing() -> None:
    footing = required_footing(5, HOUSE, 3000)
    assert (footing.square_in, footing.round_in, footing.thickness_in) == (12, 14, 6)
    assert_every_step_comes_out(footing.steps)


def test_the_required_footing_is_just_full() -> None:
    footing = required_footing(120, HOUSE, 1500)
    assert footing_bearing(footing.load_lb, footing.square_in, 1500, is_round=False).ratio == pytest.approx(1)
    assert footing_bearing(footing.load_lb, footing.round_in, 1500, is_round=True).ratio == pytest.approx(1)


def test_the_weight_of_the_concrete_presses_too() -> None:
    bare = footing_bearing(3000, 20, 1500, is_round=False)
    heavy = footing_bearing(3000, 20, 1500, is_round=False, thickness_in=12)
    assert heavy.demand == pytest.approx(bare.demand + 150)
    assert_every_step_comes_out(heavy.steps)


def test_a_footing_above_the_frost_fails() -> None:
    assert footing_depth(30, 42).ratio > 1
    assert footing_depth(42, 42).ratio == 1
    shallow = footing_depth(10, 0)
    assert (shallow.demand, shallow.governs) == (12, "least depth")


def test_a_thin_wide_footing_does_not_spread_its_load() -> None:
    assert footing_thickness(6, 28).ratio > 1
    assert footing_thickness(11, 28).ratio == 1
    assert_every_step_comes_out(footing_thickness(8, 20, 5.5).steps)


@pytest.mark.parametrize("bad", [(0, 1500), (50, 0), (float("nan"), 1500)])
def test_a_footing_for_nothing_is_refused(bad: tuple[float, float]) -> None:
    with pytest.raises(OutOfRange):
        required_footing(bad[0], HOUSE, bad[1])
    with pytest.raises(OutOfRange):
        base_area_in2(0, is_round=True)


@given(st.floats(5, 400), st.floats(1000, 4000), st.floats(20, 100))
def test_more_load_or_weaker_soil_never_asks_for_less(area: float, soil: float, live: float) -> None:
    least = required_footing(area, Loads(live=live), soil)
    for more in (
        required_footing(area + 10, Loads(live=live), soil),
        required_footing(area, Loads(live=live + 10), soil),
        required_footing(area, Loads(live=live), soil * 0.9),
    ):
        assert more.square_in >= least.square_in
        assert more.round_in >= least.round_in
        assert more.thickness_in >= least.thickness_in


def test_the_load_spreads_from_the_post_that_stands_there():
    """70 psf on 100 sq ft, soil 1500: sqrt(4.667) ft = 25.9 in; 45 degrees from a 3.5 in post: 11.2 in thick."""
    footing = required_footing(100, Loads(live=60, dead=10), 1500, post_side_in=3.5)
    assert footing.thickness_in == pytest.approx((math.sqrt(7000 / 1500 * 144) - 3.5) / 2)
    assert footing_thickness(10, footing.square_in, 3.5).demand == pytest.approx(footing.thickness_in)
    with pytest.raises(OutOfRange, match="post_side_in"):
        required_footing(100, Loads(), 1500, post_side_in=0)


def test_a_depth_is_asked_for_by_frost_or_by_the_least_of_the_rule():
    """IRC R403.1.4: 12 in, or below frost; a local rule may ask for more."""
    assert (footing_depth(20, 36).demand, footing_depth(20, 36).governs) == (36, "frost")
    assert (footing_depth(20, 0).demand, footing_depth(20, 0).governs) == (12, "least depth")
    assert footing_depth(20, 0, 24).demand == 24
    for depth_in, frost_in in ((-1, 0), (1, -1)):
        with pytest.raises(OutOfRange):
            footing_depth(depth_in, frost_in)


def test_soil_that_bears_nothing_is_refused():
    with pytest.raises(OutOfRange, match="soil_psf"):
        footing_bearing(4000, 16, 0, is_round=False)


def test_the_underside_of_a_round_footing_is_printed_as_it_was_worked_out():
    found = footing_bearing(4000, 18, 2000, is_round=True, thickness_in=8)
    assert found.demand == pytest.approx(4000 / (math.pi * 9**2) * 144 + 150 * 8 / 12)
    assert_every_step_comes_out(found.steps)
    with pytest.raises(OutOfRange, match="thickness_in"):
        footing_thickness(0, 18)
