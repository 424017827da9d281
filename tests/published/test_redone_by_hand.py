"""Derivations done again apart from the engine, as an engineer would with the NDS and a pocket calculator.

Nothing here is taken from the engine but its answer. Design values and factors are typed in from the NDS 2018 and its
Supplement (from memory where the reference tables of this folder do not have them); moments and reactions of continuous
beams from the usual beam tables.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from engine.beams import BeamLine, beam_forces
from engine.fasteners import (
    Fastener,
    Part,
    adjusted_lateral,
    adjusted_withdrawal,
    combined_load_capacity_lb,
    geometry_factor,
    group_action_factor,
    lateral,
    toe_nail_lengths_in,
    withdrawal,
)
from engine.footings import footing_bearing, required_footing
from engine.guards import guard_post_demand
from engine.hangers import joist_reaction, uplift_at_house
from engine.joists import (
    joist_bearing,
    joist_bending,
    joist_bending_over_support,
    joist_live_deflection,
    joist_shear,
    joist_tip_deflection,
)
from engine.ledgers import ledger_fastener_loads
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values
from engine.posts import post_capacity
from engine.stability import beam_effective_length_in, beam_stability
from engine.stair_framing import stringer_load

LIVE = Loads(live=40, dead=10)
PINE = Lumber("southern pine", "No. 2", "2x10", wet=True, repetitive=True)


# -- members ---------------------------------------------------------------------------------------------------------


def test_bending_of_a_southern_pine_2x10_joist_at_14_ft():
    """NDS 3.3.2, 4.3.1: Fb 800 (SP No. 2, 10 in), Cr 1.15; 800 is under 1150, so that CM is 1.0. 16 in apart."""
    found = joist_bending(PINE, 16, 168, LIVE)
    moment = 50 * 16 / 12 / 12 * 168**2 / 8
    assert found.demand == pytest.approx(moment / (1.5 * 9.25**2 / 6))
    assert found.capacity == pytest.approx(800 * 1.15)


def test_a_wet_douglas_fir_2x6_loses_15_percent_and_a_2x8_does_not():
    """NDS-S Table 4A: CM 0.85 where Fb x CF is over 1150: 900 x 1.3 = 1170, 900 x 1.2 = 1080; incised 0.8."""
    six, eight = (
        adjusted_values(Lumber("douglas fir-larch", "No. 2", size, wet=True, incised=True, repetitive=True))
        for size in ("2x6", "2x8")
    )
    assert six.fb == pytest.approx(900 * 1.3 * 0.85 * 0.8 * 1.15)
    assert eight.fb == pytest.approx(900 * 1.2 * 0.8 * 1.15)
    assert six.e == pytest.approx(1_600_000 * 0.9 * 0.95)


def test_live_deflection_of_a_hem_fir_2x8_joist():
    """5 w l^4 / (384 E I); E 1,300,000, wet 0.9, incised 0.95; 40 psf at 16 in over 11 ft."""
    found = joist_live_deflection(Lumber("hem-fir", "No. 2", "2x8", wet=True, incised=True), 16, 132, LIVE)
    e, i = 1_300_000 * 0.9 * 0.95, 1.5 * 7.25**3 / 12
    assert found.demand == pytest.approx(5 * (40 * 16 / 144) * 132**4 / (384 * e * i))
    assert found.capacity == pytest.approx(132 / 360)


def test_shear_at_a_notch_goes_with_the_square_of_what_is_left():
    """NDS 3.4.3.2(a): Vr' = 2/3 Fv' b dn (dn/d)^2; southern pine 175 psi, wet 0.97."""
    found = joist_shear(PINE, 16, 144, LIVE, 0.0, 2.0)
    assert found.demand == pytest.approx(50 * 16 / 144 * 144 / 2)
    assert found.capacity == pytest.approx(2 / 3 * 175 * 0.97 * 1.5 * 7.25 * (7.25 / 9.25) ** 2)


def test_an_inner_bearing_of_an_inch_and_a_half_counts_a_quarter_more():
    """NDS 3.10.4: Cb = (1.5 + 0.375) / 1.5 = 1.25; Fc_perp 565 x 0.67 wet; R = w (l + a)^2 / 2 l at the beam."""
    found = joist_bearing(PINE, 16, 120, LIVE, 1.5, 24, at_end=False)
    assert found.demand == pytest.approx(50 * 16 / 144 * 144**2 / 240 / 1.5**2)
    assert found.capacity == pytest.approx(565 * 0.67 * 1.25)


def test_the_overhang_of_a_joist_bends_and_springs_under_220_lb():
    """DCA 6 Table 2 note 3: 220 lb at the tip. M = P a + wD a^2 / 2 at 30 in; tip P a^2 (l + a) / (3 E I)."""
    bent = joist_bending_over_support(PINE, 16, 30, LIVE)
    tip = 220 * 30 + 10 * 16 / 144 * 30**2 / 2
    full = 50 * 16 / 144 * 30**2 / 2
    assert bent.demand == pytest.approx(max(tip, full) / (1.5 * 9.25**2 / 6))
    sprung = joist_tip_deflection(PINE, 120, 30)
    assert sprung.demand == pytest.approx(220 * 30**2 * 150 / (3 * 1_400_000 * 0.9 * 1.5 * 9.25**3 / 12))


def test_an_overhang_full_of_people_lifts_the_house_end():
    """40 psf on 48 in past the beam, 10 psf everywhere, 96 in of span, 16 in apart: moments about the beam."""
    live, dead = 40 * 16 / 144, 10 * 16 / 144
    up = (live * 48 * 24 + dead * 48 * 24 - dead * 96 * 48) / 96
    assert uplift_at_house(96, 48, 16, LIVE).value == pytest.approx(up)


@pytest.mark.parametrize(
    ("spans", "at_support", "in_span", "reaction"),
    [(2, 0.125, 0.0957, 1.25), (3, 0.1167, 0.1013, 1.20)],
)
def test_a_continuous_beam_is_loaded_on_its_worst_spans(spans, at_support, in_span, reaction):
    """Beam tables, equal spans under live load alone: moments of w l^2 and the reaction of w l at an inner post.

    Two spans: 1/8 over the post with both loaded, 0.0957 in a span loaded alone. Three: 0.1167 and 1.20 with two
    neighbours loaded, 0.1013 with the two outer ones (from memory, as the tables print them).
    """
    found = beam_forces(BeamLine((100.0,) * spans), 0.0, 10.0)
    assert max(found.hogging_in_lb) == pytest.approx(at_support * 10 * 100**2, rel=1e-3)
    assert max(found.sagging_in_lb) == pytest.approx(in_span * 10 * 100**2, rel=1e-3)
    assert found.reactions_lb[1] == pytest.approx(reaction * 10 * 100, rel=1e-3)


def test_an_unbraced_beam_rolls_over_before_it_breaks():
    """NDS 3.3.3: a 2x10 held at its ends only, 12 ft: le = 1.63 lu + 3 d; FbE = 1.2 Emin' / RB^2; CL of Eq. 3.3-6."""
    le = 1.63 * 144 + 3 * 9.25
    assert beam_effective_length_in(144, 9.25) == pytest.approx(le)
    fbe = 1.2 * 510_000 / (le * 9.25 / 1.5**2)
    ratio = fbe / 800
    cl = (1 + ratio) / 1.9 - math.sqrt(((1 + ratio) / 1.9) ** 2 - ratio / 0.95)
    assert beam_stability(le, 1.5, 9.25, 800, 510_000).factor == pytest.approx(cl)


