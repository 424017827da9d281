"""Knee braces: the push they take, against hand sums, a frame solver and the laws of statics."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.braces import Brace, BracedPost, BraceEnd, brace_against_sway, braced_post, end_capacity
from engine.errors import OutOfRange
from engine.fasteners import Fastener, Part, common_nail, group_action_factor, lateral
from engine.lateral_loads import occupant_sway_lb
from engine.lumber import Lumber, adjusted_values
from engine.posts import post_capacity
from tests.engine.derivations import assert_every_step_comes_out

POST = Lumber("southern pine", "No. 2", "6x6", wet=False)
BEAM = Lumber("southern pine", "No. 2", "2x10", plies=2, wet=False)
BRACE = Brace(Lumber("southern pine", "No. 2", "2x4", wet=False), 24, 24)
BOLT = Fastener("bolt", 0.5)
ENDS = (BraceEnd("post", POST, 5.5, 45, BOLT, 1), BraceEnd("beam", BEAM, 3.0, 45, BOLT, 1))


def test_a_brace_at_45_degrees_starts_as_far_below_as_it_ends_beside() -> None:
    assert BRACE.length_in == pytest.approx(24 * math.sqrt(2))
    assert BRACE.from_post_deg == pytest.approx(45)
    assert Brace(BRACE.lumber, 24, 12).from_post_deg == pytest.approx(26.565, abs=0.001)


def test_an_end_carries_its_bolts_at_the_angle_to_the_grain() -> None:
    """NDS 12.3: the brace along its grain, the post at 45 degrees; two bolts share as NDS 11.3.6 has it."""
    z = lateral(BOLT, Part(0.55, 5.5, 45), Part(0.55, 1.5, 0)).z_lb
    one, _, _ = end_capacity(BRACE, ENDS[0])
    assert one == pytest.approx(z)
    two, steps, _ = end_capacity(BRACE, BraceEnd("post", POST, 5.5, 45, BOLT, 2))
    stiffness = [adjusted_values(wood, members=1).e * wood.area_in2 for wood in (POST, BRACE.lumber)]
    group, _ = group_action_factor(2, 2.0, 0.5, *stiffness)  # four diameters apart
    assert two == pytest.approx(2 * z * group)
    assert group < 1
    assert_every_step_comes_out(steps)


def test_nails_at_the_ends_carry_their_number_times_one() -> None:
    one, three = (end_capacity(BRACE, BraceEnd("post", POST, 5.5, 45, common_nail("16d"), n))[0] for n in (1, 3))
    assert three == pytest.approx(3 * one)
    assert one == pytest.approx(154, abs=0.5)  # NDS 2018 Table 12N: 16d common, southern pine, 1-1/2 in side member


def test_the_push_at_the_foot_is_the_level_force_of_the_brace_over_the_height() -> None:
    """Moments about the top of an 8 ft post: H * 96 = F / sqrt(2) * 24."""
    found = braced_post(BRACE, ENDS, POST, 96)
    weakest = min(end_capacity(BRACE, end)[0] for end in ENDS)
    assert found.push_lb == pytest.approx(weakest / math.sqrt(2) * 24 / 96)
    assert found.governs.startswith("fasteners at the ")
    column_lb = post_capacity(BRACE.lumber, BRACE.length_in).load_lb
    assert found.candidates["brace as a column"] == pytest.approx(column_lb / math.sqrt(2) * 24 / 96)
    assert_every_step_comes_out(found.steps)
    (level,) = [step for step in found.steps if step.symbol == "H_brace"]
    assert level.value == pytest.approx(found.push_lb)


def test_below_the_brace_the_post_bends_and_its_load_leaves_less() -> None:
    """72 in below the brace: H * 72 = Fb * S with nothing on the post (NDS 3.9.2 with a load on it)."""
    free, loaded = braced_post(BRACE, ENDS, POST, 96), braced_post(BRACE, ENDS, POST, 96, 6000)
    values = adjusted_values(POST, members=1)
    name = "post bending below the brace"
    assert free.candidates[name] == pytest.approx(values.fb * 5.5**3 / 6 / 72)
    critical = 0.822 * values.e_min / (96 / 5.5) ** 2
    stable = post_capacity(POST, 96).load_lb / 30.25
    stress = 6000 / 30.25
    left = (1 - stress / critical) * (1 - (stress / stable) ** 2)
    assert loaded.candidates[name] == pytest.approx(free.candidates[name] * left)
    crushed = braced_post(BRACE, ENDS, POST, 96, 200_000)
    assert crushed.push_lb == 0
    for found in (loaded, crushed):
        assert_every_step_comes_out(found.steps)


def test_a_flat_post_bends_over_its_thin_side() -> None:
    flat = Lumber("southern pine", "No. 2", "4x6", wet=False)
    found = braced_post(BRACE, (BraceEnd("post", flat, 3.5, 45, BOLT, 1),), flat, 96)
    fb = adjusted_values(flat, members=1).fb
    assert found.candidates["post bending below the brace"] == pytest.approx(fb * 5.5 * 3.5**2 / 6 / 72)


@pytest.mark.parametrize(("drop_in", "run_in"), [(24, 24), (30, 18)])
def test_a_frame_solver_finds_the_same_force_in_the_brace(drop_in: float, run_in: float) -> None:
    """A post on a pin, pinned to a beam that is held up at its far end; 100 lb of push at the height of the beam."""
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("m", 1.4e6, 5e5, 0.3, 0)
    model.add_section("s", 30.0, 76.0, 76.0, 100.0)
    for name, x, y in (
        ("foot", 0, 0),
        ("brace", 0, 96 - drop_in),
        ("top", 0, 96),
        ("beam", run_in, 96),
        ("end", 120, 96),
    ):
        model.add_node(name, x, y, 0)
        model.def_support(name, name == "foot", name in ("foot", "end"), True, True, True, False)
    for name, start, end in (
        ("p1", "foot", "brace"),
        ("p2", "brace", "top"),
        ("b1", "top", "beam"),
        ("b2", "beam", "end"),
    ):
        model.add_member(name, start, end, "m", "s")
    model.add_member("knee", "brace", "beam", "m", "s")
    model.def_releases("knee", Rzi=True, Rzj=True)
    model.def_releases("b1", Rzi=True)
    model.add_node_load("top", "FX", 100)
    model.analyze_linear()
    in_brace_lb = abs(model.members["knee"].axial(1, "Combo 1"))
    brace = Brace(BRACE.lumber, drop_in, run_in)
    found = braced_post(brace, ENDS, POST, 96)
    column_lb = post_capacity(brace.lumber, brace.length_in).load_lb
    assert found.candidates["brace as a column"] == pytest.approx(100 * column_lb / in_brace_lb, rel=1e-6)
    bent = max(abs(model.members["p1"].moment("Mz", 96 - drop_in - 1e-6, "Combo 1")), 0)
    assert bent == pytest.approx(100 * (96 - drop_in), rel=1e-5)


@given(st.floats(40, 160), st.floats(12, 36), st.floats(1, 20))
def test_a_taller_post_takes_less_push_and_a_longer_drop_more(height_in: float, drop_in: float, more_in: float) -> None:
    def brace_push(height: float, drop: float) -> float:
        # the same force in the brace at the same angle: only the lever is looked at
        found = braced_post(Brace(BRACE.lumber, drop, drop), ENDS, POST, height)
        return found.candidates["fasteners at the post"]

    assert brace_push(height_in + more_in, drop_in) < brace_push(height_in, drop_in)
    assert brace_push(height_in, min(drop_in + more_in, height_in - 1)) >= brace_push(height_in, drop_in)


def test_braced_posts_share_the_sway_alike_and_it_is_for_information() -> None:
    """12 psf on 120 sq ft over three posts: 480 lb each."""
    post = BracedPost(240.0, "brace as a column", (), {}, ("said",))
    found = brace_against_sway(post, occupant_sway_lb(120), 3)
    assert (found.demand, found.capacity, found.ratio) == (480, 240, 2)
    assert any("for information" in words for words in found.assumptions)
    assert "said" in found.assumptions
    assert_every_step_comes_out(found.steps)


def test_braces_that_cannot_be_are_refused() -> None:
    for drop_in, run_in in ((0, 24), (24, 0)):
        with pytest.raises(OutOfRange):
            Brace(BRACE.lumber, drop_in, run_in)
    for thickness_in, count in ((0, 1), (5.5, 0)):
        with pytest.raises(OutOfRange):
            BraceEnd("post", POST, thickness_in, 45, BOLT, count)
    for height_in, load_lb in ((24, 0), (96, -1), (0, 0)):
        with pytest.raises(OutOfRange):
            braced_post(BRACE, ENDS, POST, height_in, load_lb)
    with pytest.raises(OutOfRange):  # 2x4, 85 in long: slenderness above 50
        braced_post(Brace(BRACE.lumber, 60, 60), ENDS, POST, 96)
    with pytest.raises(OutOfRange):
        brace_against_sway(BracedPost(1.0, "", (), {}, ()), occupant_sway_lb(100), 0)


def test_a_wet_brace_holds_by_seven_tenths_of_its_bolts() -> None:
    """NDS Table 11.3.3: 0.7 above 19 %."""
    wet = Brace(Lumber("southern pine", "No. 2", "2x4", wet=True), 24, 24)
    assert end_capacity(wet, ENDS[0])[0] == pytest.approx(0.7 * end_capacity(BRACE, ENDS[0])[0])


def test_the_thinner_part_and_the_weaker_wood_hold_less() -> None:
    thin = BraceEnd("joist", Lumber("southern pine", "No. 2", "2x8", wet=False), 1.5, 45, BOLT, 1)
    light = BraceEnd("beam", Lumber("spruce-pine-fir", "No. 2", "2x10", plies=2, wet=False), 3.0, 45, BOLT, 1)
    assert end_capacity(BRACE, thin)[0] < end_capacity(BRACE, ENDS[1])[0]
    assert end_capacity(BRACE, light)[0] < end_capacity(BRACE, ENDS[1])[0]
    found = braced_post(BRACE, (ENDS[0], thin), POST, 96)
    assert found.governs == "fasteners at the joist"
    assert {"the foot of the post is free to turn"} <= set(found.assumptions)
