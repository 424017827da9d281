import pytest
from django.urls import reverse

from firm.audit.models import AuditEntry
from firm.properties.models import Property
from tests.make import make_client, make_property

pytestmark = pytest.mark.django_db

A_HOUSE = {
    "street": "4 Mill Lane",
    "town": "Harrow Point",
    "region": "Maine",
    "edition": "IRC 2021",
    "live_psf": "40",
    "ground_snow_psf": "50",
    "frost_depth_in": "48",
    "soil_psf": "1500",
    "rules_source": "Town office, by telephone",
}


def test_a_property_is_added_under_its_client(signed_in, office):
    client = make_client()
    answer = signed_in(office).post(reverse("property-new", args=[client.pk]), A_HOUSE)
    house = Property.objects.get()
    assert answer["Location"] == reverse("client-detail", args=[client.pk])
    assert (house.client, house.ground_snow_psf, house.frost_depth_in) == (client, 50, 48)
    assert AuditEntry.objects.about(house).get().verb == "added"


def test_a_frost_depth_that_a_colleague_saved_meanwhile_is_not_written_over(signed_in, office):
    house = make_property(frost_depth_in=36)
    browser, address = signed_in(office), reverse("property-edit", args=[house.pk])
    seen = browser.get(address).context["form"]["seen"].value()
    with_rules = browser.post(address, {**A_HOUSE, "seen": seen, "take_rules": "1"})
    assert with_rules.context["form"]["seen"].value() == seen, "looked at with the rules of the place, not saved"
    Property.objects.filter(pk=house.pk).update(frost_depth_in=60)
    answer = browser.post(address, {**A_HOUSE, "seen": seen})
    house.refresh_from_db()
    assert (answer.status_code, house.frost_depth_in) == (422, 60)


def test_a_changed_rule_is_noted_with_what_it_was(signed_in, office):
    house = make_property(frost_depth_in=36)
    fields = {**A_HOUSE, "street": house.street, "ground_snow_psf": "0", "rules_source": "", "frost_depth_in": "48"}
    signed_in(office).post(reverse("property-edit", args=[house.pk]), fields)
    line = AuditEntry.objects.about(house).get()
    assert {name: float(value) for name, value in line.before.items()} == {"frost_depth_in": 36}
    assert {name: float(value) for name, value in line.after.items()} == {"frost_depth_in": 48}


def test_a_frost_depth_that_is_not_known_stays_empty(signed_in, office):
    signed_in(office).post(reverse("property-new", args=[make_client().pk]), {**A_HOUSE, "frost_depth_in": ""})
    assert Property.objects.get().frost_depth_in is None


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("street", ""),
        ("street", "12"),
        ("street", "x" * 300),
        ("town", "99"),
        ("region", ""),
        ("edition", "IRC 1066"),
        ("live_psf", "5"),
        ("live_psf", "1e9"),
        ("live_psf", "NaN"),
        ("live_psf", ""),
        ("ground_snow_psf", "-1"),
        ("ground_snow_psf", "Infinity"),
        ("frost_depth_in", "4 ft"),
        ("frost_depth_in", "500"),
        ("soil_psf", "12"),
        ("deck_year_built", "3050"),
        ("deck_year_built", "2090"),
        ("year_built", "12"),
        ("access_notes", "a\x00b"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_the_rest_is_kept(field, value, signed_in, office):
    address = reverse("property-new", args=[make_client().pk])
    answer = signed_in(office).post(address, {**A_HOUSE, "deck_builder": "A neighbour", field: value})
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert "A neighbour" in answer.content.decode()
    assert not Property.objects.exists()


def test_the_rules_stand_in_a_fieldset_of_their_own_with_hints(signed_in, office):
    page = signed_in(office).get(reverse("property-edit", args=[make_property().pk])).content.decode()
    rules = page[page.index("The building rules that apply here") :]
    for name in ("edition", "live_psf", "ground_snow_psf", "frost_depth_in", "soil_psf", "is_near_salt_water"):
        assert f'id="id_{name}_helptext"' in rules
