"""Water: what soft wood and rust leave, and which metal does not belong where it is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.fasteners import Fastener, Part, lateral
from engine.tables import load
from engine.water import (
    METALS,
    flashing_objection,
    metal_objections,
    mixed_metals,
    moisture_reading,
    residual_section,
    rusted,
)


def test_half_an_inch_of_rot_all_round_halves_a_six_by_six_and_more():
    found = residual_section(5.5, 5.5, 0.5)
    assert (found.width_in, found.depth_in) == (4.5, 4.5)
    assert "soft on all four faces" in found.assumptions


def test_rot_on_top_of_a_joist_takes_depth_only():
    found = residual_section(1.5, 9.25, 0.75, ["top"])
    assert (found.width_in, found.depth_in) == (1.5, 8.5)


def test_sound_wood_keeps_its_section_without_assumptions():
    assert residual_section(1.5, 9.25, 0).assumptions == ()


@pytest.mark.parametrize(("decay_in", "faces"), [(0.75, ("left", "right")), (1, ("front",)), (0.5, ()), (-1, ("top",))])
def test_rot_that_leaves_nothing_or_has_no_face_is_refused(decay_in, faces):
    with pytest.raises(OutOfRange):
        residual_section(1.5, 9.25, decay_in, faces)


@given(st.floats(0, 2), st.floats(0, 0.7))
def test_deeper_rot_never_leaves_more(decay_in, deeper_in):
    less, more = residual_section(5.5, 5.5, decay_in), residual_section(5.5, 5.5, decay_in + deeper_in)
    assert more.width_in <= less.width_in and more.depth_in <= less.depth_in


@pytest.mark.parametrize(
    ("percent", "state", "is_wet"),
    [(12, "dry", False), (19, "dry", False), (19.5, "wet service", True), (22, "decay can go on", True),
     (28, "decay can start", True), (35, "fibre saturation", True), (0, "dry", False)],
)  # fmt: skip
def test_a_reading_says_whether_it_is_wet_service_and_whether_rot_can_grow(percent, state, is_wet):
    found = moisture_reading(percent)
    assert (found.state, found.is_wet_service) == (state, is_wet)
    assert found.citation


BOLT, LAG = Fastener("bolt", 0.5), Fastener("lag screw", 0.5)


def test_a_measured_waist_takes_half_the_difference_off_the_radius():
    assert rusted(BOLT, "scaling or pitted", 0.44).loss_in == pytest.approx(0.03)
    assert rusted(LAG, "scaling or pitted", 0.44).yield_diameter_in == pytest.approx(0.371 - 0.06)
    wood = Part(0.43, 3.5, 90)
    assert lateral(rusted(BOLT, "scaling or pitted", 0.44), wood, wood).z_lb < lateral(BOLT, wood, wood).z_lb


def test_a_film_of_rust_costs_nothing_and_scaling_must_be_measured():
    assert rusted(BOLT, "film of rust") == BOLT
    for look, left_in in (("scaling or pitted", None), ("broken", 0.5), ("clean", 0.6), ("orange", None)):
        with pytest.raises(OutOfRange):
            rusted(BOLT, look, left_in)


def test_stainless_316_suits_every_place_and_bare_steel_none():
    everywhere = {"is_treated_wood": True, "is_near_salt_water": True, "is_at_pool": True}
    assert metal_objections("stainless steel 316", **everywhere) == ()
    assert len(metal_objections("plain steel", **everywhere)) == 3


def test_hot_dip_zinc_is_good_in_treated_wood_but_not_by_the_sea():
    assert metal_objections("hot-dip galvanized steel", is_treated_wood=True) == ()
    (found,) = metal_objections("hot-dip galvanized steel", is_treated_wood=True, is_near_salt_water=True)
    assert found.confirmed == "memory" and "300 ft" in found.reason


def test_every_metal_rule_names_a_metal_that_can_be_asked_for():
    assert {row["metal"] for row in load("metal_rules").rows} <= set(METALS)
    with pytest.raises(OutOfRange):
        metal_objections("brass", is_treated_wood=True)


def test_zinc_and_stainless_do_not_belong_together():
    assert mixed_metals(["stainless steel 304", "G185 galvanized sheet"]) is not None
    assert mixed_metals(["stainless steel 304", "stainless steel 316"]) is None
    assert mixed_metals(["hot-dip galvanized steel", "G185 galvanized sheet"]) is None
    with pytest.raises(OutOfRange):
        mixed_metals(["brass"])


def test_flashing_that_was_not_seen_is_not_judged():
    assert flashing_objection("lapped behind the wall covering") is None
    assert flashing_objection("none") and flashing_objection("present, not lapped")
    with pytest.raises(OutOfRange):
        flashing_objection("cannot be seen")
