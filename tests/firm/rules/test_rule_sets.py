from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.properties.models import Property
from firm.properties.services import propose_rules
from firm.rules.models import Amendment, Confirmation, RuleSet
from firm.rules.services import amend, confirm, find_rule_set
from tests.make import make_property

pytestmark = pytest.mark.django_db


def make_rules(county="Sele", town="", **fields):
    told = {"region": "Maine", "citation": "Ordinance 9-14", "holds_from": date(2026, 5, 4), **fields}
    return RuleSet.objects.create(county=county, town=town, **told)


# --- which set holds for a place ----------------------------------------------------------------------------------


def test_the_county_is_told_however_it_is_typed():
    sele = make_rules("Séle")
    for county in ("sele", "SELE COUNTY", " Sele  county "):
        assert find_rule_set(region="maine", county=county, town="Anywhere") == sele
    assert find_rule_set(region="Vermont", county="Sele") is None
    assert find_rule_set(region="Maine", county="Harrow") is None
    assert find_rule_set(region="Maine") is None


def test_a_town_with_rules_of_its_own_goes_before_its_county():
    county, town = make_rules(), make_rules(town="Corran")
    assert find_rule_set(region="Maine", county="Sele", town="corran") == town
    assert find_rule_set(region="Maine", county="", town="Corran") == town
    assert find_rule_set(region="Maine", county="Sele", town="Elsewhere") == county


def test_a_town_of_the_same_name_in_another_county_is_another_town():
    make_rules(town="Corran")
    assert find_rule_set(region="Maine", county="Harrow", town="Corran") is None


def test_a_place_has_one_set():
    make_rules("Sele")
    with pytest.raises(IntegrityError), transaction.atomic():
        make_rules("sele county")


# --- a house takes it ---------------------------------------------------------------------------------------------


def test_a_new_house_takes_the_set_of_its_place_and_says_so():
    sele = make_rules(ground_snow_psf=60, frost_depth_in=48, soil_psf=2000, is_near_salt_water=True, edition="IRC 2018")
    house = Property(street="1 Kiln Yard", town="Corran", county="Sele", region="Maine")
    propose_rules(house)
    assert (house.rule_set, house.ground_snow_psf, house.edition) == (sele, 60, "IRC 2018")
    assert (house.soil_psf, house.is_near_salt_water) == (2000, True)
    assert house.rules_source == "Sele County, Maine: Ordinance 9-14, May 4, 2026"


def test_the_county_of_a_town_is_known_from_another_house_in_it():
    sele = make_rules(ground_snow_psf=60)
    make_property(town="Corran", county="Sele")
    house = Property(street="1 Kiln Yard", town="corran", region="Maine")
    propose_rules(house)
    assert (house.county, house.rule_set) == ("Sele", sele)


def test_without_a_set_the_rules_of_the_last_house_in_the_town_are_taken():
    make_property(town="Corran", ground_snow_psf=35, rules_source="Town office")
    house = Property(street="1 Kiln Yard", town="Corran", region="Maine")
    propose_rules(house)
    assert (house.ground_snow_psf, house.rule_set) == (35, None)


PLACE = {"street": "1 Kiln Yard", "town": "Corran", "county": "Sele", "region": "Maine", "postcode": ""}


def test_on_the_page_the_rules_are_filled_in_and_can_be_edited_before_they_are_stored(signed_in, office):
    sele = make_rules(ground_snow_psf=60)
    house = make_property(**PLACE, ground_snow_psf=0, is_near_salt_water=True)
    address = reverse("property-edit", args=[house.pk])
    answer = signed_in(office).post(address, {**PLACE, "take_rules": "1", "access_notes": "Ring twice"})
    form = answer.context["form"]
    assert answer.status_code == 200
    assert (float(form["ground_snow_psf"].value()), form["rule_set"].value()) == (60, str(sele.pk))
    assert form["access_notes"].value() == "Ring twice"
    assert not form["is_near_salt_water"].value()
    house.refresh_from_db()
    assert house.ground_snow_psf == 0
    answer = signed_in(office).post(address, {**PLACE, "town": "Farley", "county": "Other", "take_rules": "1"})
    assert "No rule set is on file" in answer.content.decode()
    fields = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "", False)}
    assert signed_in(office).post(address, {**fields, "ground_snow_psf": "70"}).status_code == 302
    house.refresh_from_db()
    assert (house.ground_snow_psf, house.rule_set) == (70, sele)


