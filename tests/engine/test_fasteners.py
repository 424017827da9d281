"""One dowel in wood: what it carries sideways, what is refused, and what a factor takes off."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import NotPublished, OutOfRange
from engine.fasteners import (
    Fastener,
    Part,
    adjusted_lateral,
    common_nail,
    corroded,
    edge_distance_minimum_in,
    geometry_factor,
    group_action_factor,
    lag_thread_length_in,
    lateral,
    lateral_across_gap,
    main_bearing_length_in,
    row_spacing_minimum_in,
    wood_screw,
)
from engine.results import FORMULA_NAMES

BOLT = Fastener("bolt", 0.5)
LAG = Fastener("lag screw", 0.5)
gravity = st.floats(0.31, 0.73)
length_in = st.floats(0.75, 8)
angle_deg = st.floats(0, 90)
bolt_size = st.sampled_from([0.25, 0.375, 0.5, 0.625, 0.75, 1.0])


def recompute(step) -> float:
    return eval(step.formula, {"__builtins__": {}}, {**FORMULA_NAMES, **step.inputs})


@given(bolt_size, gravity, gravity, length_in, length_in, angle_deg, angle_deg, st.sampled_from([1, 2]))
def test_every_printed_step_gives_the_printed_value(d, gm, gs, lm, ls, am, as_, planes):
    for step in lateral(Fastener("bolt", d), Part(gm, lm, am), Part(gs, ls, as_), planes).steps:
        assert recompute(step) == pytest.approx(step.value, rel=1e-12), step


@given(bolt_size, gravity, gravity, length_in, length_in, st.sampled_from([1, 2]))
def test_denser_wood_never_carries_less(d, g1, g2, lm, ls, planes):
    light, dense = sorted((g1, g2))
    z = [lateral(Fastener("bolt", d), Part(g, lm, 90), Part(g, ls, 0), planes).z_lb for g in (light, dense)]
    assert z[1] >= z[0] - 1e-9


@given(bolt_size, gravity, length_in, st.floats(0.1, 4), st.sampled_from([1, 2]))
def test_a_thicker_main_member_never_carries_less(d, g, lm, more_in, planes):
    z = [lateral(Fastener("bolt", d), Part(g, t, 0), Part(g, 1.5, 0), planes).z_lb for t in (lm, lm + more_in)]
    assert z[1] >= z[0] - 1e-9


RUSTING = [BOLT, LAG, Fastener("lag screw", 0.25), Fastener("lag screw", 0.375), common_nail("16d"), wood_screw(14)]


@given(st.sampled_from(RUSTING), st.floats(0, 0.05), st.floats(0, 0.02))
def test_rust_never_makes_a_fastener_stronger(fastener, first_in, more_in):
    main, side = Part(0.43, 4, 90), Part(0.43, 1.5, 0)
    less, more = corroded(fastener, first_in), corroded(corroded(fastener, first_in), more_in)
    assert lateral(more, main, side).z_lb <= lateral(less, main, side).z_lb + 1e-9


@given(bolt_size, gravity, length_in, length_in)
def test_two_shear_planes_carry_at_most_twice_one(d, g, lm, ls):
    main, side = Part(g, lm, 0), Part(g, ls, 0)
    two = lateral(Fastener("bolt", d), main, side, 2)
    one = lateral(Fastener("bolt", d), main, side, 1)
    assert two.modes["IV"] == pytest.approx(2 * one.modes["IV"])
    assert "II" not in two.modes and "IIIm" not in two.modes


def test_the_angle_to_the_grain_moves_the_value_between_the_two_printed_ends():
    z = [lateral(BOLT, Part(0.5, 3.5, angle), Part(0.5, 1.5, 0)).z_lb for angle in (0, 30, 60, 90)]
    assert z == sorted(z, reverse=True)
    assert z[0] == pytest.approx(614.84, abs=0.01) and z[3] == pytest.approx(
        432.23, abs=0.01
    )  # NDS Table 12A, 610 and 430


def test_a_nail_does_not_care_about_the_grain():
    nail = common_nail("16d")
    assert (
        lateral(nail, Part(0.5, 1.458, 90), Part(0.5, 1.5, 45)).z_lb
        == lateral(nail, Part(0.5, 1.458), Part(0.5, 1.5)).z_lb
    )


def test_a_half_inch_lag_in_a_two_by_band_is_under_its_four_diameters():
    """Carradine and others 2008: 1-1/2 in is less than 4 x 1/2 in, so the ledger table rests on tests."""
    band, ledger = Part(0.43, 1.5, 90, is_through=True), Part(0.43, 1.5, 90)
    with pytest.raises(OutOfRange, match="4D"):
        lateral(LAG, band, ledger)
    bare = lateral(LAG, band, ledger, permit_short_penetration=True)
    assert not bare.is_permitted
    assert bare.z_lb == pytest.approx(131, abs=0.5)
    assert lateral(BOLT, band, ledger).z_lb == pytest.approx(176, abs=0.5)


# Computed independently with the same equations (not read from the standard): 1-1/2 in wood side, full penetration.
LAG_GAPS = {
    (0.25, 0.43): (140, 110, 110, 100), (0.3125, 0.55): (210, 150, 150, 140), (0.3125, 0.36): (170, 110, 120, 100),
    (0.375, 0.42): (180, 130, 130, 110), (0.5, 0.55): (410, 250, 290, 230), (0.5, 0.36): (310, 160, 210, 150),
    (0.625, 0.43): (500, 280, 340, 240), (0.625, 0.55): (600, 340, 420, 310),
}  # fmt: skip


@pytest.mark.parametrize(("size_in", "g"), LAG_GAPS)
def test_lag_screws_at_full_penetration_agree_with_a_second_calculation(size_in, g):
    lag = Fastener("lag screw", size_in)
    length = 8 * size_in + lag.tip_in / 2
    found = [lateral(lag, Part(g, length, m), Part(g, 1.5, s)).z_lb for m, s in ((0, 0), (0, 90), (90, 0), (90, 90))]
    assert found == pytest.approx(LAG_GAPS[size_in, g], abs=5)


def test_a_short_nail_is_refused_and_a_six_diameter_nail_is_not():
    nail = common_nail("16d")
    with pytest.raises(OutOfRange, match="6D"):
        lateral(nail, Part(0.5, 5 * 0.162 - 0.001), Part(0.5, 1.5))
    assert lateral(nail, Part(0.5, 5 * 0.162), Part(0.5, 1.5)).z_lb > 0


@pytest.mark.parametrize(
    "bad",
    [
        lambda: Fastener("rivet", 0.5),
        lambda: Fastener("bolt", 0.2),
        lambda: Fastener("bolt", 1.25),
        lambda: Fastener("bolt", math.nan),
        lambda: Fastener("lag screw", 0.5, root_diameter_in=0.6),
        lambda: Part(None, 1.5),
        lambda: Part(0.25, 1.5),
        lambda: Part(0.9, 1.5),
        lambda: Part(0.5, 0),
        lambda: Part(0.5, 1.5, 91),
        lambda: Part(None, 0.25, 0, "brass"),
        lambda: corroded(BOLT, 0.25),
        lambda: lateral(BOLT, Part(0.5, 1.5), Part(0.5, 1.5), 3),
    ],
)
def test_what_no_table_covers_is_refused(bad):
    with pytest.raises(OutOfRange):
        bad()


def test_a_fastener_the_standard_does_not_list_has_no_strength():
    with pytest.raises(NotPublished):
        lateral(Fastener("nail", 0.092), Part(0.5, 1.5), Part(0.5, 1.5))  # sinker 6d: below the first band
    with pytest.raises(NotPublished, match="root diameter"):
        lateral(Fastener("wood screw", 0.23), Part(0.5, 3), Part(0.5, 1.5))


def test_each_band_of_yield_strength_starts_where_the_table_says():
    assert Fastener("nail", 0.099).fyb_psi == 100_000
    assert Fastener("nail", 0.12, is_hardened=True).fyb_psi == 130_000
    for low in (Fastener("nail", 0.098), Fastener("nail", 0.119, is_hardened=True)):
        with pytest.raises(NotPublished):
            _ = low.fyb_psi


def test_a_measured_lag_gives_the_bearing_length_it_has():
    assert main_bearing_length_in(Fastener("lag screw", 0.5, length_in=4), 1.5, 9) == (2.5 - 0.15625, False)
    assert main_bearing_length_in(Fastener("lag screw", 0.5, length_in=4), 1.5, 1.5) == (1.5, True)
    with pytest.raises(OutOfRange):
        main_bearing_length_in(Fastener("lag screw", 0.5, length_in=1.5), 1.5, 1.5)
    with pytest.raises(OutOfRange, match="measured"):
        main_bearing_length_in(LAG, 1.5, 1.5)


@pytest.mark.parametrize(("length", "thread"), [(1.25, 0.75), (3.5, 2.25), (14, 6)])
def test_a_lag_between_the_listed_lengths_follows_the_rule_of_the_list(length, thread):
    assert lag_thread_length_in(length) == thread


def test_rust_may_leave_a_thin_fastener_but_not_none():
    assert corroded(BOLT, 0.2).yield_diameter_in == pytest.approx(0.1)
    assert corroded(LAG, 0.18).yield_diameter_in == pytest.approx(0.011)
    with pytest.raises(OutOfRange):
        corroded(LAG, 0.186)


# -- factors ---------------------------------------------------------------------------------------------------------

BARE = lateral(BOLT, Part(0.5, 3.5, 90), Part(0.5, 1.5, 90))


def test_each_factor_is_listed_and_their_product_is_the_value():
    geometry = geometry_factor(0.5, direction="compression", end_distance_in=1.5, row_spacing_in=2, edge_distance_in=1)
    found = adjusted_lateral(BARE, load_duration=1.15, wet=True, temperature_f=110, group_action=0.9, geometry=geometry)
    assert found.factors == {"CD": 1.15, "CM": 0.7, "Ct": 0.7, "Cg": 0.9, "C_delta": 0.75}
    assert found.value == pytest.approx(BARE.z_lb * 1.15 * 0.7 * 0.7 * 0.9 * 0.75)
    for step in found.steps:
        assert recompute(step) == pytest.approx(step.value), step


def test_wood_that_dried_around_a_bolt_has_lost_most_of_its_value_unless_it_could_move():
    assert adjusted_lateral(BARE, wet_when_made=True).factors["CM"] == 0.4
    assert adjusted_lateral(BARE, wet_when_made=True, is_excepted_from_seasoning=True).factors["CM"] == 1.0
    small = lateral(common_nail("16d"), Part(0.5, 1.458), Part(0.5, 1.5))
    assert adjusted_lateral(small, wet_when_made=True).factors["CM"] == 0.7
    quarter = lateral(Fastener("lag screw", 0.25), Part(0.5, 3), Part(0.5, 1.5))
    assert adjusted_lateral(quarter, wet_when_made=True).factors["CM"] == 0.4


def test_impact_is_not_for_connections_and_heat_has_an_end():
    with pytest.raises(OutOfRange):
        adjusted_lateral(BARE, load_duration=2.0)
    with pytest.raises(OutOfRange):
        adjusted_lateral(BARE, temperature_f=151)


@pytest.mark.parametrize(
    ("temperature_f", "dry", "wet"),
    [(100, 1.0, 1.0), (101, 0.8, 0.7), (125, 0.8, 0.7), (126, 0.7, 0.5), (150, 0.7, 0.5)],
)
def test_heat_takes_off_by_steps(temperature_f, dry, wet):
    assert adjusted_lateral(BARE, temperature_f=temperature_f).factors["Ct"] == dry
    assert adjusted_lateral(BARE, wet=True, temperature_f=temperature_f).factors["Ct"] == wet


def test_only_a_nail_can_be_a_toe_nail():
    with pytest.raises(OutOfRange):
        adjusted_lateral(BARE, is_toe_nail=True)
    small = lateral(common_nail("10d"), Part(0.5, 1.332), Part(0.5, 1.5))
    assert adjusted_lateral(small, is_toe_nail=True).value == pytest.approx(0.83 * small.z_lb)


@pytest.mark.parametrize(
    ("direction", "end_in", "factor"),
    [
        ("perpendicular", 2.0, 1.0), ("perpendicular", 1.0, 0.5), ("perpendicular", 3.0, 1.0),
        ("compression", 1.5, 0.75), ("tension", 3.5, 1.0), ("tension", 1.75, 0.5),
    ],
)  # fmt: skip
def test_the_end_distance_scales_down_to_one_half(direction, end_in, factor):
    assert geometry_factor(0.5, direction=direction, end_distance_in=end_in).factor == pytest.approx(factor)


def test_a_fastener_too_near_an_end_or_edge_has_no_value_at_all():
    with pytest.raises(OutOfRange, match="end_distance"):
        geometry_factor(0.5, direction="perpendicular", end_distance_in=0.99)
    with pytest.raises(OutOfRange, match="loaded edge"):
        geometry_factor(0.5, direction="perpendicular", edge_distance_in=1.99)
    with pytest.raises(OutOfRange, match="unloaded edge"):
        geometry_factor(0.5, direction="perpendicular", edge_distance_in=2, unloaded_edge_distance_in=0.74)
    with pytest.raises(OutOfRange, match="3D"):
        geometry_factor(0.5, direction="perpendicular", row_spacing_in=1.4)


def test_what_was_not_measured_is_listed_as_assumed():
    assert geometry_factor(0.5, direction="perpendicular").assumptions == (
        "end distance not measured, taken as enough",
        "edge distance not measured, taken as enough",
        "far edge distance not measured, taken as enough",
    )


def test_hardwood_may_stand_nearer_its_end_in_tension():
    assert geometry_factor(0.5, direction="tension", end_distance_in=2.5, is_hardwood=True).factor == 1.0
    assert geometry_factor(0.5, direction="tension", end_distance_in=2.5).factor == pytest.approx(2.5 / 3.5)


@pytest.mark.parametrize(("length", "least"), [(1.0, 1.25), (2.0, 1.875), (3.0, 2.5), (8.0, 2.5)])
def test_rows_across_the_grain_stand_apart_by_slenderness(length, least):
    assert row_spacing_minimum_in(0.5, "perpendicular", length) == pytest.approx(least)
    assert row_spacing_minimum_in(0.5, "tension", length) == 0.75


@given(st.integers(2, 12), st.floats(1.5, 12), st.floats(1e6, 1e8), st.floats(1e6, 1e8))
def test_a_longer_row_never_shares_better(count, spacing_in, main_lb, side_lb):
    more = group_action_factor(count + 1, spacing_in, 0.5, main_lb, side_lb)[0]
    fewer, steps = group_action_factor(count, spacing_in, 0.5, main_lb, side_lb)
    assert 0 < more <= fewer + 1e-9 <= 1 + 2e-9
    for step in steps:
        assert recompute(step) == pytest.approx(step.value), step


def test_one_fastener_and_small_fasteners_have_no_group_action():
    assert group_action_factor(1, 4, 0.5, 1e7, 1e7)[0] == 1.0
    assert group_action_factor(8, 4, 0.162, 1e7, 1e7)[0] == 1.0
    with pytest.raises(OutOfRange):
        group_action_factor(0, 4, 0.5, 1e7, 1e7)


# -- across a gap ----------------------------------------------------------------------------------------------------


@given(bolt_size, gravity, gravity, length_in, length_in, angle_deg)
def test_the_gap_equations_close_to_the_printed_ones_as_the_gap_closes(d, gm, gs, lm, ls, angle):
    """The two are written differently (a quadratic here, k1 to k3 there), so each checks the other."""
    bolt, main, side = Fastener("bolt", d), Part(gm, lm, angle), Part(gs, ls, 0)
    tight, nearly = lateral(bolt, main, side), lateral_across_gap(bolt, main, side, 1e-9)
    for mode, value in tight.modes.items():
        assert nearly.modes[mode] == pytest.approx(value, rel=1e-6), mode


@given(st.floats(0, 2), st.floats(0.01, 1))
def test_a_wider_gap_never_carries_more(gap_in, more_in):
    main, side = Part(0.43, 1.5, 90), Part(0.55, 1.5, 90)
    values = [lateral_across_gap(BOLT, main, side, g) for g in (gap_in, gap_in + more_in)]
    assert values[1].z_lb <= values[0].z_lb
    for step in values[1].steps:
        assert recompute(step) == pytest.approx(step.value), step


def test_a_negative_gap_is_refused():
    with pytest.raises(OutOfRange):
        lateral_across_gap(BOLT, Part(0.43, 1.5, 90), Part(0.55, 1.5, 90), -0.1)


def test_a_row_slips_by_the_modulus_of_the_standard_and_from_a_quarter_inch_on():
    """NDS 11.3.6: gamma 180,000 D^1.5 in wood, 270,000 D^1.5 under a metal side plate; 1.0 below 1/4 in."""
    for is_metal, modulus in ((False, 180_000), (True, 270_000)):
        _, steps = group_action_factor(4, 2, 0.5, 1e7, 1e7, is_metal_side=is_metal)
        assert {step.symbol: step.value for step in steps}["gamma"] == pytest.approx(modulus * 0.5**1.5, rel=1e-9)
    thin, just = (group_action_factor(4, 2, d, 1e6, 1e6) for d in (0.2499, 0.25))
    assert thin[0] == 1.0 == thin[1][-1].value
    assert just[0] < 1
    assert group_action_factor(1, 2, 0.5, 1e6, 1e6)[0] == 1.0


@pytest.mark.parametrize(
    "wrong", [(0, 2, 0.5, 1e6, 1e6), (2, 0, 0.5, 1e6, 1e6), (2, 2, 0, 1e6, 1e6), (2, 2, 0.5, 0, 1e6)]
)
def test_a_row_of_nothing_is_refused(wrong):
    with pytest.raises(OutOfRange):
        group_action_factor(*wrong)


# -- distances, at the very places where the tables change -----------------------------------------------------------


@pytest.mark.parametrize(("spacing_in", "factor"), [(1.5, 0.75), (1.75, 0.875), (2.0, 1.0), (4.0, 1.0)])
def test_bolts_in_a_row_along_the_grain_want_four_diameters(spacing_in, factor):
    """NDS Table 12.5.1B: 4D for all, 3D at least."""
    for direction in ("compression", "tension"):
        assert geometry_factor(0.5, direction=direction, row_spacing_in=spacing_in).factor == pytest.approx(factor)
    with pytest.raises(OutOfRange, match="spacing"):
        geometry_factor(0.5, direction="tension", row_spacing_in=1.49)


def test_just_the_least_distance_is_enough_everywhere():
    """NDS Tables 12.5.1A to C for a 1/2 in bolt: the very minimum is allowed, not a hair less."""
    assert geometry_factor(0.5, direction="perpendicular", row_spacing_in=1.5).factor == 1.0
    assert geometry_factor(0.5, direction="perpendicular", edge_distance_in=2).factor == 1.0
    both = geometry_factor(0.5, direction="perpendicular", edge_distance_in=2, unloaded_edge_distance_in=0.75)
    assert (both.factor, both.assumptions) == (1.0, ("end distance not measured, taken as enough",))
    along = geometry_factor(0.5, direction="compression", edge_distance_in=0.75, unloaded_edge_distance_in=0.75)
    assert along.factor == 1.0
    for edges in ((0.74, 2.0), (2.0, 0.74)):
        with pytest.raises(OutOfRange, match="parallel edge"):
            geometry_factor(0.5, direction="compression", edge_distance_in=edges[0], unloaded_edge_distance_in=edges[1])


def test_the_least_of_the_factors_counts_and_is_named():
    found = geometry_factor(0.5, direction="compression", end_distance_in=1.8, row_spacing_in=1.6)
    assert (found.factor, found.governs) == (pytest.approx(0.8), "C_spacing")
    other = geometry_factor(0.5, direction="compression", end_distance_in=1.2, row_spacing_in=1.9)
    assert (other.factor, other.governs) == (pytest.approx(0.6), "C_end")
    for step in (*found.steps, *other.steps):
        assert recompute(step) == pytest.approx(step.value), step


def test_along_the_grain_the_far_edge_is_not_asked_for():
    assert geometry_factor(0.5, direction="tension").assumptions == (
        "end distance not measured, taken as enough",
        "spacing in the row not measured, taken as enough",
        "edge distance not measured, taken as enough",
    )


def test_a_thin_fastener_has_no_geometry_factor_and_a_quarter_inch_one_has():
    """NDS 12.5.1.1: D below 1/4 in."""
    assert geometry_factor(0.2499, direction="perpendicular", end_distance_in=0.1).factor == 1.0
    assert geometry_factor(0.25, direction="perpendicular", end_distance_in=0.5).factor == 0.5
    with pytest.raises(OutOfRange):
        geometry_factor(0, direction="perpendicular")
    with pytest.raises(OutOfRange, match="direction"):
        geometry_factor(0.5, direction="sideways")


@pytest.mark.parametrize(
    ("key", "slenderness", "between_in", "least_in"),
    [
        ("parallel", None, None, 0.75), ("parallel", 6, 3, 0.75), ("parallel", 6.01, 3, 1.5), ("parallel", 8, 1, 0.75),
        ("parallel", 8, None, 0.75), ("loaded", 8, 9, 2.0), ("unloaded", 8, 3, 0.75),
    ],
)  # fmt: skip
def test_a_slender_bolt_stands_half_the_row_spacing_off_the_edge(key, slenderness, between_in, least_in):
    """NDS Table 12.5.1C: along the grain 1.5D, or half the distance between rows where l/D is above 6, if more."""
    assert edge_distance_minimum_in(0.5, key, slenderness, between_in) == pytest.approx(least_in)


@pytest.mark.parametrize("slenderness", [2, 3, 5, 7])
def test_the_rows_of_a_slender_bolt_are_no_nearer_along_the_grain_for_it(slenderness):
    found = geometry_factor(0.5, direction="compression", edge_distance_in=0.75, slenderness=slenderness)
    assert found.factor == 1.0
    with pytest.raises(OutOfRange):
        geometry_factor(0.5, direction="compression", edge_distance_in=0.7, slenderness=slenderness)
    assert any("half the distance between rows" in words for words in found.assumptions) == (slenderness > 6)


@pytest.mark.parametrize(
    ("length_in", "least_in"),
    [(0.99, 1.25), (1.0, 1.25), (1.01, (5.05 + 5) / 8), (2.99, (14.95 + 5) / 8), (3.0, 2.5), (3.1, 2.5)],
)
def test_rows_across_the_grain_change_their_rule_at_two_and_six_diameters(length_in, least_in):
    """NDS Table 12.5.1D, 1/2 in: 2.5D up to l/D 2, (5 l + 10 D) / 8 between, 5D from 6."""
    assert row_spacing_minimum_in(0.5, "perpendicular", length_in) == pytest.approx(least_in)


def test_rows_of_no_diameter_or_direction_are_refused():
    for wrong in ((0, "tension", 1), (0.5, "tension", 0), (0.5, "up", 1)):
        with pytest.raises(OutOfRange):
            row_spacing_minimum_in(*wrong)


def test_a_dowel_in_end_grain_keeps_two_thirds():
    """NDS 12.5.2.2: Ceg 0.67."""
    found = adjusted_lateral(BARE, is_end_grain=True)
    assert found.factors["Ceg"] == 0.67
    assert found.value == pytest.approx(0.67 * BARE.z_lb)
    assert "Ceg" not in adjusted_lateral(BARE).factors


def test_the_greatest_duration_of_a_connection_is_that_of_wind():
    """NDS Table 2.3.2 with 11.3.2: 1.6 is allowed, impact is not; a group never gains."""
    assert adjusted_lateral(BARE, load_duration=1.6).value == pytest.approx(1.6 * BARE.z_lb)
    assert adjusted_lateral(BARE).value == pytest.approx(BARE.z_lb)
    assert adjusted_lateral(BARE).factors["CM"] == 1.0
    for wrong in ({"load_duration": 0}, {"load_duration": 1.61}, {"group_action": 1.01}, {"group_action": -0.1}):
        with pytest.raises(OutOfRange):
            adjusted_lateral(BARE, **wrong)


def test_what_was_measured_of_the_distances_is_printed_and_what_was_not_is_said():
    measured = geometry_factor(0.5, direction="compression", end_distance_in=2, row_spacing_in=2, edge_distance_in=1)
    assert adjusted_lateral(BARE, geometry=measured).assumptions == ()
    assert any("taken as enough" in words for words in adjusted_lateral(BARE).assumptions)
    assert "C_end" in {step.symbol for step in adjusted_lateral(BARE, geometry=measured).steps}
