"""The ledger: the load on each fastener from where it stands, and the three witnesses to what it can carry."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import NotPublished, OutOfRange
from engine.fasteners import Fastener, corroded
from engine.ledger_layout import LayoutRule, edge_distances, end_distances, unstaggered_neighbours
from engine.ledgers import (
    anchor_by_rating,
    band_objection,
    capacity_by_tests,
    counts_as_attachment,
    fastener_by_nds,
    fastener_by_test,
    ledger_bending,
    ledger_fastener_loads,
    ledger_fastener_value,
    spacing_by_tests_in,
    worst_gap,
)
from engine.loads import Loads
from engine.results import FORMULA_NAMES

LOADS = Loads(live=40, dead=10)
LENGTH_IN = 192.0
BOLT, LAG = Fastener("bolt", 0.5), Fastener("lag screw", 0.5, length_in=4)
positions = st.lists(st.integers(0, 192).map(float), min_size=1, max_size=14)


def carried(positions_in, sound=None, span_in=144.0, loads=LOADS):
    return ledger_fastener_loads(positions_in, LENGTH_IN, span_in, loads, sound=sound)


def test_evenly_spaced_fasteners_share_evenly():
    """16 ft ledger, 12 ft joists, 50 psf: 50 x 6 = 300 lb a foot, so 400 lb at 16 in."""
    found = carried([8 + 16 * i for i in range(12)])
    assert [one.load_lb for one in found] == pytest.approx([400] * 12)
    assert sum(one.load_lb for one in found) == pytest.approx(300 * 16)


def test_a_missing_lag_throws_its_share_on_the_neighbours():
    sound = [True] * 12
    sound[5] = False
    found = carried([8 + 16 * i for i in range(12)], sound)
    assert [one.load_lb for one in found[4:7]] == pytest.approx([600, 0, 600])
    assert not found[5].is_working and found[5].steps == ()


def test_the_outermost_fastener_carries_the_ledger_to_its_end():
    found = carried([24, 96, 168])
    assert [one.share_in for one in found] == [60, 72, 60]
    assert carried([24, 96, 180])[2].share_in == pytest.approx(192 - 138)


def test_an_upper_and_a_lower_fastener_at_one_place_share():
    assert [one.share_in for one in carried([48, 48, 144])] == [48, 48, 96]


def test_the_answers_stand_in_the_order_of_the_question():
    assert [one.position_in for one in carried([96, 24, 168])] == [96, 24, 168]


@given(positions, st.data())
def test_the_shares_sum_to_the_length_of_the_ledger(places, data):
    sound = data.draw(st.lists(st.booleans(), min_size=len(places), max_size=len(places)).filter(any))
    found = carried(places, sound)
    assert sum(one.share_in for one in found) == pytest.approx(LENGTH_IN)
    assert sum(one.load_lb for one in found) == pytest.approx(50 / 144 * 72 * LENGTH_IN)


@given(positions, st.integers(0, 192))
def test_adding_a_fastener_never_raises_another_load(places, added):
    before = carried(places)
    after = carried([*places, float(added)])
    for old, new in zip(before, after, strict=False):
        assert new.load_lb <= old.load_lb + 1e-9


@given(positions, st.floats(10, 100), st.floats(0, 60), st.floats(60, 240), st.floats(0, 60))
def test_more_load_or_a_longer_span_never_helps(places, live, more, span_in, longer_in):
    less = carried(places, span_in=span_in, loads=Loads(live=live, dead=10))
    worse = carried(places, span_in=span_in + longer_in, loads=Loads(live=live + more, dead=10))
    for a, b in zip(less, worse, strict=True):
        assert b.load_lb >= a.load_lb - 1e-9


def test_every_printed_step_gives_the_printed_value():
    value = ledger_fastener_value(BOLT, ledger_gravity=0.55, band_gravity=0.42, sheathing_in=0.5)
    for step in fastener_by_nds(carried([10, 40, 100])[1], value).steps:
        found = eval(step.formula, {"__builtins__": {}}, {**FORMULA_NAMES, **step.inputs})
        assert found == pytest.approx(step.value), step


@pytest.mark.parametrize(
    ("places", "sound"), [([], None), ([10.0], [False]), ([10.0], [True, True]), ([200.0], None), ([-1.0], None)]
)
def test_a_ledger_nothing_holds_or_a_place_off_the_ledger_is_refused(places, sound):
    with pytest.raises(OutOfRange):
        carried(places, sound)


def test_the_yield_equations_go_with_the_combination_that_governs_by_duration():
    """Live 40, dead 10, snow 20: 55 psf is the largest sum (CD 1.15), but 50 psf at CD 1.0 asks more of a bolt."""
    snowy = Loads(live=40, dead=10, snow=20)
    largest = ledger_fastener_loads([96.0], LENGTH_IN, 144.0, snowy)
    lasting = ledger_fastener_loads([96.0], LENGTH_IN, 144.0, snowy, combination=snowy.strength)
    assert largest[0].load_lb == pytest.approx(55 / 144 * 72 * 192)
    assert lasting[0].load_lb == pytest.approx(50 / 144 * 72 * 192)
    assert lasting[0].load_lb / snowy.strength.load_duration > largest[0].load_lb / snowy.largest.load_duration


def test_an_anchor_is_judged_by_what_its_maker_rates_only():
    found = anchor_by_rating(carried([96])[0], 1200)
    assert found.ratio == pytest.approx(300 * 16 / 1200)
    assert any("maker" in text for text in found.assumptions)
    with pytest.raises(OutOfRange):
        anchor_by_rating(carried([96])[0], 0)


# -- what counts -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "condition", "counts"),
    [
        ("bolt", "good", True), ("lag screw", "corroded", True), ("lag screw", "loose", False),
        ("bolt", "missing", False),
        ("nail", "good", False), ("wood screw", "good", False), ("bolt", "not seen", False),
    ],
)  # fmt: skip
def test_nails_and_what_is_loose_missing_or_unseen_do_not_hold_a_ledger(kind, condition, counts):
    found, reason = counts_as_attachment(kind, condition)
    assert found is counts
    assert bool(reason) is not counts


@pytest.mark.parametrize("band", ["2x lumber", "1 in engineered wood", "1-1/8 in engineered wood"])
def test_the_published_bands_raise_no_objection(band):
    assert band_objection(band) is None


@pytest.mark.parametrize(
    "band",
    [
        "engineered I-joist rim",
        "end of a floor truss",
        "masonry veneer",
        "concrete or masonry wall",
        "cantilevered floor",
    ],
)
def test_a_band_outside_the_table_comes_with_a_reason_and_a_rule(band):
    reason, citation = band_objection(band)
    assert reason and citation


def test_an_unknown_band_is_not_guessed():
    with pytest.raises(OutOfRange):
        band_objection("brick")


# -- three witnesses -------------------------------------------------------------------------------------------------


def test_the_nds_gives_a_tight_half_inch_bolt_in_hem_fir_176_lb_before_wet_service():
    dry = ledger_fastener_value(BOLT, ledger_gravity=0.43, band_gravity=0.43, wet=False)
    wet = ledger_fastener_value(BOLT, ledger_gravity=0.43, band_gravity=0.43)
    assert dry.value == pytest.approx(176.04, abs=0.01)
    assert wet.value == pytest.approx(0.7 * 176.04, abs=0.01)


def test_the_two_witnesses_disagree_and_neither_is_bent():
    """12 in centres, 12 ft joists: 300 lb a bolt. The NDS refuses it, the tests behind the table accept it."""
    one = carried([6 + 12 * i for i in range(16)])[8]
    assert fastener_by_nds(one, ledger_fastener_value(BOLT, ledger_gravity=0.43, band_gravity=0.43)).ratio > 1
    assert fastener_by_test(one, capacity_by_tests("bolt", 0.5)).ratio == pytest.approx(300 / 725)


def test_a_lag_that_ends_in_a_thin_band_is_out_of_the_nds():
    with pytest.raises(OutOfRange, match="4D"):
        ledger_fastener_value(LAG, ledger_gravity=0.43, band_gravity=0.43)
    assert ledger_fastener_value(LAG, ledger_gravity=0.43, band_gravity=0.43, band_thickness_in=3.0).value > 0


def test_a_lag_of_unknown_length_cannot_be_judged_by_the_nds():
    with pytest.raises(OutOfRange, match="measured length"):
        ledger_fastener_value(Fastener("lag screw", 0.5), ledger_gravity=0.43, band_gravity=0.43)


def test_sheathing_in_between_and_rust_both_cost_capacity():
    tight = ledger_fastener_value(BOLT, ledger_gravity=0.55, band_gravity=0.42).value
    assert ledger_fastener_value(BOLT, ledger_gravity=0.55, band_gravity=0.42, sheathing_in=0.5).value < tight
    assert ledger_fastener_value(corroded(BOLT, 0.05), ledger_gravity=0.55, band_gravity=0.42).value < tight


def test_no_load_is_known_where_the_table_has_no_row():
    for question in (("lag screw", 0.75), ("bolt", 1.25), ("nail", 0.0)):
        with pytest.raises(NotPublished):
            capacity_by_tests(*question)
    with pytest.raises(NotPublished):
        capacity_by_tests("bolt", 0.5, "1 in engineered wood")


def test_thicker_sheathing_takes_the_lower_tested_load():
    assert capacity_by_tests("bolt", 0.5).allowable_lb > capacity_by_tests("bolt", 0.75).allowable_lb
    assert spacing_by_tests_in(615, 192, 50) == 18  # IRC row for 16 ft with a gap


# -- spacing, bending, layout ----------------------------------------------------------------------------------------


def test_the_worst_gap_is_judged_and_named_not_the_average():
    """Average 16 in, but one gap of 32 where a lag is missing; the rule allows 15."""
    places = [8 + 16 * i for i in range(12)]
    sound = [i != 5 for i in range(12)]
    found = worst_gap(places, LENGTH_IN, 15, "IRC R507.9.1.3(1)", sound=sound)
    assert (found.demand, found.capacity, found.unit) == (32, 15, "in")
    assert found.governs == "from 72 to 104 in"


def test_a_single_fastener_leaves_the_whole_ledger_as_the_gap():
    assert worst_gap([96], LENGTH_IN, 15, "rule").demand == LENGTH_IN


def test_a_ledger_bends_between_fasteners_and_past_the_last_one():
    middle = ledger_bending([0, 48, 192], LENGTH_IN, 25, 21.39, 1000)
    assert middle.demand == pytest.approx(25 * 144**2 / 8 / 21.39)
    end = ledger_bending([96], LENGTH_IN, 25, 21.39, 1000)
    assert end.governs == "end past the last fastener"
    assert end.demand == pytest.approx(25 * 96**2 / 2 / 21.39)


RULE = LayoutRule(2, 0.75, 2, 5, 1.625, 5, "IRC R507.9.1.3(2)")


def test_the_rows_are_held_against_edges_and_against_each_other():
    found = edge_distances(RULE, 9.25, upper_row_from_top_in=1.5, lower_row_from_bottom_in=1.0)
    assert {one.governs: round(one.ratio, 3) for one in found} == {
        "upper row to top edge": 1.333,
        "lower row to bottom edge": 0.75,
        "between the rows, at least": round(1.625 / 6.75, 3),
        "between the rows, at most": 1.35,
    }


def test_a_row_that_was_not_measured_is_not_judged():
    assert edge_distances(RULE, 9.25) == ()
    assert [one.governs for one in edge_distances(RULE, 9.25, upper_row_from_top_in=2)] == ["upper row to top edge"]


def test_a_single_row_has_nothing_between():
    found = edge_distances(RULE, 7.25, upper_row_from_top_in=3.5, lower_row_from_bottom_in=3.75)
    assert [one.governs for one in found] == ["upper row to top edge", "lower row to bottom edge"]


def test_rows_closer_than_an_inch_are_two_rows_too_close():
    found = edge_distances(RULE, 7.25, upper_row_from_top_in=3, lower_row_from_bottom_in=3.5)
    assert found[2].capacity == 0.75 and found[2].ratio > 1


def test_rows_that_cross_are_refused():
    with pytest.raises(OutOfRange):
        edge_distances(RULE, 7.25, upper_row_from_top_in=5, lower_row_from_bottom_in=4)


def test_both_ends_of_the_ledger_are_looked_at():
    found = end_distances(RULE, [1.0, 90.0, 186.0], LENGTH_IN)
    assert [(one.demand, one.capacity) for one in found] == [(2, 1), (1, 5), (2, 6), (6, 5)]
    assert [one.demand for one in end_distances(RULE, [0.0, 192.0], LENGTH_IN)] == [2, 0, 2, 0]
    with pytest.raises(OutOfRange):
        end_distances(RULE, [96.0, 192.5], LENGTH_IN)
    with pytest.raises(OutOfRange):
        end_distances(RULE, [], LENGTH_IN)


def test_two_neighbours_in_one_row_break_the_stagger():
    assert unstaggered_neighbours([0, 32, 16], ["upper", "upper", "lower"]) == ()
    assert unstaggered_neighbours([0, 16, 32], ["upper", "upper", "lower"]) == ((0, 1),)
    with pytest.raises(OutOfRange):
        unstaggered_neighbours([0, 16], ["upper"])


@pytest.mark.parametrize("wrong", [{"top_least_in": 0}, {"rows_most_in": -1}, {"end_most_in": 0}])
def test_a_rule_without_a_distance_is_refused(wrong):
    with pytest.raises(OutOfRange):
        dataclasses.replace(RULE, **wrong)
    assert dataclasses.replace(RULE, end_most_in=None).end_most_in is None


def test_a_ledger_of_no_depth_or_length_is_refused():
    with pytest.raises(OutOfRange):
        edge_distances(RULE, 0)
    with pytest.raises(OutOfRange):
        end_distances(RULE, [0.0], 0)


def test_sheathing_takes_its_thickness_off_the_hold_of_a_lag_screw():
    """NDS 12.3.5.3: 5 in less 1.5 in of ledger, 0.5 in of sheathing and half of the 5/16 in tip: 2.84 in."""
    lag = Fastener("lag screw", 0.5, length_in=5)
    value = ledger_fastener_value(lag, ledger_gravity=0.55, band_gravity=0.55, band_thickness_in=3.5, sheathing_in=0.5)
    (held,) = [step for step in value.steps if step.symbol == "lm"]
    assert held.value == pytest.approx(5 - 1.5 - 0.5 - 5 / 32)
    bolt = ledger_fastener_value(BOLT, ledger_gravity=0.55, band_gravity=0.55, sheathing_in=0.5)
    assert not [step for step in bolt.steps if step.symbol == "lm"]


def test_a_fastener_that_does_not_work_prints_no_load_of_its_own():
    bad, good = carried([40, 80], sound=[False, True])
    assert (bad.load_lb, bad.steps) == (0, ())
    assert good.steps


def test_the_bending_of_a_ledger_names_the_gap_or_the_end():
    """120 in of ledger at 20 lb/in: a gap of 80 in bends it by 20 x 80^2 / 8, an end of 60 in by 20 x 60^2 / 2."""
    gap = ledger_bending([20, 100], 120, 20, 21.39, 900)
    end = ledger_bending([10, 60], 120, 20, 21.39, 900)
    assert (gap.governs, gap.demand) == ("gap between fasteners", pytest.approx(16_000 / 21.39))
    assert (end.governs, end.demand) == ("end past the last fastener", pytest.approx(36_000 / 21.39))
    lone = ledger_bending([60], 120, 20, 21.39, 900)
    assert lone.demand == pytest.approx(36_000 / 21.39)