@pytest.mark.parametrize(
    ("latitude", "longitude", "beside"),
    [("44.1", "", "longitude"), ("", "-70", "latitude"), ("91", "0", "latitude"), ("44", "x", "longitude")],
)
def test_coordinates_come_in_pairs_on_the_globe(latitude, longitude, beside, signed_in, office):
    house = make_property()
    fields = {
        **PLACE, "edition": "IRC 2021", "live_psf": "40", "ground_snow_psf": "0", "soil_psf": "1500",
        "latitude": latitude, "longitude": longitude,
    }  # fmt: skip
    answer = signed_in(office).post(reverse("property-edit", args=[house.pk]), fields)
    assert (answer.status_code, list(answer.context["form"].errors)) == (422, [beside])


# --- the pages ----------------------------------------------------------------------------------------------------

A_SET = {
    "region": "Maine", "county": "Sele", "edition": "IRC 2021", "live_psf": "40", "ground_snow_psf": "60",
    "frost_depth_in": "48", "soil_psf": "1500", "citation": "County office, by telephone", "holds_from": "2026-05-04",
}  # fmt: skip


def test_a_set_is_added_with_an_audit_line(signed_in, administrator):
    answer = signed_in(administrator).post(reverse("rule-set-new"), A_SET)
    stored = RuleSet.objects.get()
    assert answer["Location"] == reverse("rule-set-edit", args=[stored.pk])
    assert AuditEntry.objects.about(stored).get().after["edition"] == "IRC 2021"
    signed_in(administrator).post(answer["Location"], {**A_SET, "ground_snow_psf": "65"})
    line = AuditEntry.objects.about(stored).first()
    assert set(line.after) == {"ground_snow_psf"}


def test_no_snow_load_is_proposed_for_a_new_place_it_must_be_looked_up(signed_in, administrator):
    page = signed_in(administrator)
    for address in (reverse("rule-set-new"), reverse("set-up-step", args=["rules"])):
        assert page.get(address).context["form"]["ground_snow_psf"].value() is None
    answer = page.post(reverse("rule-set-new"), {**A_SET, "ground_snow_psf": ""})
    assert "ground_snow_psf" in answer.context["form"].errors
    stored = make_rules("Marl", ground_snow_psf=35)
    form = page.get(reverse("rule-set-edit", args=[stored.pk])).context["form"]
    assert form["ground_snow_psf"].value() == 35


