"""Clients and houses that are on file twice."""

import pytest
from django.urls import reverse

from firm.audit.models import AuditEntry
from firm.clients.doubles import NotTheSame, client_doubles, house_doubles, merge_clients, merge_houses, twins_of
from firm.clients.models import Client
from firm.clients.search import find_clients
from firm.properties.models import Property
from tests.make import make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def ines():
    return make_client("Ines Hallam", phone="(207) 555-0142", email="ines@example.org")


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"phone": "1 207 555 0142"}, "the same telephone number"),
        ({"email": "INES@example.org"}, "the same mail address"),
        ({"name": "hallam, inés"}, "the same name"),
        ({"name": "Ines Halam"}, "a name that is spelt alike"),
    ],
)
def test_a_twin_is_noticed_while_it_is_typed(typed, why, ines, signed_in, office):
    assert twins_of(**{"name": "", "phone": "", "email": "", **typed}) == [(ines, why)]
    page = signed_in(office).post(reverse("client-twins"), typed).content.decode()
    assert "Perhaps on file already" in page
    assert why in page


@pytest.mark.parametrize("typed", [{"name": "Ines"}, {"phone": "207 555 0143"}, {"name": "Otis Brankley"}, {}])
def test_whoever_is_somebody_else_is_not_pointed_at(typed, ines):
    assert twins_of(**{"name": "", "phone": "", "email": "", **typed}) == []


def test_nobody_is_a_twin_of_themselves(ines, signed_in, office):
    assert twins_of(ines.name, ines.phone, ines.email, but=ines.pk) == []
    page = signed_in(office).post(f"{reverse('client-twins')}?but={ines.pk}", {"name": ines.name}).content.decode()
    assert "Perhaps" not in page


def test_doubles_are_listed_with_what_they_have_in_common(ines, signed_in, office):
    again = make_client("Hallam Ines", phone="207 555 0142")
    make_client("Otis Brankley")
    pair = client_doubles()[0]
    assert (pair.one, pair.other, pair.why) == (ines, again, "the same telephone number, the same name")
    assert len(client_doubles()) == 1
    first = make_property(ines, street="4 Mill Lane", town="Saltmarsh", county="Sele", postcode="04001")
    second = make_property(ines, street="4 Mill Ln", town="Saltmarsh")
    make_property(ines, street="5 Mill Lane", town="Saltmarsh")
    assert [(pair.one, pair.other) for pair in house_doubles()] == [(first, second)]
    page = signed_in(office).get(reverse("client-doubles")).content.decode()
    assert "Hallam Ines" in page
    assert "4 Mill Ln" in page


def test_what_would_move_is_said_before_and_nothing_is_done_by_looking(ines, signed_in, office, inspector):
    again = make_client("I. Hallam", phone="207 555 0199", notes="Rings twice.")
    visit = make_visit(inspector, property=make_property(again))
    address = reverse("client-merge", args=[ines.pk, again.pk])
    page = signed_in(office).get(address).content.decode()
    assert "1 property, 1 visit." in page
    assert "cannot be undone" in page
    assert Client.objects.count() == 2
    assert signed_in(office).post(address)["Location"] == reverse("client-detail", args=[ines.pk])
    visit.refresh_from_db()
    assert (visit.client, visit.property.client) == (ines, ines)
    assert Client.objects.count() == 1


def test_history_numbers_and_notes_of_both_are_kept(ines, signed_in, office):
    again = make_client("I. Hallam", phone="207 555 0199", notes="Rings twice.")
    third = make_client("Ines Hallem")
    signed_in(office).post(reverse("client-edit", args=[third.pk]), {"name": "Ines Hallum"})
    merge_clients(again, third, by=office)
    kept = merge_clients(ines, again, by=office)
    assert (kept.phone, kept.notes) == ("(207) 555-0142", "Rings twice.\nAlso: 207 555 0199")
    page = signed_in(office).get(reverse("client-detail", args=[ines.pk])).content.decode()
    assert "Ines Hallem" in page, "what was done to the one that is gone is still in the history"
    assert page.count("merged into another") == 2
    old = signed_in(office).get(reverse("client-detail", args=[third.pk]), follow=True)
    assert old.redirect_chain[-1][0] == reverse("client-detail", args=[ines.pk])


def test_the_merged_client_is_found_by_the_address_that_came_with_the_other(ines, office):
    again = make_client("I. Hallam")
    make_property(again, street="3 Withy Bank")
    merge_clients(ines, again, by=office)
    assert find_clients("hallam withy").clients == [ines]


def test_two_houses_become_one_with_their_visits_and_what_was_missing(ines, office, inspector):
    kept = make_property(ines, street="4 Mill Lane", access_notes="Gate 12.")
    gone = make_property(ines, street="4 Mill Ln", county="Sele", latitude="44.1", longitude="-70.2", year_built=1990)
    visit = make_visit(inspector, property=gone)
    merge_houses(kept, gone, by=office)
    kept.refresh_from_db()
    visit.refresh_from_db()
    assert visit.property == kept
    assert (kept.county, kept.year_built, kept.coordinates) == ("Sele", 1990, (44.1, -70.2))
    assert list(Property.objects.all()) == [kept]
    assert AuditEntry.objects.about(kept).get().after["visit"] == 1


def test_a_house_that_was_sold_stays_two_and_nobody_is_merged_with_themselves(ines, office, signed_in):
    here, there = make_property(ines), make_property()
    with pytest.raises(NotTheSame, match="of two clients"):
        merge_houses(here, there, by=office)
    answer = signed_in(office).post(reverse("house-merge", args=[here.pk, there.pk]))
    assert answer.status_code == 422
    with pytest.raises(NotTheSame):
        merge_clients(ines, ines, by=office)
    assert Client.objects.filter(pk=ines.pk).exists()
