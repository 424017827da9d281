from __future__ import annotations

import itertools

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.statics import (
    Line,
    PointLoad,
    loading_patterns,
    overhang_support_moment,
    overhang_tip_deflection,
    simple_span_deflection,
    simple_span_moment,
)

SPANS = st.lists(st.floats(20, 200), min_size=1, max_size=4)


def solve_as_a_frame(line: Line, loads: list[float], left: float, right: float, points: list[PointLoad]):
    """The same beam in a general frame solver: support moments, reactions, smallest deflection of each span."""
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("m", 1e6, 4e5, 0.3, 0)
    model.add_section("s", 1e4, 1e3, 100.0, 1e3)
    places = [0.0, *line.supports_in] if line.left_overhang_in else list(line.supports_in)
    if line.right_overhang_in:
        places.append(line.length_in)
    for k, x in enumerate(places):
        model.add_node(f"n{k}", x, 0, 0)
    supports = [f"n{places.index(x)}" for x in line.supports_in]
    for k, name in enumerate(supports):
        model.def_support(name, k == 0, True, True, True, False, False)
    all_loads = ([left] if line.left_overhang_in else []) + loads + ([right] if line.right_overhang_in else [])
    members = []
    for k, w in enumerate(all_loads):
        name = f"m{k}"
        model.add_member(name, f"n{k}", f"n{k + 1}", "m", "s")
        model.add_member_dist_load(name, "Fy", -w, -w)
        members.append(name)
    for point in points:
        k = max(i for i in range(len(members)) if places[i] <= point.at_in)
        model.add_member_pt_load(members[k], "Fy", -point.load_lb, point.at_in - places[k])
    model.analyze_linear()
    reactions = [model.nodes[name].RxnFY["Combo 1"] for name in supports]
    inner = members[1:] if line.left_overhang_in else members
    spans = inner[: len(line.spans_in)]
    # The solver's moment is positive where this library's is, or its negative: fixed by the caller through sign.
    at_left = [model.members[name].moment("Mz", 0, "Combo 1") for name in spans]
    deep = [-model.members[name].min_deflection("dy", "Combo 1") for name in spans]
    return reactions, at_left, deep


POINTS_A = [PointLoad(500, 40), PointLoad(300, 150), PointLoad(220, 246)]
POINTS_B = [PointLoad(700, 5), PointLoad(400, 200)]
CASES = [
    (Line((100.0,)), [2.0], 0.0, 0.0, []),
    (Line((100.0, 80.0)), [2.0, 3.0], 0.0, 0.0, []),
    (Line((96.0, 120.0, 72.0), 20.0, 15.0), [3.0, 1.0, 2.0], 4.0, 2.0, []),
    (Line((96.0, 120.0), 0.0, 30.0), [1.0, 1.0], 0.0, 1.0, POINTS_A),
    (Line((96.0, 120.0, 60.0, 90.0), 12.0, 0.0), [1.0, 0.0, 2.0, 0.5], 1.0, 0.0, POINTS_B),
]


@pytest.mark.parametrize("case", CASES, ids=[f"{len(c[0].spans_in)} spans, {len(c[4])} point loads" for c in CASES])
def test_a_general_frame_solver_finds_the_same_reactions_moments_and_deflections(case) -> None:
    line, loads, left, right, points = case
    found = line.solve(loads, left, right, points)
    bends = line.deflections(loads, 1e6, 100.0, left, right, points)
    reactions, at_left, deep = solve_as_a_frame(line, loads, left, right, points)
    assert found.reactions_lb == pytest.approx(reactions, rel=1e-4, abs=1e-3)
    assert [abs(m) for m in found.support_moments_in_lb[:-1]] == pytest.approx(
        [abs(m) for m in at_left], rel=1e-4, abs=0.5
    )
    # The places looked at are 1/32 of a span apart here and 1/20 there.
    for ours_in, theirs_in in zip(bends, deep, strict=True):
        if theirs_in > 1e-6:
            assert ours_in == pytest.approx(theirs_in, rel=0.01, abs=2e-5)
        else:  # a span that only lifts: the solver says 0 at its ends, this library the least lift inside
            assert ours_in <= 0