# -- posts -----------------------------------------------------------------------------------------------------------


def test_a_hem_fir_4x4_post_of_8_ft():
    """NDS 3.7.1: Fc 1300 x 1.15 (CF), wet 0.8, incised 0.8; Emin 470,000 x 0.9 x 0.95; le/d = 96/3.5; c 0.8."""
    fc, e_min = 1300 * 1.15 * 0.8 * 0.8, 470_000 * 0.9 * 0.95
    fce = 0.822 * e_min / (96 / 3.5) ** 2
    a = (1 + fce / fc) / 1.6
    load = fc * (a - math.sqrt(a**2 - fce / fc / 0.8)) * 3.5**2
    assert float(post_capacity(Lumber("hem-fir", "No. 2", "4x4", wet=True, incised=True), 96)) == pytest.approx(load)


def test_the_thin_side_of_a_4x6_post_is_the_one_that_buckles():
    """Southern pine No. 2, 6 in wide: Fc 1400, wet 0.8; Emin 510,000 x 0.9; 10 ft on the 3.5 in side."""
    fc, e_min = 1400 * 0.8, 510_000 * 0.9
    fce = 0.822 * e_min / (120 / 3.5) ** 2
    a = (1 + fce / fc) / 1.6
    load = fc * (a - math.sqrt(a**2 - fce / fc / 0.8)) * 3.5 * 5.5
    assert float(post_capacity(Lumber("southern pine", "No. 2", "4x6", wet=True), 120)) == pytest.approx(load)


