from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.decking import board_span_in, decking_bending, decking_deflection
from engine.errors import NotPublished, OutOfRange
from engine.loads import Loads
from engine.lumber import Lumber
from tests.engine.derivations import assert_every_step_comes_out

BOARD = Lumber("southern pine", "No. 2", "2x6", repetitive=False)
HOUSE = Loads(live=40, dead=10)


def test_a_board_lying_flat_by_hand() -> None:
    # 50 psf on 5.5 in over 24 in: 137.5 in-lb on 5.5 x 1.5^2 / 6 = 2.0625 in3; Fb 1000 x Cfu 1.15 (NDS-S Table 4B)
    found = decking_bending(BOARD, 24, HOUSE)
    assert found.demand == pytest.approx(137.5 / 2.0625)
    assert found.capacity == pytest.approx(1150)
    assert_every_step_comes_out(found.steps)


def test_a_heavy_foot_asks_more_than_a_crowd() -> None:
    crowd, foot = decking_bending(BOARD, 24, HOUSE), decking_bending(BOARD, 24, HOUSE, point_load_lb=300)
    assert foot.demand > 10 * crowd.demand
    assert_every_step_comes_out(foot.steps)


def test_a_diagonal_board_spans_the_diagonal() -> None:
    assert board_span_in(16, 45) == pytest.approx(16 * 2**0.5)
    straight, diagonal = (decking_deflection(BOARD, 16, HOUSE, angle_deg=each) for each in (0, 45))
    assert diagonal.ratio == pytest.approx(straight.ratio * 2**1.5)
    assert_every_step_comes_out(diagonal.steps)


def test_no_value_is_made_up_for_a_five_quarter_board() -> None:
    with pytest.raises(NotPublished):
        decking_bending(Lumber("southern pine", "No. 2", "5/4x6"), 16, HOUSE)


def test_a_board_along_the_joists_is_refused() -> None:
    with pytest.raises(OutOfRange):
        board_span_in(16, 80)


@given(st.floats(6, 24), st.floats(20, 100))
def test_a_wider_joist_spacing_never_helps_a_board(spacing_in: float, live: float) -> None:
    for check in (decking_bending, decking_deflection):
        near, far = (check(BOARD, each, Loads(live=live)).ratio for each in (spacing_in, spacing_in + 2))
        assert far > near


def test_one_person_stands_on_one_board_beside_its_own_weight_only() -> None:
    """300 lb at midspan of a flat 2x6, joists 16 in: (10 x 5.5 / 144 x 16^2 / 8 + 300 x 16 / 4) / (5.5 x 1.5^2 / 6)."""
    found = decking_bending(BOARD, 16, Loads(live=40, dead=10), point_load_lb=300)
    width_in = BOARD.depth_in
    moment = 10 * width_in / 144 * 16**2 / 8 + 300 * 16 / 4
    assert found.demand == pytest.approx(moment / (width_in * 1.5**2 / 6))
    assert all(step.symbol != "q" for step in found.steps)
