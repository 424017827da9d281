"""Plies of a beam: what must pass between them by statics, what nails and bolts pass by the NDS."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.fasteners import Fastener, Part, common_nail, lateral
from engine.lumber import Lumber
from engine.plies import PlyFastening, between_plies, passed_between_plies, ply_fastening, ply_hold, worth_step
from tests.engine.derivations import assert_every_step_comes_out

BEAM = Lumber("southern pine", "No. 2", "2x10", plies=2, wet=False)
NAILS = PlyFastening(common_nail("16d"), 2, 16)


def test_a_16d_common_nail_between_two_plies_carries_what_the_table_says() -> None:
    """NDS 2018 Table 12N: 154 lb for southern pine, 1-1/2 in side member, 10D of penetration.

    Between two plies the point comes out, so 1-1/2 in of the main member bears; in mode IV that changes nothing.
    """
    assert between_plies(NAILS.fastener, BEAM).value == pytest.approx(154, abs=0.5)


def test_nails_pass_their_value_times_rows_along_each_foot() -> None:
    one = between_plies(NAILS.fastener, BEAM)
    assert worth_step(NAILS, one).value == pytest.approx(one.value * 2 * 12 / 16)
    assert worth_step(PlyFastening(NAILS.fastener, 3, 8), one).value == pytest.approx(one.value * 3 * 12 / 8)


def test_the_rules_own_nails_are_worth_just_what_the_rule_is() -> None:
    same = ply_fastening(BEAM, NAILS, NAILS, "IRC R507.5")
    closer = ply_fastening(BEAM, PlyFastening(NAILS.fastener, 2, 8), NAILS, "IRC R507.5")
    assert (same.ratio, closer.ratio) == pytest.approx((1.0, 0.5))
    assert_every_step_comes_out(closer.steps)


@pytest.mark.parametrize(
    ("plies", "seat_in", "share"),
    [
        (2, 1.5, 1 / 2),  # one ply stands, the other hangs with its half
        (2, 1.0, 1 / 2),
        (2, 2.5, 1.5 / 2.5 - 1 / 2),
        (2, 3.0, 0.0),
        (3, 3.0, 1 / 3),
        (3, 1.5, 2 / 3),
        (3, 4.0, 3.0 / 4.0 - 2 / 3),
        (3, 9.0, 0.0),
        (1, 0.5, 0.0),
    ],
)
def test_what_does_not_stand_on_the_seat_hangs_on_what_does(plies: int, seat_in: float, share: float) -> None:
    step = passed_between_plies(3000, plies, 1.5, seat_in)
    assert step.value == pytest.approx(3000 * share)
    assert_every_step_comes_out([step])


@given(st.integers(1, 4), st.floats(0.25, 6), st.floats(0.01, 2))
def test_a_wider_seat_never_makes_more_hang(plies: int, seat_in: float, more_in: float) -> None:
    narrow, wide = (passed_between_plies(1000, plies, 1.5, each).value for each in (seat_in, seat_in + more_in))
    assert 0 <= wide <= narrow + 1e-9
    assert narrow <= 1000 * (plies - 1) / plies + 1e-9


def test_bolts_and_nails_beside_the_post_hold_the_hanging_ply_together() -> None:
    bolt, nail = between_plies(Fastener("bolt", 0.5), BEAM), between_plies(NAILS.fastener, BEAM)
    step = passed_between_plies(3000, 2, 1.5, 1.5)
    both = ply_hold(step, bolt, 2, NAILS, nail, 20.0)
    assert both.capacity == pytest.approx(2 * bolt.value + 2 * nail.value)  # one nail of each row within 20 in
    assert ply_hold(step, bolt, 2, None, None, 20.0).capacity == pytest.approx(2 * bolt.value)
    assert ply_hold(step, None, 0, NAILS, nail, 15.9).capacity == 0
    assert ply_hold(step, None, 0, NAILS, nail, 32.0).capacity == pytest.approx(4 * nail.value)
    assert both.demand == 1500
    assert_every_step_comes_out(both.steps)


def test_fastenings_that_cannot_be_are_refused() -> None:
    for rows, spacing_in in ((0, 16), (2, 0)):
        with pytest.raises(OutOfRange):
            PlyFastening(NAILS.fastener, rows, spacing_in)
    with pytest.raises(OutOfRange):
        between_plies(Fastener("nail", 0.162, length_in=1.5), BEAM)  # does not reach the second ply
    for reaction_lb, plies, seat_in in ((-1, 2, 1.5), (1, 0, 1.5), (1, 2, 0)):
        with pytest.raises(OutOfRange):
            passed_between_plies(reaction_lb, plies, 1.5, seat_in)


def test_between_plies_wet_wood_and_the_duration_of_the_load_count_as_for_any_fastener() -> None:
    """NDS Table 11.3.1: 0.7 in wet wood, times the load duration factor; a bolt is pushed across the grain of both."""
    wet = Lumber("southern pine", "No. 2", "2x10", plies=2)
    assert between_plies(NAILS.fastener, wet).value == pytest.approx(0.7 * between_plies(NAILS.fastener, BEAM).value)
    bolt = Fastener("bolt", 0.5)
    assert between_plies(bolt, BEAM, 1.15).value == pytest.approx(1.15 * between_plies(bolt, BEAM).value)
    z = lateral(bolt, Part(0.55, 1.5, 90), Part(0.55, 1.5, 90)).z_lb
    assert between_plies(bolt, BEAM).value == pytest.approx(z)


def test_it_is_said_what_is_taken_for_granted_of_the_plies() -> None:
    one = between_plies(NAILS.fastener, BEAM)
    step = passed_between_plies(3000, 2, 1.5, 1.5)
    assert "each ply is fastened to the next in the same way" in ply_fastening(BEAM, NAILS, NAILS, "").assumptions
    assert "each ply is fastened to the next in the same way" in ply_hold(step, None, 0, NAILS, one, 20).assumptions
    assert ply_hold(step, None, 0, None, None, 20).assumptions == ()
    with pytest.raises(OutOfRange):
        ply_hold(step, None, 0, NAILS, one, -1)
    with pytest.raises(OutOfRange):
        passed_between_plies(3000, 2, 0, 1.5)
    assert PlyFastening(NAILS.fastener, 1, 16).rows == 1


def test_what_is_not_there_holds_no_ply_and_stands_in_no_line() -> None:
    """No bolt through beam and post, or nails along the beam whose value is not known: neither counts."""
    passed = passed_between_plies(1000, 2, 1.5, 1.5)
    bolt = between_plies(Fastener("bolt", 0.5), BEAM)
    for found in (ply_hold(passed, bolt, 0, None, None, 12), ply_hold(passed, None, 0, NAILS, None, 12)):
        assert found.capacity == 0
        assert [step.symbol for step in found.steps] == ["V"]