def test_two_equal_spans_are_the_case_in_every_handbook() -> None:
    # support moment w l2 / 8, end reaction 3/8 w l, middle 5/4 w l, span moment 9/128 w l2, deflection 0.0054 w l4 / EI
    found = Line((100.0, 100.0)).solve((2.0, 2.0))
    assert found.support_moments_in_lb == pytest.approx((0, -2500, 0))
    assert found.reactions_lb == pytest.approx((75, 250, 75))
    assert found.span_moments_in_lb == pytest.approx((9 / 128 * 2e4,) * 2)
    assert Line((100.0, 100.0)).deflections((2.0, 2.0), 1e6, 10)[0] == pytest.approx(0.0054 * 2e8 / 1e7, rel=0.003)


def test_a_simple_span_and_its_overhang_have_their_closed_forms() -> None:
    assert simple_span_moment(2, 100) == 2500
    assert simple_span_deflection(2, 100, 1e6, 10) == pytest.approx(5 * 2 * 100**4 / 384 / 1e7)
    assert overhang_support_moment(2, 10) == 100
    assert overhang_support_moment(2, 10, 220) == 100 + 2200
    tip_in = overhang_tip_deflection(220, 24, 120, 1.2e6, 50)
    assert tip_in == pytest.approx(220 * 24**2 * 144 / 3 / 6e7)


def test_a_loaded_overhang_lifts_the_far_end() -> None:
    found = Line((100.0,), 0.0, 60.0).solve((0.0,), 0.0, 5.0)
    assert found.reactions_lb[0] == pytest.approx(-90)
    assert sum(found.reactions_lb) == pytest.approx(300)


@given(SPANS, st.floats(0, 60), st.floats(0, 60), st.data())
def test_what_goes_down_comes_up(spans: list[float], left: float, right: float, data: st.DataObject) -> None:
    line = Line(tuple(spans), left, right)
    loads = [data.draw(st.floats(0, 20)) for _ in spans]
    point = PointLoad(data.draw(st.floats(0, 1000)), data.draw(st.floats(0, line.length_in)))
    found = line.solve(loads, 3.0, 2.0, [point])
    total = sum(w * s for w, s in zip(loads, spans, strict=True)) + 3 * left + 2 * right + point.load_lb
    assert sum(found.reactions_lb) == pytest.approx(total, rel=1e-9, abs=1e-6)


@given(st.lists(st.floats(48, 144), min_size=1, max_size=4), st.floats(0, 36), st.floats(0, 36))
@settings(max_examples=60)
def test_the_patterns_reach_the_worst_of_all_ways_of_loading(spans: list[float], left: float, right: float) -> None:
    line = Line(tuple(spans), left, right)

    def effects(pattern: tuple[bool, tuple[bool, ...], bool]) -> list[float]:
        first, middle, last = pattern
        found = line.solve([10.0 * each for each in middle], 10.0 * first, 10.0 * last)
        reactions = [*found.reactions_lb, *(max(0.0, -r) for r in found.reactions_lb)]
        return [*found.span_moments_in_lb, *(-m for m in found.support_moments_in_lb), *reactions]

    n = len(spans)
    every = [
        (a, m, b) for a in (False, True) for m in itertools.product((False, True), repeat=n) for b in (False, True)
    ]
    chosen = loading_patterns(n)
    worst_of_all = [max(values) for values in zip(*(effects(each) for each in every), strict=True)]
    worst_chosen = [max(values) for values in zip(*(effects(each) for each in chosen), strict=True)]
    # A span much shorter than its neighbours may sag a trace more under a way of loading that is not tried.
    assert worst_chosen == pytest.approx(worst_of_all, rel=1e-3, abs=1e-6)


@given(SPANS, st.floats(1, 20))
def test_deflection_grows_in_step_with_load(spans: list[float], w: float) -> None:
    line = Line(tuple(spans))
    single = line.deflections([w] * len(spans), 1e6, 50)
    double = line.deflections([2 * w] * len(spans), 1e6, 50)
    assert double == pytest.approx([2 * each for each in single])
    assume(len(spans) == 1)
    assert single[0] == pytest.approx(simple_span_deflection(w, spans[0], 1e6, 50), rel=1e-9)


