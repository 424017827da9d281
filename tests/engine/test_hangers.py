"""Hangers and what stands in for them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import NotPublished, OutOfRange
from engine.fasteners import Part, adjusted_lateral, adjusted_withdrawal, common_nail, lateral, withdrawal
from engine.hangers import (
    end_nails,
    hanger,
    hanger_depth,
    hanger_rating_by_table,
    joist_reaction,
    ledger_strip_bearing,
    ledger_strip_nails,
    uplift_at_house,
    uplift_clip,
)
from engine.loads import Loads
from engine.results import FORMULA_NAMES

LOADS = Loads(live=40, dead=10)
REACTION = joist_reaction(144, 16, LOADS)


def recompute(step):
    return eval(step.formula, {"__builtins__": {}}, {**FORMULA_NAMES, **step.inputs})


def test_a_twelve_foot_joist_at_sixteen_inches_brings_four_hundred_pounds():
    assert REACTION.value == pytest.approx(400)


def test_a_hanger_with_half_its_nails_keeps_half_its_rating():
    assert hanger(REACTION, 600).ratio == pytest.approx(400 / 600)
    half = hanger(REACTION, 600, 0.5)
    assert half.ratio == pytest.approx(400 / 300)
    assert any("no published source" in text for text in half.assumptions)
    assert hanger(REACTION, 600, 0).ratio == float("inf")


def test_a_hanger_with_the_wrong_screws_has_no_rating():
    with pytest.raises(OutOfRange, match="maker"):
        hanger(REACTION, 600, fasteners="wood screws")
    with pytest.raises(OutOfRange):
        hanger(REACTION, 600, 1.2)


@pytest.mark.parametrize(("size", "least"), [("2x6", 400), ("2x8", 500), ("2x10", 600), ("2x12", 700)])
def test_the_least_hanger_grows_with_the_joist(size, least):
    assert hanger_rating_by_table(size, 500).demand == least


def test_a_joist_that_is_not_in_the_table_is_not_guessed():
    with pytest.raises(NotPublished):
        hanger_rating_by_table("2x4", 500)


def test_a_shallow_hanger_lets_the_joist_roll():
    assert hanger_depth(5, 9.25, 0.6, "IRC R507.6.2").ratio == pytest.approx(5.55 / 5)


def test_a_ledger_strip_is_as_good_as_its_nails_and_its_bearing():
    nail = adjusted_lateral(lateral(common_nail("16d"), Part(0.55, 1.5), Part(0.55, 1.5)), wet=True)
    assert ledger_strip_nails(REACTION, nail, 3).ratio == pytest.approx(400 / (3 * nail.value))
    assert ledger_strip_bearing(REACTION, 1.5, 1.5, 565 * 0.67).demand == pytest.approx(400 / 2.25)
    with pytest.raises(OutOfRange):
        ledger_strip_nails(REACTION, nail, 0)
    with pytest.raises(OutOfRange):
        ledger_strip_nails(REACTION, adjusted_withdrawal(withdrawal(common_nail("16d"), 0.55)), 3)


def test_a_short_overhang_does_not_lift_the_joist_and_a_long_one_does():
    """12 ft span, 3 ft overhang, 16 in: live lifts 20 lb, dead holds 75 lb. At 8 ft it lifts."""
    assert uplift_at_house(144, 36, 16, LOADS).value == 0
    lifted = uplift_at_house(144, 96, 16, LOADS)
    assert lifted.value == pytest.approx(16 / 144 * (40 * 32 - 10 * (72 - 32)))
    assert recompute(lifted) == pytest.approx(lifted.value)
    assert uplift_clip(lifted, 0).ratio == float("inf")
    assert uplift_clip(uplift_at_house(144, 36, 16, LOADS), 0).ratio == 0


@given(st.floats(60, 240), st.floats(0, 100), st.floats(0, 40))
def test_a_longer_overhang_never_lifts_less(span_in, overhang_in, longer_in):
    less, more = (uplift_at_house(span_in, a, 16, LOADS).value for a in (overhang_in, overhang_in + longer_in))
    assert more >= less - 1e-9


def test_nails_that_alone_hold_a_joist_carry_their_number_times_one():
    nail = adjusted_lateral(lateral(common_nail("16d"), Part(0.55, 1.5), Part(0.55, 1.5)))
    found = end_nails(REACTION, nail, 3)
    assert (found.demand, found.capacity) == (pytest.approx(400), pytest.approx(3 * nail.value))
    with pytest.raises(OutOfRange):
        end_nails(REACTION, adjusted_withdrawal(withdrawal(common_nail("16d"), 0.55)), 3)


def test_one_nail_in_the_strip_is_enough_to_count_and_none_is_not():
    nail = adjusted_lateral(lateral(common_nail("16d"), Part(0.55, 1.5), Part(0.55, 1.5)))
    assert ledger_strip_nails(REACTION, nail, 1).capacity == pytest.approx(nail.value)
    with pytest.raises(OutOfRange):
        ledger_strip_nails(REACTION, nail, 0)


def test_only_a_hanger_with_fasteners_missing_is_counted_in_proportion():
    whole, half = hanger(REACTION, 600), hanger(REACTION, 600, 0.5)
    assert (whole.governs, half.governs) == ("hanger", "hanger with fasteners missing")
    assert not any("proportion" in words for words in whole.assumptions)
    assert any("proportion" in words for words in half.assumptions)


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: joist_reaction(0, 16, LOADS),
        lambda: joist_reaction(144, -1, LOADS),
        lambda: hanger(REACTION, 0),
        lambda: hanger_rating_by_table("2x8", 0),
        lambda: hanger_depth(0, 7.25, 0.6, "IRC"),
        lambda: hanger_depth(5, 7.25, 1.1, "IRC"),
        lambda: ledger_strip_bearing(REACTION, 0, 1.5, 400),
        lambda: ledger_strip_bearing(REACTION, 1.5, 1.5, 0),
        lambda: uplift_at_house(0, 24, 16, LOADS),
        lambda: uplift_at_house(96, -1, 16, LOADS),
        lambda: uplift_clip(REACTION, -1),
    ],
)
def test_what_cannot_be_measured_is_refused(impossible):
    with pytest.raises(OutOfRange):
        impossible()