def test_a_beam_on_the_side_of_a_6x6_bends_the_post_too():
    """NDS 15.4.1 with an axial load only: (fc/Fc')^2 + fc (6 e/d) (1 + 0.234 fc/FcE) / (Fb' (1 - fc/FcE)) = 1.

    Southern pine No. 2, 5 x 5 and larger (NDS-S Table 4D): Fc 525, Fb 850, Emin 440,000, no wet factor; 8 ft, e 4.25.
    """
    fce = 0.822 * 440_000 / (96 / 5.5) ** 2
    a = (1 + fce / 525) / 1.6
    cp = a - math.sqrt(a**2 - fce / 525 / 0.8)

    def interaction(fc: float) -> float:
        bent = fc * 6 * 4.25 / 5.5 * (1 + 0.234 * fc / fce) / (850 * (1 - fc / fce))
        return (fc / (525 * cp)) ** 2 + bent - 1

    load = brentq(interaction, 0, 525 * cp) * 5.5**2
    post = Lumber("southern pine", "No. 2", "6x6", wet=True)
    found = post_capacity(post, 96, eccentricity_in=4.25)
    assert float(found) == pytest.approx(load, rel=1e-6)


def test_a_nailed_post_of_two_plies_slips_across_its_plies():
    """NDS 15.3.2: Kf 0.6 on the axis across the plies, 3 in for two 2x6; southern pine No. 2, 8 ft, dry."""
    fc, e_min = 1400, 510_000
    fce = 0.822 * e_min / (96 / 3.0) ** 2
    a = (1 + fce / fc) / 1.6
    weak = 0.6 * (a - math.sqrt(a**2 - fce / fc / 0.8))
    fce_strong = 0.822 * e_min / (96 / 5.5) ** 2
    b = (1 + fce_strong / fc) / 1.6
    strong = b - math.sqrt(b**2 - fce_strong / fc / 0.8)
    post = Lumber("southern pine", "No. 2", "2x6", plies=2, wet=False)
    assert float(post_capacity(post, 96)) == pytest.approx(fc * min(weak, strong) * 3.0 * 5.5)


# -- dowels ----------------------------------------------------------------------------------------------------------


def _by_equilibrium(qm: float, lm: float, qs: float, ls: float, hinge: float) -> dict[str, float]:
    """Yield loads of a dowel in single shear without reduction, by the equilibrium of the bent dowel (AWC TR 12).

    A rotating dowel end that bears on length l of strength q both ways: shear P at the face and moment q l^2/4 - P l/2
    - P^2/(4 q). A hinge instead: the moment is the plastic one less P^2 / (2 q).
    """

    def rotating(q: float, length: float, p: float) -> float:
        return q * length**2 / 4 - p * length / 2 - p**2 / (4 * q)

    def hinged(q: float, p: float) -> float:
        return hinge - p**2 / (2 * q)

    most = 10 * max(qm * lm, qs * ls)
    ends = {
        "II": (lambda p: rotating(qm, lm, p), lambda p: rotating(qs, ls, p)),
        "IIIm": (lambda p: rotating(qm, lm, p), lambda p: hinged(qs, p)),
        "IIIs": (lambda p: hinged(qm, p), lambda p: rotating(qs, ls, p)),
        "IV": (lambda p: hinged(qm, p), lambda p: hinged(qs, p)),
    }
    found = {"Im": qm * lm, "Is": qs * ls}
    for mode, (main, side) in ends.items():
        # the moments of both parts at the shear plane are equal and opposite
        found[mode] = brentq(lambda p, m=main, s=side: m(p) + s(p), 1e-6, most)
    return found


@pytest.mark.parametrize(("angle_m", "angle_s"), [(0, 0), (90, 90), (0, 90), (90, 0)])
def test_every_yield_mode_of_a_bolt_from_the_equilibrium_of_the_bent_dowel(angle_m, angle_s):
    """5/8 in bolt, 1.5 in side on 3.5 in main, G 0.50: Fe par 5600, perp 2800 psi; Fyb 45,000 psi; Rd of 12.3.1B."""
    fe = {0: 5600.0, 90: 2800.0}
    qm, qs = fe[angle_m] * 0.625, fe[angle_s] * 0.625
    bare = _by_equilibrium(qm, 3.5, qs, 1.5, 45_000 * 0.625**3 / 6)
    k_theta = 1 + 0.25 * max(angle_m, angle_s) / 90
    rd = {"Im": 4, "Is": 4, "II": 3.6, "IIIm": 3.2, "IIIs": 3.2, "IV": 3.2}
    found = lateral(Fastener("bolt", 0.625), Part(0.5, 3.5, angle_m), Part(0.5, 1.5, angle_s))
    assert found.modes == pytest.approx({mode: value / rd[mode] / k_theta for mode, value in bare.items()})