@pytest.mark.parametrize(
    ("wrong", "beside"),
    [
        ({"county": ""}, "county"),
        ({"county": "sele COUNTY", "region": "maine "}, "county"),
        ({"ground_snow_psf": "301"}, "ground_snow_psf"),
        ({"frost_depth_in": "-1"}, "frost_depth_in"),
        ({"live_psf": "9"}, "live_psf"),
        ({"citation": ""}, "citation"),
        ({"holds_from": (timezone.localdate() + timedelta(days=2)).isoformat()}, "holds_from"),
        ({"edition": "IRC 1999"}, "edition"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(wrong, beside, signed_in, administrator):
    make_rules("Sele")
    answer = signed_in(administrator).post(reverse("rule-set-new"), {**A_SET, "county": "New", **wrong})
    assert (answer.status_code, list(answer.context["form"].errors)) == (422, [beside])


@pytest.mark.parametrize(
    ("said", "beside", "words"),
    [
        ({"key": "guard.min_hight"}, "key", "guard.min_height"),
        ({"key": "joist_spans_irc_2021"}, "key", "no rule"),
        ({"key": "Guard Height!"}, "key", "no rule"),
        ({"value": "-1"}, "value", "0"),
        ({"value": "nan"}, "value", "number"),
        ({"unit": "ft"}, "unit", "in in"),
        ({"citation": ""}, "citation", "required"),
    ],
)
def test_an_amendment_must_be_a_rule_of_the_code_in_its_unit(said, beside, words, signed_in, administrator):
    address = reverse("amendment-add", args=[make_rules().pk])
    fields = {"key": "guard.min_height", "value": "42", "unit": "in", "citation": "s. 12", **said}
    answer = signed_in(administrator).post(address, fields)
    assert answer.status_code == 422
    assert words in answer.context["amendment_form"].errors[beside][0]


def test_a_second_amendment_of_one_rule_takes_the_place_of_the_first(administrator):
    sele = make_rules()
    for value in (42, 40):
        rule = {"key": "guard.min_height", "value": value, "unit": "in", "citation": "s. 12"}
        amend(Amendment(rule_set=sele, **rule), by=administrator)
    assert [one.value for one in sele.amendments.all()] == [40]
    assert AuditEntry.objects.about(sele).first().before == {"guard.min_height": "42 in, s. 12"}


def test_an_amendment_added_and_removed_from_the_page(signed_in, administrator):
    sele = make_rules()
    fields = {"key": "guard.min_height", "value": "42", "unit": "in", "citation": "s. 12"}
    page = signed_in(administrator).post(reverse("amendment-add", args=[sele.pk]), fields, follow=True).content.decode()
    assert "the code: 36 in" in page
    signed_in(administrator).post(reverse("amendment-remove", args=[sele.amendments.get().pk]))
    assert not sele.amendments.exists()


def test_a_comparison_says_who_and_when_and_a_later_one_replaces_it(signed_in, administrator, office):
    add = reverse("confirmation-add")
    fields = {"key": "joist_spans_irc_2021", "on": "2026-05-04", "copy": "Second printing, p. 612"}
    assert signed_in(administrator).post(add, fields).status_code == 302
    signed_in(administrator).post(add, {**fields, "on": "2026-06-01"})
    confirmed = Confirmation.objects.get()
    assert (confirmed.by, confirmed.on) == (administrator, date(2026, 6, 1))
    page = signed_in(office).get(reverse("rule-sets")).content.decode()
    assert "Second printing, p. 612" in page
    assert reverse("confirmation-add") not in page, "who books may look, not change"
    signed_in(administrator).post(reverse("confirmation-remove", args=[confirmed.pk]))
    assert not Confirmation.objects.exists()


@pytest.mark.parametrize(("name", "wrong"), [("key", "joist_spams"), ("on", "2999-01-01"), ("copy", "")])
def test_a_comparison_that_cannot_be_is_refused(name, wrong, signed_in, administrator):
    fields = {"key": "joist_spans_irc_2021", "on": "2026-05-04", "copy": "p. 612", name: wrong}
    answer = signed_in(administrator).post(reverse("confirmation-add"), fields)
    assert (answer.status_code, list(answer.context["form"].errors)) == (422, [name])


def test_the_list_takes_a_fixed_number_of_queries(signed_in, administrator, django_assert_max_num_queries):
    for number in range(12):
        rules = make_rules(f"County {number}")
        rules.amendments.create(key="guard.min_height", value=42, unit="in", citation="s. 12")
        on = {"on": date(2026, 5, 4), "copy": "p. 1"}
        confirm(Confirmation(key=f"table_{number}", **on), by=administrator)
    browser = signed_in(administrator)
    browser.get(reverse("rule-sets"))
    with django_assert_max_num_queries(7):
        browser.get(reverse("rule-sets"))
