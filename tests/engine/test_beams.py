from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.beams import (
    BeamLine,
    beam_bearing,
    beam_bending,
    beam_forces,
    beam_live_deflection,
    beam_reactions,
    beam_shear,
    beam_tip_deflection,
    joist_tributary_in,
    max_beam_span,
)
from engine.errors import OutOfRange
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values
from tests.engine.derivations import assert_every_step_comes_out

BEAM = Lumber("southern pine", "No. 2", "2x10", plies=3)
HOUSE = Loads(live=40, dead=10)
SPANS = st.lists(st.floats(48, 144), min_size=1, max_size=4).map(tuple)


def test_joists_that_overhang_a_quarter_bring_25_32_of_their_span() -> None:
    assert joist_tributary_in(144, 36) == pytest.approx(144 * 0.78125)
    assert joist_tributary_in(144) == 72


def test_the_published_span_of_three_plies_comes_out_by_the_standard_alone() -> None:
    # IRC 2018 Table R507.5: 3-2x10 southern pine, joists 12 ft: 9 ft 2 in
    limit = max_beam_span(BEAM, 144, HOUSE)
    assert limit.value_in == pytest.approx(110, abs=0.5)
    assert_every_step_comes_out(limit.steps)


def test_two_plies_span_less_by_the_standard_than_in_the_table() -> None:
    # IRC 2018: 2-2x10, joists 12 ft: 7 ft 4 in, which rests on 1.10 for two plies
    two = dataclasses.replace(BEAM, plies=2)
    by_standard = max_beam_span(two, 144, HOUSE).value_in
    by_table = max_beam_span(two, 144, HOUSE, ply_factor=1.1)
    assert by_table.value_in == pytest.approx(88, abs=0.5)
    assert by_standard == pytest.approx(by_table.value_in / 1.1**0.5)
    assert any("published table" in each for each in by_table.assumptions)


def test_a_beam_at_its_longest_span_is_just_full() -> None:
    limit = max_beam_span(BEAM, 144, HOUSE)
    line = BeamLine((limit.value_in,))
    assert beam_bending(BEAM, line, joist_tributary_in(144, 36), HOUSE).ratio == pytest.approx(1)


def test_the_forces_of_two_equal_spans_with_people_on_one_or_both() -> None:
    # dead 1, live 4 on spans of 100: support 5 x 100^2 / 8; end span, other side empty: by three moments
    forces = beam_forces(BeamLine((100.0, 100.0)), 1.0, 4.0)
    assert forces.hogging_in_lb[1] == pytest.approx(6250)
    support = -(5 + 1) * 100**3 / 4 / (2 * 200)
    left_lb = 5 * 50 + support / 100
    assert forces.sagging_in_lb[0] == pytest.approx(left_lb**2 / (2 * 5))
    assert forces.reactions_lb == pytest.approx((left_lb, 625, left_lb))


def test_people_at_the_end_of_a_long_overhang_lift_the_far_post() -> None:
    forces = beam_forces(BeamLine((60.0,), 0.0, 40.0), 0.5, 10.0)
    assert forces.uplift_lb[0] > 0
    assert beam_forces(BeamLine((60.0,), 0.0, 10.0), 5.0, 10.0).uplift_lb == (0, 0)


def test_a_splice_over_a_post_makes_two_simple_spans() -> None:
    spliced = beam_forces(BeamLine((100.0, 100.0), splices=(1,)), 1.0, 4.0)
    assert spliced.hogging_in_lb[1] == 0
    assert spliced.sagging_in_lb == pytest.approx((6250, 6250))
    assert spliced.reactions_lb == pytest.approx((250, 500, 250))


def test_a_splice_halves_the_bearing_on_the_post() -> None:
    whole = beam_bearing(BEAM, BeamLine((96.0, 96.0)), 100, HOUSE, 5.5, 1)
    spliced = beam_bearing(BEAM, BeamLine((96.0, 96.0), splices=(1,)), 100, HOUSE, 5.5, 1)
    reaction_lb = 50 * 100 / 144 * 48
    assert spliced.demand == pytest.approx(reaction_lb / (4.5 * 2.75))
    assert whole.capacity > spliced.capacity  # Cb does not serve at the end of a member


LINES = [BeamLine((96.0,)), BeamLine((96.0, 120.0), 12.0, 24.0), BeamLine((96.0, 96.0, 96.0), splices=(2,))]


