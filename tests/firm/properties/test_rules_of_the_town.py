import pytest

from firm.properties.models import Property
from firm.properties.services import take_rules_of_the_town
from tests.make import make_client, make_property

pytestmark = pytest.mark.django_db


@pytest.fixture
def looked_up():
    return make_property(
        street="4 Mill Lane", edition="IRC 2018", ground_snow_psf=60, frost_depth_in=48, soil_psf=3000,
        is_near_salt_water=True, rules_source="Town office, May 2026",
    )  # fmt: skip


def new_house(**fields):
    return Property(**{"client": make_client(), "street": "9 Ferry Landing", "town": "harrow point", **fields})


def test_a_new_house_takes_what_holds_for_the_whole_town_and_says_from_where(looked_up):
    house = new_house(region="MAINE")
    assert take_rules_of_the_town(house) == looked_up
    assert (house.edition, house.ground_snow_psf, house.frost_depth_in) == ("IRC 2018", 60, 48)
    assert house.rules_source == "As for 4 Mill Lane: Town office, May 2026"


def test_what_belongs_to_the_single_house_is_not_taken_over(looked_up):
    house = new_house(region="Maine")
    take_rules_of_the_town(house)
    assert (house.soil_psf, house.is_near_salt_water) == (1500, False)


@pytest.mark.parametrize("elsewhere", [{"town": "Saltmarsh", "region": "Maine"}, {"region": "Vermont"}])
def test_another_town_gives_no_rules(looked_up, elsewhere):
    house = new_house(**elsewhere)
    assert take_rules_of_the_town(house) is None
    assert (house.ground_snow_psf, house.rules_source) == (0, "")


def test_values_that_nobody_looked_up_are_not_passed_on():
    make_property(ground_snow_psf=60)
    house = new_house(region="Maine")
    assert take_rules_of_the_town(house) is None
    assert house.ground_snow_psf == 0


def test_the_source_names_the_house_where_it_was_looked_up_not_the_last_copy(looked_up):
    second = new_house(region="Maine")
    take_rules_of_the_town(second)
    second.save()
    third = new_house(region="Maine", street="1 Old Post Road")
    assert take_rules_of_the_town(third) == second
    assert third.rules_source == "As for 4 Mill Lane: Town office, May 2026"
