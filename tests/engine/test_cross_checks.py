"""The formula modules against general-purpose solvers (SciPy, a frame solver), hand sums and their own mirror image."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from engine.beams import BeamLine, beam_bearing, beam_bending, beam_forces, max_beam_span
from engine.fasteners.withdrawal import combined_load_capacity_lb
from engine.joists import joist_bearing, joist_bending, joist_live_deflection, joist_shear, max_joist_span
from engine.ledgers import ledger_bending
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values
from engine.posts import max_post_height, post_capacity
from engine.statics import Line, PointLoad

HOUSE = Loads(live=40, dead=10)
JOIST = Lumber("southern pine", "No. 2", "2x10", repetitive=True)
BEAM = Lumber("southern pine", "No. 2", "2x10", plies=3, repetitive=True)
POST = Lumber("southern pine", "No. 2", "6x6")


@pytest.mark.parametrize(
    ("check", "criterion"),
    [(joist_bending, "bending"), (joist_shear, "shear"), (joist_live_deflection, "live deflection")],
)
@pytest.mark.parametrize("size", ["2x6", "2x12"])
@pytest.mark.parametrize("spacing_in", [12, 24])
def test_the_longest_joist_is_where_a_root_finder_finds_the_check_full(check, criterion, size, spacing_in):
    joist = Lumber("hem-fir", "No. 2", size, incised=True, repetitive=True)
    crowded = Loads(live=100, dead=10)
    limit = max_joist_span(joist, spacing_in, crowded)
    root_in = brentq(lambda span_in: check(joist, spacing_in, span_in, crowded).ratio - 1, 13, 479)
    assert limit.candidates[criterion] == pytest.approx(root_in, rel=1e-6)


def test_the_tallest_post_is_where_a_root_finder_finds_it_full():
    """The Ylinen formula of NDS 3.7.1 written out here again, against the load of 160 sq ft without the own weight."""
    limit = max_post_height(POST, 160, HOUSE, own_weight=False)
    wood = adjusted_values(POST, 1.0, members=1)

    def spare_lb(height_in):
        euler = 0.822 * wood.e_min / (height_in / 5.5) ** 2 / wood.fc
        half = (1 + euler) / 1.6
        return wood.fc * (half - math.sqrt(half**2 - euler / 0.8)) * 30.25 - 160 * 50

    assert limit.candidates["column stability"] == pytest.approx(brentq(spare_lb, 10, 275), rel=1e-6)


@pytest.mark.parametrize("e_in", [0.5, 1.75, 3.5])
def test_an_eccentric_post_is_full_where_a_root_finder_finds_it(e_in):
    """NDS Eq. 15.4-1 for an eccentric axial load alone, written out here again: 6x6, 8 ft, pinned."""
    wood = adjusted_values(POST, 1.0, members=1)
    critical = 0.822 * wood.e_min / (96 / 5.5) ** 2
    euler = critical / wood.fc
    half = (1 + euler) / 1.6
    stable = wood.fc * (half - math.sqrt(half**2 - euler / 0.8))

    def ratio(stress):
        bent = stress * 6 * e_in / 5.5 * (1 + 0.234 * stress / critical) / (wood.fb * (1 - stress / critical))
        return (stress / stable) ** 2 + bent

    load_lb = brentq(lambda stress: ratio(stress) - 1, 0.1, critical * 0.999) * 30.25
    found = post_capacity(POST, 96, eccentricity_in=e_in)
    assert found.candidates["eccentric seat"] == pytest.approx(load_lb, rel=1e-6)


def test_a_frame_solver_finds_the_same_shears_beside_an_overhang_with_a_load_at_its_tip():
    from Pynite import FEModel3D

    line = Line((96.0, 120.0), 0.0, 30.0)
    found = line.solve([2.0, 3.0], 0.0, 1.5, [PointLoad(220, 246)])
    model = FEModel3D()
    model.add_material("m", 1e6, 4e5, 0.3, 0)
    model.add_section("s", 1e4, 1e3, 100.0, 1e3)
    for name, x in {"a": 0, "b": 96, "c": 216, "d": 246}.items():
        model.add_node(name, x, 0, 0)
        if name != "d":
            model.def_support(name, name == "a", True, True, True, False, False)
    for name, (start, end, w) in {"1": ("a", "b", 2.0), "2": ("b", "c", 3.0), "3": ("c", "d", 1.5)}.items():
        model.add_member(name, start, end, "m", "s")
        model.add_member_dist_load(name, "Fy", -w, -w)
    model.add_node_load("d", "FY", -220)
    model.analyze_linear()

    def shear(member, x):
        return abs(model.members[member].shear("Fy", x, "Combo 1"))

    ours = [abs(end) for span in found.shears_lb for end in span]
    theirs = [shear("1", 0), shear("1", 96), shear("2", 0), shear("2", 120)]
    assert ours == pytest.approx(theirs, rel=1e-4)
    assert abs(found.overhang_shears_lb[1]) == pytest.approx(shear("3", 0), rel=1e-4)
    assert shear("3", 0) == pytest.approx(220 + 1.5 * 30)


def test_a_frame_solver_finds_the_same_free_ends():
    """Two spans with an overhang at each side, every part under a load of its own."""
    from Pynite import FEModel3D

    left, right = Line((96.0, 120.0), 24.0, 30.0).tip_deflections([2.0, 3.0], 1.4e6, 200.0, 4.0, 1.5)
    model = FEModel3D()
    model.add_material("m", 1.4e6, 5e5, 0.3, 0)
    model.add_section("s", 1e4, 1e3, 200.0, 1e3)
    for name, x in {"l": 0, "a": 24, "b": 120, "c": 240, "r": 270}.items():
        model.add_node(name, x, 0, 0)
        if name in "abc":
            model.def_support(name, name == "a", True, True, True, False, False)
    for name, start, end, w in (("0", "l", "a", 4.0), ("1", "a", "b", 2.0), ("2", "b", "c", 3.0), ("3", "c", "r", 1.5)):
        model.add_member(name, start, end, "m", "s")
        model.add_member_dist_load(name, "Fy", -w, -w)
    model.analyze_linear()
    theirs = [-model.nodes[name].DY["Combo 1"] for name in "lr"]
    assert [left, right] == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize("line", [BeamLine((60.0, 90.0), 0.0, 40.0), BeamLine((96.0, 120.0, 72.0), 20.0, 5.0, (1,))])
def test_a_beam_seen_from_the_other_side_is_forced_the_same(line):
    posts = len(line.spans_in)
    mirrored = BeamLine(
        line.spans_in[::-1], line.right_overhang_in, line.left_overhang_in,
        tuple(posts - splice for splice in line.splices),
    )  # fmt: skip
    one, other = beam_forces(line, 5.0, 20.0), beam_forces(mirrored, 5.0, 20.0)
    for mine, theirs in zip(vars(one).values(), vars(other).values(), strict=True):
        assert mine == pytest.approx(theirs[::-1], abs=1e-6)


def test_a_long_overhang_sets_the_shear_of_the_span_beside_it():
    """25 lb/in on 60 in past the last post: 1500 lb, more than the 48 in span has at its far end."""
    forces = beam_forces(BeamLine((48.0,), 0.0, 60.0), 5.0, 20.0)
    beside_lb = 25 * 48 / 2 + 25 * 60**2 / 2 / 48  # inside the span, beside the post: more than the overhang's own
    assert forces.shear_lb == pytest.approx((max(25 * 60, beside_lb),))


def test_a_little_snow_does_not_govern_a_beam_for_its_duration_factor_allows_more():
    """20 psf: 10 + 0.75 (40 + 20) is 55 psf at 1.15, less than 10 + 40 psf at 1 (NDS 2.3.2)."""
    line = BeamLine((96.0, 96.0))
    with_snow = beam_bending(BEAM, line, 60, Loads(live=40, dead=10, snow=20))
    assert with_snow.ratio == pytest.approx(beam_bending(BEAM, line, 60, HOUSE).ratio)


def test_a_beam_that_ends_close_past_its_post_gets_no_more_bearing_than_its_own():
    """NDS 3.10.4: 3 in of wood past the bearing; 4 in from the middle of a 3.5 in bearing leave 2.25 in."""
    near, far = (beam_bearing(BEAM, BeamLine((96.0,), over_in), 60, HOUSE, 3.5, 0) for over_in in (4.0, 5.0))
    assert near.capacity == pytest.approx(adjusted_values(BEAM).fc_perp)
    assert far.capacity == pytest.approx(adjusted_values(BEAM).fc_perp * (3.5 + 0.375) / 3.5)


def test_the_ledger_and_the_beam_end_of_a_joist_bear_their_own_reactions():
    """5.5556 lb/in on 104 in and an overhang of 24 in: 288.9 lb at the ledger, 437.6 lb at the beam, by statics."""
    ledger = joist_bearing(JOIST, 16, 104, HOUSE, 1.5, 24)
    beam = joist_bearing(JOIST, 16, 104, HOUSE, 1.5, 24, at_end=False)
    assert ledger.demand == pytest.approx(288.889 / (1.5 * 1.5), rel=1e-5)
    assert beam.demand == pytest.approx(437.607 / (1.5 * 1.5), rel=1e-5)


@pytest.mark.parametrize("places", [(3, 30, 60, 80), (20, 40, 70, 97)])
def test_the_longer_end_of_a_ledger_bends_it(places):
    """20 in past the last fastener under 20 lb/in: 4000 in-lb, more than 20 * 30**2 / 8 between two of them."""
    found = ledger_bending(places, 100, 20.0, 21.39, 900.0)
    assert found.demand == pytest.approx(4000 / 21.39)


@pytest.mark.parametrize("kind", ["lag screw", "nail"])
def test_a_fastener_pulled_and_pushed_at_once_follows_hankinson_or_the_straight_line(kind):
    """Wp 300 lb, Z 200 lb at 30 degrees: NDS Eq. 12.4-1 by hand 60000 / 275; 12.4-2 by hand 60000 / (300 c + 200 s)."""
    found, _ = combined_load_capacity_lb(kind, 300, 200, 30)
    by_hand = 60000 / 275 if kind == "lag screw" else 60000 / (300 * math.cos(math.pi / 6) + 100)
    assert found == pytest.approx(by_hand)


def test_a_beam_as_long_as_it_may_be_is_full_by_the_root_of_its_bending():
    limit = max_beam_span(BEAM, 144, HOUSE, 0)
    root_in = brentq(lambda span_in: beam_bending(BEAM, BeamLine((span_in,)), 72, HOUSE).ratio - 1, 24, 400)
    assert limit.candidates["bending"] == pytest.approx(root_in, rel=1e-6)
