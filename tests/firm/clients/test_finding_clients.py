import pytest
from django.db import connection
from django.urls import reverse

from firm.branding.models import Firm
from firm.clients import trigrams
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
    browser.get(reverse("client-list"))  # the first page of a sign-in notes the device
    with django_assert_max_num_queries(7):
        browser.get(reverse("client-list"))


# --- however it is said ---------------------------------------------------------------------------------------------


@pytest.fixture
def odd_names():
    return {
        "obrien": make_client("Siobhán O'Brien-Løkke", phone="+1 (207) 555-0188", email="siobhan@example.org"),
        "smith": make_client("Edwin Smith"),
        "lane": make_property(make_client("Ola Ferrer"), street="12 Copperfield Ln", town="Saltmarsh").client,
    }


@pytest.mark.parametrize(
    ("words", "who"),
    [
        ("obrien", "obrien"), ("O’Brien", "obrien"), ("lokke siobhan", "obrien"), ("brien-lokke", "obrien"),
        ("207.555.0188", "obrien"), ("12075550188", "obrien"), ("555 01 88", "obrien"), ("+1 207 555 0188", "obrien"),
        ("12 copperfield lane", "lane"), ("copperfield ln saltmarsh", "lane"), ("Lane, Copperfield", "lane"),
    ],
)  # fmt: skip
def test_accents_apostrophes_order_and_the_form_of_a_street_do_not_matter(words, who, odd_names):
    assert find_clients(words).clients == [odd_names[who]]


@pytest.mark.parametrize(
    ("words", "who"),
    [
        ("smyth", "smith"), ("edwin smiht", "smith"), ("siobahn", "obrien"), ("2075550198", "obrien"),
        ("coperfield", "lane"), ("12 coperfeild lane", "lane"), ("ferer saltmarch", "lane"),
    ],
)  # fmt: skip
def test_names_numbers_and_streets_that_are_misspelt_are_called_alike(words, who, odd_names):
    assert find_clients(words).alike == [odd_names[who]]


def test_another_house_number_is_another_house(odd_names):
    found = find_clients("14 coperfield")
    assert (found.clients, found.alike) == ([], [])


def test_a_client_is_found_by_the_new_address_and_no_longer_by_the_old_one(odd_names):
    house = odd_names["lane"].properties.get()
    house.street = "3 Withy Bank"
    house.save()
    assert find_clients("withy").clients == [odd_names["lane"]]
    assert find_clients("copperfield").clients == find_clients("coperfield").alike == []


def test_whose_name_begins_with_it_comes_first():
    make_client("Anna Millbrook")
    make_client("Zoe Adams", email="mill@example.org")
    mill = make_client("Millicent Zahn")
    assert find_clients("mill").clients[0] == mill


def test_where_the_database_has_no_index_of_pieces_every_row_is_read(odd_names, monkeypatch):
    monkeypatch.setattr(trigrams, "is_there", lambda using: False)
    assert find_clients("smyth").alike == [odd_names["smith"]]


def test_the_index_is_put_right_again_after_a_table_was_remade(odd_names):
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("DROP TRIGGER clients_pieces_added")
    else:
        with connection.cursor() as cursor:
            cursor.execute("DROP INDEX clients_client_pieces")
    late = make_client("Xanthe Quellmalz")
    trigrams.put()
    assert find_clients("Xante Quelmalz").alike == [late]


@pytest.mark.services
def test_a_database_user_who_may_not_make_extensions_can_still_work():
    """The extension cannot be made: `put` says nothing, and the transaction around it goes on."""
    if connection.vendor != "postgresql":
        pytest.fail("this runs with SERVICES=1 and DATABASE_URL")
    client = make_client("Edwin Smith")
    with connection.cursor() as cursor:
        cursor.execute("DROP EXTENSION pg_trgm CASCADE")
        cursor.execute("CREATE ROLE plain_clerk")
        cursor.execute("GRANT SELECT, UPDATE ON ALL TABLES IN SCHEMA public TO plain_clerk")
        cursor.execute("SET LOCAL ROLE plain_clerk")
        trigrams.put()
        assert not trigrams.is_there("default")
        assert find_clients("smyth").alike == [client]
        cursor.execute("RESET ROLE")
