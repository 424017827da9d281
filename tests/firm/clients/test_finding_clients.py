import pytest
from django.urls import reverse

from firm.branding.models import Firm
from firm.clients.models import Client
from firm.clients.search import find_clients
from tests.make import make_client, make_property

pytestmark = pytest.mark.django_db


@pytest.fixture
def three_clients():
    ines = make_client("Inés Hallam", phone="(207) 555-0142", email="ines@example.org")
    make_property(ines, street="4 Mill Lane", town="Harrow Point")
    make_property(ines, street="17 Quarry Hill Road", town="Saltmarsh")
    make_client("Otis Brankley", phone="207 555 0177")
    make_client("Vera Lindqvist-Oyelaran")
    return ines


@pytest.mark.parametrize(
    "words",
    ["hallam", "INES", "ines hal", "ha", "4 mill", "quarry saltmarsh", "hallam mill", "555-0142", "(207) 555 0142",
     "2075550142", "ines@example", "  hallam  "],
)  # fmt: skip
def test_a_client_is_found_by_name_number_mail_or_address(words, three_clients):
    assert three_clients in Client.objects.matching(words)


def test_a_client_with_two_houses_is_listed_once(three_clients):
    assert list(Client.objects.matching("hallam")) == [three_clients]


@pytest.mark.parametrize("words", ["Halam", "hallan", "halllam", "ines hallum", "Inez Hallam"])
def test_a_name_that_is_misspelt_is_still_found_and_called_alike(words, three_clients):
    found = find_clients(words)
    assert (found.clients, found.alike) == ([], [three_clients])


def test_a_misspelt_name_is_offered_beside_somebody_who_happens_to_match(three_clients):
    other = make_client("Tomas Halamka")
    found = find_clients("halam")
    assert (found.clients, found.alike) == ([other], [three_clients])


def test_a_name_that_is_only_begun_brings_nobody_who_is_spelt_alike(three_clients):
    make_client("Rosa Hill")
    assert find_clients("hall").alike == []


def test_somebody_quite_different_is_not_offered(three_clients):
    found = find_clients("Zebulon Quist")
    assert (found.clients, found.alike) == ([], [])


@pytest.mark.parametrize("words", ["%", "_", "'; --", "a" * 120, "x y z " * 20, "<b>", "\\"])
def test_strange_words_find_nobody(words, three_clients):
    found = find_clients(words)
    assert (found.clients, found.alike) == ([], [])


def test_the_list_is_searched_by_address_too(signed_in, office, three_clients):
    page = signed_in(office).get(reverse("client-list"), {"q": "quarry"}).content.decode()
    assert "Inés Hallam" in page
    assert "Otis" not in page


@pytest.mark.parametrize("q", ["\x00", "a" * 5000, "<script>alert(1)</script>"])
def test_a_search_that_cannot_be_is_answered_with_a_page(q, signed_in, office, three_clients):
    answer = signed_in(office).get(reverse("client-list"), {"q": q})
    assert answer.status_code == 200
    assert "<script>alert" not in answer.content.decode()


def test_the_list_offers_names_that_are_alike(signed_in, office, three_clients):
    page = signed_in(office).get(reverse("client-list"), {"q": "Halam"}).content.decode()
    assert "Spelt alike" in page
    assert "Inés Hallam" in page


def test_typing_swaps_the_list_alone(signed_in, office, three_clients):
    answer = signed_in(office).get(reverse("client-list"), {"q": "otis"}, headers={"HX-Request": "true"})
    assert answer.content.decode().lstrip().startswith('<section id="clients"')


def test_the_number_of_queries_does_not_grow(signed_in, office, django_assert_max_num_queries):
    for number in range(30):
        make_property(make_client(f"Client {number}"))
    browser = signed_in(office)
    Firm.current()  # made at the first look
    with django_assert_max_num_queries(6):
        browser.get(reverse("client-list"))
