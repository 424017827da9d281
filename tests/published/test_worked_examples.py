"""Worked examples of others, read in public copies and redone by hand apart from the engine before they came here.

What was read is named example by example; numbers that the copy does not show are redone by hand and said to be.
"""

from __future__ import annotations

import pytest

from engine.fasteners import Fastener, Part, lag_thread_length_in, lateral, withdrawal, withdrawal_capacity
from engine.footings import footing_bearing
from engine.guard_infill import rail_bending
from engine.guards import guard_post_demand
from engine.lumber import DesignValues, Lumber, adjusted_values, design_values, own_weight_pcf
from engine.stability import beam_effective_length_in, beam_stability, column_stability


def test_a_glued_beam_braced_at_midspan():
    """Wood Design Examples (a public course paper on the NDS), Example 6.6: 6-3/4 x 30 in, 40 ft, braced at midspan.

    Read: le 481 in, RB 17.80, FbE 2613 psi for Emin 690,000 psi, Fb* 2400 psi. CL is cut off in the copy; by hand from
    the printed figures: F = 2613 / 2400 = 1.089, CL = 2.089 / 1.9 - sqrt((2.089 / 1.9)^2 - 1.089 / 0.95) = 0.849.
    """
    le_in = beam_effective_length_in(240, 30, "uniform")
    assert le_in == pytest.approx(481, abs=0.5)
    found = beam_stability(le_in, 6.75, 30, 2400, 690_000)
    steps = {step.symbol: step.value for step in found.steps}
    assert steps["RB"] == pytest.approx(17.80, abs=0.005)
    assert found.critical_psi == pytest.approx(2613, abs=0.5)
    assert found.factor == pytest.approx(0.849, abs=0.0005)


@pytest.mark.parametrize(
    ("length_in", "side_in", "critical", "factor", "allowed"),
    [(30, 1.5, 1130, 0.497, 943), (120, 5.5, 950, 0.434, 823)],
)
def test_a_2x6_post_braced_across_its_thin_side(length_in, side_in, critical, factor, allowed):
    """Column stability factor, example 1 (public engineering wiki): 2x6 Douglas fir-larch, 10 ft, CD 1.15.

    Read: Fc* 1650 x 1.15 = 1898 psi, FcE 1130 and 950 psi, CP 0.497 and 0.434, Fc' 943 and 823 psi. Its Emin is printed
    as 555,000 psi, but its results come from the 550,000 psi of NDS-S Table 4A.
    """
    found = column_stability(length_in / side_in, 1650 * 1.15, 550_000)
    assert found.critical_psi == pytest.approx(critical, abs=0.5)
    assert found.factor == pytest.approx(factor, abs=0.0005)
    assert found.factor * 1650 * 1.15 == pytest.approx(allowed, abs=1)


def test_a_lag_screw_of_a_permit_drawn_out_of_douglas_fir():
    """A calculation on file with a city (2024): 3/8 x 7 in, Douglas fir-larch, steel plate: 1153 lb by the NDS.

    By hand: 1800 x 0.5^1.5 x 0.375^0.75 = 304.97 lb/in over 4 in of thread less 7/32 in of tip.
    """
    lag = Fastener("lag screw", 0.375, length_in=7)
    thread_in = lag_thread_length_in(7) - lag.tip_in
    found, _ = withdrawal_capacity(withdrawal(lag, 0.5), thread_in)
    assert found == pytest.approx(1153, abs=0.5)


def wet_floor_member() -> DesignValues:
    """2x8 Douglas fir-larch No. 1, wet, dead and snow load, alone (no repetitive use)."""
    return adjusted_values(Lumber("douglas fir-larch", "No. 1", "2x8", wet=True, repetitive=False), load_duration=1.15)


@pytest.mark.parametrize(
    ("value", "printed_psi"), [("fb", 1173), ("ft", 932), ("fv", 201)], ids=["bending", "tension", "shear"]
)
def test_the_allowable_stresses_of_a_wet_2x8(value, printed_psi):
    """CE 479 wood design example, autumn 2006 (a public course paper on the NDS 2001): 1173, 932 and 201 psi, read.

    The wet factor on bending is in play: 1000 x 1.2 = 1200 psi is over the 1150 psi below which it does not count.
    """
    assert getattr(wet_floor_member(), value) == pytest.approx(printed_psi, abs=0.55)


def test_a_6x6_by_a_spreadsheet_of_1999():
    """Column sheet after Design of Wood Structures - ASD, p. 7.15 (public copy): 14 ft, Fc* 900 psi, E 1,600,000 psi.

    Read: le/d 30.55, FcE 514.46 psi by the older 0.3 E (for 0.822 Emin), CP 0.4819, Fc' 433.8 psi.
    """
    found = column_stability(168 / 5.5, 900, 0.3 * 1_600_000 / 0.822)
    assert found.critical_psi == pytest.approx(514.46, abs=0.005)
    assert found.factor == pytest.approx(0.4819, abs=0.00005)
    assert found.factor * 900 == pytest.approx(433.8, abs=0.06)


