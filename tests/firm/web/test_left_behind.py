"""What a browser, or a machine between, still holds after somebody looked at a page of a client."""

import pytest
from django.urls import reverse

from tests.make import make_client

pytestmark = pytest.mark.django_db


def test_no_machine_between_keeps_a_page_and_the_browser_asks_before_it_shows_one_again(signed_in, office):
    browser = signed_in(office)
    for address in (reverse("client-detail", args=[make_client().pk]), reverse("visit-list-csv"), reverse("home")):
        assert browser.get(address)["Cache-Control"] == "private, no-cache", address


def test_signing_out_clears_what_the_browser_kept_of_the_pages_and_not_what_waits_to_be_sent(signed_in, office):
    answer = signed_in(office).post(reverse("sign-out"))
    assert answer["Clear-Site-Data"] == '"cache"'
    assert "no-store" in answer["Cache-Control"]


def test_what_says_itself_how_long_it_may_be_kept_is_left_so(client):
    assert "no-store" in client.get(reverse("sign-in"))["Cache-Control"]
