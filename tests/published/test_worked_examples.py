"""Worked examples of others, read in public copies and redone by hand apart from the engine before they came here.

What was read is named example by example; numbers that the copy does not show are redone by hand and said to be.
"""

from __future__ import annotations

import pytest

from engine.fasteners import Fastener, lag_thread_length_in, withdrawal, withdrawal_capacity
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