def test_a_line_that_cannot_stand_is_refused() -> None:
    for bad in ((), (0.0,), (100.0, -5.0)):
        with pytest.raises(OutOfRange):
            Line(bad)
    with pytest.raises(OutOfRange):
        Line((100.0,), -1.0)
    with pytest.raises(OutOfRange):
        Line((100.0,)).solve((1.0, 2.0))
    with pytest.raises(OutOfRange):
        Line((100.0,)).solve((1.0,), 0, 0, [PointLoad(5, 101)])


def test_the_sag_under_two_point_loads_is_that_of_the_free_body() -> None:
    """100 in, 300 lb at 20 and 600 lb at 70, 2 lb/in: left reaction 240 + 180 + 100 = 520; no shear at 70 in."""
    found = Line((100.0,)).solve([2.0], point_loads=[PointLoad(300, 20), PointLoad(600, 70)])
    assert found.reactions_lb[0] == pytest.approx(520)
    assert found.span_moments_in_lb[0] == pytest.approx(520 * 70 - 300 * 50 - 2 * 70**2 / 2)


def test_the_sag_between_two_point_loads_is_found_where_the_shear_is_zero() -> None:
    """100 in, 100 lb at 10 and 100 lb at 90, 10 lb/in: in the middle 600 x 50 - 100 x 40 - 10 x 50^2 / 2."""
    found = Line((100.0,)).solve([10.0], point_loads=[PointLoad(100, 10), PointLoad(100, 90)])
    assert found.span_moments_in_lb[0] == pytest.approx(600 * 50 - 100 * 40 - 10 * 50**2 / 2)
    uneven = Line((100.0,)).solve([10.0], point_loads=[PointLoad(100, 10), PointLoad(300, 90)])
    assert uneven.span_moments_in_lb[0] == pytest.approx(620 * 52 - 100 * 42 - 10 * 52**2 / 2)


@pytest.mark.parametrize("at_in", [25.0, 75.0])
def test_a_load_off_the_middle_bends_a_span_as_the_handbook_says(at_in: float) -> None:
    """P b (L^2 - b^2)^1.5 / (9 sqrt(3) L E I) with b the shorter part; the largest of 32 places is within half a %."""
    (bend,) = Line((100.0,)).deflections([0.0], 1e6, 10, point_loads=[PointLoad(500, at_in)])
    assert bend == pytest.approx(500 * 25 * (100**2 - 25**2) ** 1.5 / (9 * 3**0.5 * 100 * 1e7), rel=0.005)


def test_a_free_end_follows_the_slope_of_its_support() -> None:
    """Uniform load on one span and its overhang: w a (4 a^2 L - L^3 + 3 a^3) / (24 E I), a handbook case."""
    left, right = Line((100.0,), 0.0, 60.0).tip_deflections([5.0], 1e6, 10, 0.0, 5.0)
    assert left == 0
    assert right == pytest.approx(5 * 60 * (4 * 60**2 * 100 - 100**3 + 3 * 60**3) / (24 * 1e7))


def test_a_free_end_rises_with_the_load_on_the_far_overhang_and_on_its_span() -> None:
    """Overhangs of 40 and 60 in on 100: slope at the right support M L / 6 less w L^3 / 24."""
    _, right = Line((100.0,), 40.0, 60.0).tip_deflections([3.0], 1e6, 10, 7.0, 0.0)
    hogging = 7 * 40**2 / 2
    assert right == pytest.approx(60 * (hogging * 100 / 6 - 3 * 100**3 / 24) / 1e7)


def test_a_line_read_from_the_other_end_bends_alike() -> None:
    one = Line((80.0, 130.0), 20.0, 50.0).tip_deflections([3.0, 5.0], 1e6, 10, 2.0, 9.0)
    other = Line((130.0, 80.0), 50.0, 20.0).tip_deflections([5.0, 3.0], 1e6, 10, 9.0, 2.0)
    assert one == pytest.approx(other[::-1])
