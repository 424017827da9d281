"""Sway: devices that count, and what people do to a deck."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.lateral_loads import (
    DeviceSet,
    TensionDevice,
    devices_against_sway,
    lateral_devices,
    occupant_sway_lb,
)

TWO = DeviceSet(2, 1500, 24, "IRC R507.9.2")
FOUR = DeviceSet(4, 750, None, "IRC R507.9.2 (from IRC 2015)")


def test_two_strong_devices_near_the_ends_are_one_accepted_way():
    found = lateral_devices([TensionDevice(1500, 12, "left"), TensionDevice(1600, 24, "right")], [TWO, FOUR])
    assert found.ratio == 1 and found.governs == "2 devices of 1500 lb"


def test_four_weaker_devices_are_the_other_way():
    found = lateral_devices([TensionDevice(750)] * 4, [TWO, FOUR])
    assert found.ratio == 1 and found.governs == "4 devices of 750 lb"


@pytest.mark.parametrize(
    "devices",
    [
        [],
        [TensionDevice(1500, 12, "left")],
        [TensionDevice(1500, 12, "left"), TensionDevice(1500, 20, "left")],
        [TensionDevice(1500, 12, "left"), TensionDevice(1500, 25, "right")],
        [TensionDevice(1500, 12, "left"), TensionDevice(1499, 12, "right")],
        [TensionDevice(1500, 12, "left"), TensionDevice(1500, None, "right")],
        [TensionDevice(1500, 12, "left"), TensionDevice(1500, 12, "right", is_sound=False)],
    ],
)
def test_too_few_too_far_too_weak_or_loose_devices_do_not_make_the_pair(devices):
    assert lateral_devices(devices, [TWO]).ratio > 1


def test_ends_that_were_not_recorded_are_listed_as_assumed():
    found = lateral_devices([TensionDevice(1500, 12), TensionDevice(1500, 12)], [TWO])
    assert found.ratio == 1 and found.assumptions


@given(st.lists(st.floats(100, 3000), max_size=6), st.floats(100, 3000))
def test_another_device_never_hurts(ratings, added):
    devices = [TensionDevice(rated, 12) for rated in ratings]
    more = lateral_devices([*devices, TensionDevice(added, 12)], [TWO, FOUR])
    assert more.ratio <= lateral_devices(devices, [TWO, FOUR]).ratio


def test_people_swaying_on_a_twelve_by_sixteen_deck():
    """12 psf on 192 sq ft: 2304 lb, about 144 lb along each foot of a 12 ft deep deck."""
    sway = occupant_sway_lb(192)
    assert sway.value == 2304
    found = devices_against_sway([TensionDevice(1500), TensionDevice(1500, is_sound=False)], sway)
    assert found.ratio == pytest.approx(2304 / 1500)
    assert any("information" in text for text in found.assumptions)


def test_impossible_entries_are_refused():
    for bad in (
        lambda: lateral_devices([], []),
        lambda: TensionDevice(0),
        lambda: TensionDevice(1500, -1),
        lambda: TensionDevice(1500, 1, "front"),
        lambda: DeviceSet(0, 1500, 24, ""),
    ):
        with pytest.raises(OutOfRange):
            bad()


def test_one_device_may_be_a_set_and_a_sound_one_is_taken_for_granted():
    one = DeviceSet(1, 1000, None, "one anywhere")
    found = lateral_devices([TensionDevice(1000)], [one])
    assert (found.demand, found.capacity, found.assumptions) == (1, 1, ())
    assert lateral_devices([], [DeviceSet(2, 1500, 24, "IRC")]).assumptions == ()
    for least in (0, -1):
        with pytest.raises(OutOfRange):
            DeviceSet(2, least, 24, "")


def test_three_devices_at_one_end_leave_the_other_end_loose():
    """Of a set of two, those at one end count as one, however many they are."""
    at_left = [TensionDevice(1500, 6, "left") for _ in range(3)]
    found = lateral_devices(at_left, [DeviceSet(2, 1500, 24, "IRC R507.9.2")])
    assert found.capacity == 1


@pytest.mark.parametrize(("area_sqft", "psf"), [(0, 12), (100, 0)])
def test_no_deck_and_no_sway_are_refused(area_sqft, psf):
    with pytest.raises(OutOfRange):
        occupant_sway_lb(area_sqft, psf)