def test_a_bolt_at_45_degrees_by_hankinson():
    """NDS 12.3.4: Fe = Fpar Fperp / (Fpar sin^2 + Fperp cos^2); 3/4 in, G 0.55: 6150 and 6100 G^1.45 / sqrt(D)."""
    perpendicular = round(6100 * 0.55**1.45 / math.sqrt(0.75) / 50) * 50
    parallel = round(11200 * 0.55 / 50) * 50
    fe = parallel * perpendicular / (parallel * 0.5 + perpendicular * 0.5)
    found = lateral(Fastener("bolt", 0.75), Part(0.55, 3.5, 45), Part(0.55, 1.5, 0))
    assert found.modes["Im"] == pytest.approx(0.75 * 3.5 * fe / (4 * 1.125))


def test_a_bolt_in_double_shear_has_four_modes():
    """NDS Table 12.3.1A, 1/2 in bolt, 3.5 in between two 1.5 in, G 0.43 along the grain: Fe 4800 psi.

    Im: D lm Fe / 4; Is: 2 D ls Fe / 4; IV: 2 D^2 / 3.2 sqrt(2 Fe Fyb / (3 x 2)).
    """
    found = lateral(Fastener("bolt", 0.5), Part(0.43, 3.5, 0), Part(0.43, 1.5, 0), shear_planes=2)
    k3 = -1 + math.sqrt(4 + 2 * 45_000 * 3 * 0.25 / (3 * 4800 * 1.5**2))
    expected = {
        "Im": 0.5 * 3.5 * 4800 / 4,
        "Is": 2 * 0.5 * 1.5 * 4800 / 4,
        "IIIs": 2 * k3 * 0.5 * 1.5 * 4800 / (3 * 3.2),
        "IV": 2 * 0.25 / 3.2 * math.sqrt(2 * 4800 * 45_000 / 6),
    }
    assert found.modes == pytest.approx(expected)


def test_a_nail_has_one_divisor_for_all_modes():
    """NDS 12.3.1B: D up to 0.17 in, KD 2.2. 16d common in G 0.42, 1-1/2 in side, 10D: Fe 16600 G^1.84 = 3350 psi."""
    fe = round(16600 * 0.42**1.84 / 50) * 50
    assert fe == 3350
    bare = _by_equilibrium(fe * 0.162, 9 * 0.162, fe * 0.162, 1.5, 90_000 * 0.162**3 / 6)
    found = lateral(Fastener("nail", 0.162), Part(0.42, 9 * 0.162, 90), Part(0.42, 1.5, 90))
    assert found.modes == pytest.approx({mode: value / 2.2 for mode, value in bare.items()})


def test_a_toe_nail_starts_a_third_of_its_length_up():
    """NDS 12.1.5.4: 10d common, 3 in: a third, 1 in, in the joist; 3 cos 30 - 1 = 1.6 in beyond. Ctn 0.83, wet 0.7."""
    nail = Fastener("nail", 0.148, length_in=3.0)
    side_in, reach_in = toe_nail_lengths_in(nail)
    assert (side_in, reach_in) == pytest.approx((1.0, 1.598), abs=5e-4)
    bare = lateral(nail, Part(0.55, reach_in - 0.148, 90), Part(0.55, side_in, 90))
    fe = round(16600 * 0.55**1.84 / 50) * 50
    modes = _by_equilibrium(fe * 0.148, reach_in - 0.148, fe * 0.148, side_in, 90_000 * 0.148**3 / 6)
    assert adjusted_lateral(bare, wet=True, is_toe_nail=True).value == pytest.approx(
        min(modes.values()) / 2.2 * 0.83 * 0.7
    )


def test_a_wet_lag_screw_drawn_out_of_side_and_end_grain():
    """NDS Eq. 12.2-1: 1800 G^1.5 D^0.75, 0.75 of it in end grain (12.2.1.3), 0.7 wet."""
    lag = Fastener("lag screw", 0.5)
    side = 1800 * 0.43**1.5 * 0.5**0.75
    assert adjusted_withdrawal(withdrawal(lag, 0.43), wet=True).value == pytest.approx(0.7 * side)
    assert withdrawal(lag, 0.43, is_end_grain=True).w_lb_per_in == pytest.approx(0.75 * side)