@pytest.mark.parametrize("line", LINES, ids=["one span", "two spans with overhangs", "spliced"])
@pytest.mark.parametrize("check", [beam_bending, beam_shear, beam_live_deflection])
def test_every_derivation_can_be_worked_out_again(check, line: BeamLine) -> None:
    comparison = check(BEAM, line, 100, Loads(40, 10, 30))
    assert comparison.governs
    assert_every_step_comes_out(comparison.steps)


def test_a_beam_or_splice_that_cannot_be_is_refused() -> None:
    for splices in ((0,), (2,)):
        with pytest.raises(OutOfRange):
            BeamLine((96.0, 96.0), splices=splices)
    with pytest.raises(OutOfRange):
        max_beam_span(BEAM, 0, HOUSE)
    with pytest.raises(OutOfRange):
        beam_bearing(BEAM, BeamLine((96.0,)), 100, HOUSE, 5.5, 2)
    with pytest.raises(OutOfRange):
        beam_bending(BEAM, BeamLine((96.0,)), 0, HOUSE)


@given(SPANS, st.floats(0, 24), st.floats(0, 24), st.floats(24, 140))
@settings(max_examples=50)
def test_the_posts_carry_at_least_all_that_is_on_the_beam(
    spans: tuple[float, ...], left: float, right: float, tributary_in: float
) -> None:
    reactions = beam_reactions(BeamLine(spans, left, right), tributary_in, HOUSE)
    total_lb = 50 * tributary_in / 144 * (sum(spans) + left + right)
    assert sum(reactions) >= total_lb * (1 - 1e-9)


@given(SPANS, st.floats(24, 140), st.floats(20, 90))
@settings(max_examples=50)
def test_more_load_never_helps_a_beam(spans: tuple[float, ...], tributary_in: float, live: float) -> None:
    line = BeamLine(spans)
    for check in (beam_bending, beam_shear, beam_live_deflection):
        less, more = (check(BEAM, line, tributary_in, Loads(live=each)).ratio for each in (live, live + 10))
        assert more >= less * (1 - 1e-9)


@given(st.floats(48, 216), st.floats(0, 36), st.sampled_from(["2x8", "2x10", "2x12"]), st.integers(1, 4))
def test_longer_joists_never_let_a_beam_span_more(joist_in: float, overhang_in: float, size: str, plies: int) -> None:
    lumber = Lumber("hem-fir", "No. 2", size, plies=plies)
    shorter = max_beam_span(lumber, joist_in, HOUSE, overhang_in).value_in
    # Beyond the overhang, which shrinks as a share of a longer joist.
    longer = max_beam_span(lumber, joist_in + 12, HOUSE, overhang_in * (joist_in + 12) / joist_in).value_in
    assert longer <= shorter + 1e-9


@given(st.floats(48, 216), st.sampled_from(["2x6", "2x8", "2x10", "2x12"]))
def test_one_more_ply_never_hurts(joist_in: float, size: str) -> None:
    spans = [max_beam_span(Lumber("hem-fir", "No. 2", size, plies=n), joist_in, HOUSE).value_in for n in (1, 2, 3, 4)]
    assert spans == sorted(spans)


def test_runs_between_splices_are_beams_of_their_own() -> None:
    whole = beam_forces(BeamLine((90.0, 100.0, 120.0, 80.0), 10.0, 20.0, splices=(2,)), 1.0, 4.0)
    left = beam_forces(BeamLine((90.0, 100.0), 10.0, 0.0), 1.0, 4.0)
    right = beam_forces(BeamLine((120.0, 80.0), 0.0, 20.0), 1.0, 4.0)
    assert whole.sagging_in_lb == left.sagging_in_lb + right.sagging_in_lb
    assert whole.shear_lb == left.shear_lb + right.shear_lb
    assert whole.hogging_in_lb == (*left.hogging_in_lb[:2], 0, *right.hogging_in_lb[1:])
    at_splice = left.reactions_lb[2] + right.reactions_lb[0]
    assert whole.reactions_lb == pytest.approx((*left.reactions_lb[:2], at_splice, *right.reactions_lb[1:]))


def test_uplift_at_a_splice_is_that_of_the_run_that_lifts_less_what_holds_it_down() -> None:
    lifting = BeamLine((60.0, 60.0), 0.0, 50.0, splices=(1,))
    forces = beam_forces(lifting, 0.5, 10.0)
    alone = beam_forces(BeamLine((60.0,), 0.0, 50.0), 0.5, 10.0)
    assert forces.uplift_lb[1] == pytest.approx(alone.uplift_lb[0] - 0.5 * 30)


