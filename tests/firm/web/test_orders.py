"""Lists are put in order by the address, narrowed by it, and saved as a table with the same rows in the same order."""

import csv
import io

import pytest
from django.http import QueryDict
from django.urls import reverse
from django.utils import timezone

from firm.clients.models import Client
from firm.rules.models import RuleSet
from firm.web.orders import Column, Order
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db

NAMES = {"name": Column("Name", ("name",)), "mail": Column("Mail", ("email", "-name"))}


def order(asked, usual=""):
    return Order(QueryDict(asked), NAMES, usual)


def rows(answer):
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


@pytest.fixture
def three():
    for name, mail in (("Zoe Adams", "b@example.org"), ("Abe Brown", "a@example.org"), ("Ida Cole", "a@example.org")):
        make_client(name, email=mail)


@pytest.mark.parametrize(
    ("asked", "first"),
    [("sort=name", "Abe Brown"), ("sort=-name", "Zoe Adams"), ("sort=mail", "Ida Cole"), ("sort=-mail", "Zoe Adams"),
     ("sort=x'--", "Zoe Adams")],
)  # fmt: skip
def test_the_address_says_the_order_and_what_it_does_not_know_changes_nothing(three, asked, first):
    assert order(asked).put(Client.objects.order_by("pk")).first().name == first


def test_a_second_press_on_a_head_turns_the_order_round_and_the_filters_stay():
    name, mail = order("q=ada&sort=name&page=3").heads
    assert (name.order, name.query) == ("ascending", "q=ada&sort=-name")
    assert (mail.order, mail.query) == ("none", "q=ada&sort=mail")
    assert order("q=ada&sort=-name").heads[0].query == "q=ada&sort=name"
    assert order("q=ada&sort=-name&page=3").kept == "q=ada&sort=-name"


def test_clients_are_saved_as_they_are_listed(signed_in, office, three):
    make_property(Client.objects.get(name="Ida Cole"), street="4 Mill Lane")
    answer = signed_in(office).get(reverse("client-list-csv"), {"sort": "-name"})
    assert [row["Name"] for row in rows(answer)] == ["Zoe Adams", "Ida Cole", "Abe Brown"]
    assert rows(answer)[1]["Properties"].startswith("4 Mill Lane")
    assert [row["Name"] for row in rows(signed_in(office).get(reverse("client-list-csv"), {"q": "ida"}))] == [
        "Ida Cole"
    ]


def test_the_next_page_of_a_search_is_of_the_same_search(signed_in, office):
    for number in range(45):
        make_client(f"Hallam {number}")
    page = signed_in(office).get(reverse("client-list"), {"q": "hallam", "sort": "name"}).content.decode()
    assert "?q=hallam&amp;sort=name&amp;page=2" in page


def test_houses_are_listed_narrowed_ordered_and_saved(signed_in, office):
    make_property(make_client("Zoe"), street="2 Withy Bank", town="Aldham", rules_source="Town hall, by telephone")
    make_property(make_client("=cmd()"), street="9 Ferry Landing", town="Zenith")
    browser, table = signed_in(office), reverse("property-list-csv")
    assert [row["Town"] for row in rows(browser.get(table))] == ["Aldham", "Zenith"]
    assert [row["Client"] for row in rows(browser.get(table, {"rules": "missing"}))] == ["'=cmd()"]
    assert [row["Town"] for row in rows(browser.get(table, {"sort": "-town"}))] == ["Zenith", "Aldham"]
    page = browser.get(reverse("property-list"), {"q": "withy"}).content.decode()
    assert "2 Withy Bank" in page and "9 Ferry Landing" not in page


def test_all_visits_are_ordered_otherwise_than_by_week_and_saved(signed_in, office, inspector):
    zoe = make_property(make_client("Zoe Adams"), town="Aldham")
    abe = make_property(make_client("Abe Brown"), town="Zenith")
    make_visit(inspector, property=zoe, starts_at=in_days(9, 9))
    make_visit(inspector, property=abe, starts_at=in_days(30, 9))
    browser = signed_in(office)
    page = browser.get(reverse("visit-list"), {"sort": "client"}).content.decode()
    assert "By client" in page and page.index("Abe Brown") < page.index("Zoe Adams")
    saved = rows(browser.get(reverse("visit-list-csv"), {"sort": "-place"}))
    assert [row["Town"] for row in saved] == ["Zenith", "Aldham"]


def test_a_list_of_visits_is_saved_for_an_inspector_with_his_or_her_own_only(signed_in, inspector, make_person):
    make_visit(inspector, property=make_property(street="1 Own Lane"))
    make_visit(make_person("inspector", username="other"), property=make_property(street="2 Other Lane"))
    assert [row["Street"] for row in rows(signed_in(inspector).get(reverse("visit-list-csv")))] == ["1 Own Lane"]


def test_local_rules_are_ordered_and_saved_with_their_amendments(signed_in, office):
    lincoln = RuleSet.objects.create(
        region="Maine", county="Lincoln", holds_from=timezone.localdate(), citation="Ord. 4"
    )
    RuleSet.objects.create(region="Maine", county="Knox", edition="irc-2018", holds_from=timezone.localdate())
    lincoln.amendments.create(key="guard.height", value=42, unit="in", citation="=Ord. 5")
    browser = signed_in(office)
    saved = rows(browser.get(reverse("rule-sets-csv"), {"sort": "-place"}))
    assert [row["County"] for row in saved] == ["Lincoln", "Knox"]
    assert saved[0]["Amendments"] == "guard.height 42 in (=Ord. 5)"
    page = browser.get(reverse("rule-sets"), {"sort": "-place"}).content.decode()
    assert page.index("Lincoln") < page.index("Knox")