def test_a_lag_screw_pulled_aslant():
    """NDS Eq. 12.4-1 at 30 degrees: 400 x 250 / (400 x 0.75 + 250 x 0.25)."""
    assert combined_load_capacity_lb("lag screw", 400, 250, 30)[0] == pytest.approx(100_000 / 362.5)


def test_the_bolts_of_a_row_share_as_springs_do():
    """NDS 11.3.6 from its model: members stretch between bolts, each bolt slips by its load over gamma.

    Worked out here as a system of linear equations for a row of n bolts pulled at one end of each member.
    """
    n, s, d = 5, 4.0, 0.75
    main, side = 1.4e6 * 5.25, 1.4e6 * 8.25
    gamma = 180_000 * d**1.5
    # Between bolt i and i + 1 the main member carries the bolts before, the side member those behind.
    equations, right = np.zeros((n, n)), np.zeros(n)
    for i in range(n - 1):
        equations[i, i], equations[i, i + 1] = 1 / gamma, -1 / gamma
        for j in range(n):
            equations[i, j] += s / side if j <= i else 0.0
        for j in range(n):
            equations[i, j] -= s / main if j > i else 0.0
    equations[n - 1, :] = 1.0
    right[n - 1] = 1.0
    shares = np.linalg.solve(equations, right)
    expected = 1 / (n * max(shares))
    assert group_action_factor(n, s, d, main, side)[0] == pytest.approx(expected, rel=0.01)


def test_a_bolt_half_way_to_its_end_distance_keeps_half():
    """NDS Table 12.5.1A, tension towards the end, softwood: 7D for all, 3.5D at least; 3/4 in bolt, 4 in: 4 / 5.25."""
    assert geometry_factor(0.75, direction="tension", end_distance_in=4.0).factor == pytest.approx(4 / 5.25)


# -- guards, ledger, stairs, footings --------------------------------------------------------------------------------


def test_the_pull_on_a_guard_bolt_by_the_equilibrium_of_the_post():
    """Forces across a post of 42 in, bolts 2 in below the rim top and 5 in apart: sum of forces and of moments."""
    push_at, upper, lower = 42 + 1.0, -2.0, -7.0
    pulls = np.linalg.solve([[1, 1], [upper - lower, 0]], [-200, -200 * (push_at - lower)])
    found = guard_post_demand(42, upper_bolt_below_rim_top_in=2, bolt_spacing_in=5)
    assert found.bolt_tension_lb == pytest.approx(-pulls[0])
    inward = guard_post_demand(42, upper_bolt_below_rim_top_in=2, bolt_spacing_in=5, direction="inward")
    assert inward.bolt_tension_lb == pytest.approx(pulls[1])


def test_a_ledger_bolt_carries_half_way_to_its_neighbours():
    """Bolts at 4, 16, 40 and 56 in of 60; joists of 10 ft, 50 psf: 250 lb a foot of ledger."""
    loads = [each.load_lb for each in ledger_fastener_loads((4, 16, 40, 56), 60, 120, LIVE)]
    assert loads == pytest.approx([10 * 250 / 12, 18 * 250 / 12, 20 * 250 / 12, 12 * 250 / 12])


def test_one_foot_on_a_tread_rules_a_narrow_stair():
    """300 lb in the middle of 60 in beside 10 psf on 9 in: 4781 in-lb; 50 psf all along: 1406 in-lb."""
    found = stringer_load(60, 9, LIVE)
    assert found.moment_in_lb == pytest.approx(300 * 60 / 4 + 10 / 144 * 9 * 60**2 / 8)
    assert found.governs == "load on one tread"


def test_a_footing_under_80_sq_ft_on_poor_soil():
    """50 psf x 80 sq ft on 1500 psf: sqrt(2.667) ft = 19.6 in square, 22.1 in round; concrete weighs 150 pcf."""
    found = required_footing(80, LIVE, 1500)
    assert (found.square_in, found.round_in) == pytest.approx((19.596, 22.112), abs=1e-3)
    pressed = footing_bearing(4000, 24, 1500, is_round=True, thickness_in=12)
    assert pressed.demand == pytest.approx(4000 / math.pi + 150)


def test_a_joist_brings_half_its_load_to_the_house():
    assert joist_reaction(144, 16, LIVE).value == pytest.approx(50 * (16 / 12) * 12 / 2)