def test_the_longest_span_governs_and_is_named() -> None:
    line = BeamLine((60.0, 60.0, 130.0, 60.0), splices=(2,))
    assert beam_live_deflection(BEAM, line, 100, HOUSE).governs == "live deflection, span 3"
    assert beam_shear(BEAM, line, 100, HOUSE).governs == "shear, span 3"
    assert "3" in beam_bending(BEAM, BeamLine((60.0, 60.0, 130.0), splices=(2,)), 100, HOUSE).governs


def test_the_stiffness_of_a_short_span_counts_against_its_own_length() -> None:
    line = BeamLine((70.0, 100.0), splices=(1,))
    found = beam_live_deflection(BEAM, line, 100, HOUSE)
    assert found.capacity == pytest.approx(100 / 360)
    assert found.ratio == pytest.approx(beam_live_deflection(BEAM, BeamLine((100.0,)), 100, HOUSE).ratio)


def test_a_post_under_the_very_end_of_a_beam_gets_no_cb() -> None:
    flush = beam_bearing(BEAM, BeamLine((96.0,)), 100, HOUSE, 5.5, 0)
    past = beam_bearing(BEAM, BeamLine((96.0,), 12.0, 0.0), 100, HOUSE, 5.5, 0)
    assert past.capacity == pytest.approx(flush.capacity * (5.5 + 0.375) / 5.5)


def test_a_beam_is_held_to_a_360th_unless_told_otherwise_and_the_place_is_named() -> None:
    assert max_beam_span(BEAM, 144, HOUSE).candidates["live deflection"] == pytest.approx(
        max_beam_span(BEAM, 144, HOUSE, deflection=360).candidates["live deflection"]
    )
    assert beam_bending(BEAM, BeamLine((96.0, 96.0)), 100, HOUSE).governs == "bending over post 2"


def test_the_free_end_goes_down_as_the_textbook_says() -> None:
    """w a**3 (4 l + 3 a) / 24 EI for an overhang loaded beside an empty span (the common table of beam formulas)."""
    found = beam_tip_deflection(BEAM, BeamLine((96.0,), 0.0, 30.0), 100, HOUSE)
    stiffness = adjusted_values(BEAM, members=BEAM.plies).e * BEAM.i_xx_in4
    assert found.demand == pytest.approx(40 * 100 / 144 * 30**3 * (4 * 96 + 3 * 30) / (24 * stiffness))
    assert found.capacity == pytest.approx(30 / 180)
    assert found.governs == "free end, right"
    assert_every_step_comes_out(found.steps)


def test_of_two_free_ends_the_one_that_springs_more_for_its_length_is_named() -> None:
    assert beam_tip_deflection(BEAM, BeamLine((96.0, 96.0), 30.0, 10.0), 100, HOUSE).governs == "free end, left"
    assert beam_tip_deflection(BEAM, BeamLine((96.0, 96.0), 10.0, 30.0), 100, HOUSE).governs == "free end, right"
    one, other = (
        beam_tip_deflection(BEAM, BeamLine((90.0,), *ends), 100, HOUSE) for ends in ((24.0, 0.0), (0.0, 24.0))
    )
    assert (one.demand, one.ratio) == pytest.approx((other.demand, other.ratio))


def test_a_beam_without_an_overhang_has_no_free_end() -> None:
    with pytest.raises(OutOfRange):
        beam_tip_deflection(BEAM, BeamLine((96.0,)), 100, HOUSE)


@given(SPANS, st.floats(4, 40), st.floats(20, 90))
@settings(max_examples=50)
def test_a_longer_overhang_or_more_load_never_steadies_its_end(
    spans: tuple[float, ...], overhang_in: float, live: float
) -> None:
    now = beam_tip_deflection(BEAM, BeamLine(spans, 0.0, overhang_in), 100, Loads(live=live)).ratio
    longer = beam_tip_deflection(BEAM, BeamLine(spans, 0.0, overhang_in + 6), 100, Loads(live=live)).ratio
    heavier = beam_tip_deflection(BEAM, BeamLine(spans, 0.0, overhang_in), 100, Loads(live=live + 10)).ratio
    assert longer >= now * (1 - 1e-9)
    assert heavier >= now * (1 - 1e-9)
