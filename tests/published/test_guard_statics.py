"""The pull on the upper fastener of a guard post, against values worked out apart from this engine.

200 lb at 36 in above 1 in of decking, by the height of the rim, the place of the bolts and what the post turns about.
The 1800 lb that DCA 6 asks of a hold-down stands for an arm of 4.9 in with the bolt 2 in down.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from engine.guards import guard_post_demand, hold_down

TABLE = (  # rim depth in, upper bolt below rim top in, bolt spacing in (None: turns about the rim's bottom), tension lb
    ("2x8", 7.25, 2.0, 3.25, 2600),
    ("2x8", 7.25, 1.5, 4.25, 2010),
    ("2x8", 7.25, 2.0, None, 1690),
    ("2x10", 9.25, 2.0, 5.25, 1690),
    ("2x10", 9.25, 2.0, None, 1280),
)


def rows() -> Iterator[tuple[str, float, float, float]]:
    """(name, published, computed, tolerance); the table is rounded to 10 lb."""
    for rim, depth_in, upper_in, spacing_in, tension_lb in TABLE:
        pivot = "rim bottom" if spacing_in is None else "lower bolt"
        found = guard_post_demand(
            36,
            upper_bolt_below_rim_top_in=upper_in,
            bolt_spacing_in=spacing_in,
            rim_depth_in=depth_in,
            pivot=pivot,
        )
        yield f"{rim} e {upper_in} {pivot}", tension_lb, found.bolt_tension_lb, 5.0


@pytest.mark.parametrize("row", [pytest.param(row, id=row[0]) for row in rows()])
def test_the_pull_on_the_upper_bolt_comes_out(row):
    _, published, computed, tolerance = row
    assert computed == pytest.approx(published, abs=tolerance)


def test_the_prescribed_hold_down_stands_for_an_arm_of_4_9_in():
    at = guard_post_demand(36, upper_bolt_below_rim_top_in=2, bolt_spacing_in=4.875)
    assert hold_down(at, 1800).ratio == pytest.approx(1.0, abs=0.01)
    close = guard_post_demand(36, upper_bolt_below_rim_top_in=2, bolt_spacing_in=3.25, rim_depth_in=7.25)
    assert hold_down(close, 1800).ratio > 1.4