def test_a_4x4_post_of_a_marina_permit():
    """A calculation on file with a city (2022, NDS 2018): 4x4, 8.33 ft, Fc 575 psi x CF 1.15, Emin 400,000, CD 1.25.

    Read: 832 lb dead, 490 lb roof live, 20.352 lb of its own; stress ratio 0.3120.
    """
    fc_psi = 575 * 1.15 * 1.25
    found = column_stability(8.33 * 12 / 3.5, fc_psi, 400_000)
    assert (832 + 490 + 20.352) / 12.25 / (fc_psi * found.factor) == pytest.approx(0.3120, abs=0.00005)


def test_a_header_of_a_4x10():
    """A calculation on file with a city (NDS 2018): Douglas fir-larch (north) 4x10, CD 1.15, 3000 lb-ft.

    Read: fb 721 psi, Fb' 1173 psi, Fv' 207 psi. By hand: 36,000 in-lb / 49.91 in3. Its shear of 75 psi leaves out the
    load within d of the support, which the engine does not.
    """
    header = Lumber("douglas fir-larch (north)", "No. 1/No. 2", "4x10", wet=False, repetitive=False)
    values = adjusted_values(header, load_duration=1.15)
    assert 3000 * 12 / header.s_xx_in3 == pytest.approx(721, abs=0.5)
    assert (values.fb, values.fv) == pytest.approx((1173, 207), abs=0.5)


WEIGHTS = {  # pcf as printed, by specific gravity as printed
    "douglas fir-larch": (0.50, 33.6), "douglas fir-larch (north)": (0.49, 33.0), "hem-fir": (0.43, 29.2),
    "hem-fir (north)": (0.46, 31.1), "southern pine": (0.55, 36.7), "spruce-pine-fir": (0.42, 28.5),
    "spruce-pine-fir (south)": (0.36, 24.6), "northern species": (0.35, 24.0), "western woods": (0.36, 24.6),
}  # fmt: skip


@pytest.mark.parametrize("species", WEIGHTS)
def test_what_lumber_weighs(species):
    """Wood Structural Design Data, revisions of 1992 (public copy): weight for each species, pcf, at 15 % moisture."""
    gravity, printed_pcf = WEIGHTS[species]
    assert own_weight_pcf(gravity, 15) == pytest.approx(printed_pcf, abs=0.05)


def test_a_16d_nail_at_the_bottom_of_a_wall():
    """A question in a public archive of engineers (2009): 16d common, 1-1/2 in of Douglas fir, 10D in: 141 lb."""
    found = lateral(Fastener("nail", 0.162), Part(0.5, 1.62 - 0.162), Part(0.5, 1.5))
    assert found.z_lb == pytest.approx(141, abs=0.5)


def test_a_cedar_guard_post_of_a_permit():
    """A calculation on file with a city (2019): 200 lb at 36 in, 4x4, lags 5.75 in apart, 3/8 in lag, rail of 92.5 in.

    Read: 7200 in-lb and 1252 lb, which leave out the way from the deck down to the lags; S of a 4x4 7.146 in3; 296 lb
    an inch for the lag; 4625 in-lb in the rail. The engine counts the decking and the whole way to the lower lag.
    """
    found = guard_post_demand(36, upper_bolt_below_rim_top_in=0.75, bolt_spacing_in=5.75, decking_in=0)
    left_out = 200 * (0.75 + 5.75) / 5.75
    assert found.bolt_tension_lb - left_out == pytest.approx(1252, abs=0.5)
    assert next(step.value for step in found.steps if step.symbol == "S") == pytest.approx(7.146, abs=0.0005)
    assert withdrawal(Fastener("lag screw", 0.375), 0.49).w_lb_per_in == pytest.approx(296, abs=0.5)
    assert rail_bending(92.5, 1.0, 1000.0).demand == pytest.approx(4625)


def test_a_lag_of_a_guard_on_a_wood_floor():
    """A calculation on file with a city (2019, Table 11.2A of the NDS 2001): 3/8 in lag in Douglas fir, 305 lb/in."""
    gravity = design_values(Lumber("douglas fir-larch", "No. 2", "2x8")).specific_gravity
    assert withdrawal(Fastener("lag screw", 0.375), gravity).w_lb_per_in == pytest.approx(305, abs=0.5)


def test_a_tube_of_12_in_under_a_small_deck():
    """A building official in a public forum (2019): 10 x 10 ft on a house and two piers, 1250 lb on each.

    Read: 113 sq in, 1170 lb at 1500 psf (by hand 1178 lb), so the pier is too small.
    """
    found = footing_bearing(1250, 12, 1500, is_round=True, thickness_in=0.0)
    assert found.ratio == pytest.approx(1250 / 1178, abs=0.0005)
