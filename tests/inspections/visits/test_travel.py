import pytest

from inspections.visits.travel import DETOUR, EARTH_RADIUS_MI, distance_mi, way_minutes
from tests.make import make_property

NEW_YORK, LONDON = (40.7128, -74.0060), (51.5074, -0.1278)


def test_a_degree_along_a_meridian_is_about_sixty_nine_miles():
    """One degree of a great circle is 2 pi R / 360: 69.09 miles on a sphere of 3958.8."""
    assert distance_mi((40, -75), (41, -75)) == pytest.approx(69.09, abs=0.01)
    assert distance_mi((0, 10), (0, 11)) == pytest.approx(69.09, abs=0.01)


def test_half_way_round_the_earth_is_not_an_error():
    assert distance_mi((0, 0), (0, 180)) == pytest.approx(EARTH_RADIUS_MI * 3.14159265, rel=1e-6)
    assert distance_mi((44.1, -70.2), (44.1, -70.2)) == 0


def test_new_york_to_london_as_any_atlas_has_it():
    """3,461 statute miles (5,570 km) is the usual figure for the great circle between the two centres."""
    assert distance_mi(NEW_YORK, LONDON) == pytest.approx(3461, rel=0.005)
    assert distance_mi(NEW_YORK, LONDON) == pytest.approx(distance_mi(LONDON, NEW_YORK))


@pytest.mark.django_db
def test_the_way_is_the_distance_and_a_detour_at_the_stated_speed_rounded_up_to_five_minutes():
    here = make_property(latitude="44.00000", longitude="-70.00000")
    there = make_property(latitude="44.10000", longitude="-70.00000")
    here.refresh_from_db(), there.refresh_from_db()
    exact = DETOUR * 6.909 / 30 * 60  # 17.96 minutes
    assert 15 < exact < 20
    assert way_minutes(here, there, mph=30) == 20
    assert way_minutes(here, there, mph=60) == 10
    assert way_minutes(here, here, mph=30) == 0


@pytest.mark.django_db
def test_without_both_coordinates_the_way_is_not_guessed():
    known = make_property(latitude=44, longitude=-70)
    assert way_minutes(known, make_property(latitude=44), 30) is None
    assert way_minutes(make_property(), known, 30) is None
