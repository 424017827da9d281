"""Snow beside people: the sum that governs a strength is the largest over its load duration, not the largest sum."""

import pytest

from engine.beam_checks import BeamLine, beam_bending, beam_forces, beam_shear
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values
from engine.posts import max_post_height, post_capacity
from engine.results import Method
from tests.engine.deck_files import NAMES, assessed, the

LIGHT_SNOW = {"basis": {"ground_snow_psf": 20}}  # 0.75 * (40 + 20) + 10 = 55 psf, over 1.15 less than 50 of people


def test_light_snow_does_not_raise_what_a_ledger_fastener_can_carry():
    without, snowy = (the(assessed(**each), "ledger.fastener_nds", "(F5)") for each in ({}, LIGHT_SNOW))
    assert (snowy.demand, snowy.capacity) == (without.demand, without.capacity)
    assert without.demand == pytest.approx(50 / 144 * 52 * 12)


def test_the_tested_joint_knows_no_load_duration_and_takes_the_largest_sum():
    assert the(assessed(**LIGHT_SNOW), "ledger.fastener_tested", "(F5)").demand == pytest.approx(55 / 144 * 52 * 12)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("snow_psf", [1, 12, 20, 33, 47, 80])
def test_snow_never_lightens_a_calculated_check(name, snow_psf):
    before = {(check.id, check.subject): check for check in assessed(name, basis={"ground_snow_psf": 0}).checks}
    seen = 0
    for check in assessed(name, basis={"ground_snow_psf": snow_psf}).checks:
        was = before[check.id, check.subject]
        if check.method is Method.CALCULATION and check.ratio is not None and was.ratio is not None:
            assert check.ratio >= was.ratio * (1 - 1e-9), (check.id, check.subject)
            seen += 1
    assert seen > 3


def test_beams_bolted_to_posts_take_the_sum_that_governs_bolts_and_eccentric_posts():
    aside = {"B1": {"seat": "bolted to the side of the post", "seat_bolts": 2, "seat_bolt_diameter_in": 0.625}}
    for check_id in ("post.seat_bolts", "post.compression"):
        without = the(assessed(**aside), check_id, "P2")
        snowy = the(assessed(**aside, **LIGHT_SNOW), check_id, "P2")
        assert snowy.ratio >= without.ratio * (1 - 1e-9)
    assert the(assessed(**aside, **LIGHT_SNOW), "post.seat_bolts", "P2").ratio == pytest.approx(
        the(assessed(**aside), "post.seat_bolts", "P2").ratio
    )


def test_a_beam_takes_the_combination_that_is_worst_for_each_effect():
    """Where spans are loaded in turn, the load that comes and goes weighs more in a moment than the dead load."""
    lumber = Lumber(species="southern pine", grade="No. 2", size="2x10", plies=3, wet=True)
    line, loads = BeamLine((96.0, 60.0, 96.0), 0.0, 30.0), Loads(live=40, dead=10, snow=23)
    for compared, effect in (
        (beam_bending, lambda f: max(*f.sagging_in_lb, *f.hogging_in_lb) / lumber.s_xx_in3),
        (beam_shear, lambda f: max(f.shear_lb)),
    ):
        by_hand = []
        for each in loads.combinations:
            forces = beam_forces(line, 10 * 60 / 144, each.variable_psf * 60 / 144)
            values = adjusted_values(lumber, each.load_duration)
            capacity = values.fb if compared is beam_bending else 2 / 3 * values.fv * lumber.area_in2
            by_hand.append(effect(forces) / capacity)
        assert compared(lumber, line, 60.0, loads).ratio == pytest.approx(max(by_hand))


def test_a_slender_post_is_as_high_as_every_sum_of_loads_allows():
    lumber, loads = Lumber(species="hem-fir", grade="No. 2", size="4x4", wet=True), Loads(live=40, dead=10, snow=20)
    found = max_post_height(lumber, 100, loads, own_weight=False, cap_in=600)
    for each in loads.combinations:
        assert post_capacity(lumber, found.value_in, each.load_duration).load_lb >= each.total_psf * 100 * (1 - 1e-6)
