"""What every answer carries, and what is shown when something is refused or breaks."""

import logging
from types import SimpleNamespace

import pytest
from django.test import RequestFactory
from django.urls import reverse

from firm.web import wants_fragment
from firm.web.errors import server_error
from firm.web.request_log import RequestIdFilter, loggable_path


def test_health_answers_anybody(client, db):
    answer = client.get(reverse("health"))
    assert (answer.status_code, answer.content) == (200, b"ok")
    assert "no-store" in answer["Cache-Control"]


def test_every_page_carries_the_strict_headers(client, db):
    answer = client.get(reverse("sign-in"))
    directives = dict(part.strip().split(" ", 1) for part in answer["Content-Security-Policy"].split(";"))
    assert directives["default-src"] == "'self'"
    assert directives["style-src"] == "'self'"
    assert directives["script-src"] == "'self' 'wasm-unsafe-eval'"
    assert directives["img-src"] == "'self' data: blob:"
    assert directives["frame-ancestors"] == directives["object-src"] == "'none'"
    assert "unsafe" not in answer["Content-Security-Policy"].replace("'wasm-unsafe-eval'", "")
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"


def test_the_sign_in_page_needs_no_inline_script_or_style(client, db):
    page = client.get(reverse("sign-in")).content.decode()
    assert "<style" not in page and " style=" not in page and " onclick=" not in page
    assert all(" src=" in script.split(">")[0] for script in page.split("<script")[1:])


def test_each_request_has_an_id_that_a_proxy_may_give_but_not_abuse(client, db):
    assert len(client.get("/healthz")["X-Request-ID"]) == 12
    assert client.get("/healthz", headers={"X-Request-ID": "from-the-proxy-1"})["X-Request-ID"] == "from-the-proxy-1"
    assert client.get("/healthz", headers={"X-Request-ID": "two\twords; no id"})["X-Request-ID"] != "two\twords; no id"


def test_the_log_cannot_open_a_report():
    assert loggable_path("/r/s3cr3t/report.pdf") == "/r/.../report.pdf"
    assert loggable_path("/rooms/7") == "/rooms/7"
    record = logging.LogRecord("django.request", logging.ERROR, "", 0, "%s: %s", ("Broke", "/r/s3cr3t"), None)
    assert RequestIdFilter().filter(record)
    assert record.getMessage() == "Broke: /r/..."


def test_an_unknown_address_is_answered_in_words(client, db):
    answer = client.get("/no/such/page/")
    assert answer.status_code == 404
    assert b"There is nothing at this address" in answer.content


def test_a_refusal_says_what_the_page_is_for_and_who_can_help(signed_in, inspector):
    answer = signed_in(inspector).get(reverse("people"))
    assert answer.status_code == 403
    assert b"look after people and settings" in answer.content
    assert b"can change what you may do" in answer.content


def test_a_form_that_is_too_old_says_what_to_do(db):
    from django.test import Client

    answer = Client(enforce_csrf_checks=True).post(reverse("sign-in"), {"username": "a", "password": "b"})
    assert answer.status_code == 403
    assert b"Nothing was changed" in answer.content


def test_the_page_for_a_break_down_asks_nothing_of_the_database():
    """No `db` fixture here: a query would fail the test."""
    answer = server_error(SimpleNamespace(request_id="abc123"))
    assert answer.status_code == 500
    assert b"abc123" in answer.content


@pytest.mark.parametrize(
    ("htmx", "is_fragment"),
    [
        (False, False),
        ({"HX-Request": "true"}, True),
        ({"HX-Request": "true", "HX-Boosted": "true"}, False),
        ({"HX-Request": "true", "HX-History-Restore-Request": "true"}, False),
    ],
)
def test_a_part_is_sent_only_where_htmx_swaps_a_part(htmx, is_fragment):
    from django_htmx.middleware import HtmxDetails

    request = RequestFactory().get("/", headers=htmx or {})
    request.htmx = HtmxDetails(request)
    assert wants_fragment(request) is is_fragment
