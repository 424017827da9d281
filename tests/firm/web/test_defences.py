"""Every address, by every method, with a hand on each thing that a stranger may set."""

import json
import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse

from firm.web.guard import SANDBOX, GuardMiddleware
from tests.conftest import ROLES
from tests.installation import ROOT
from tests.test_url_matrix import ROWS, address

ON_EVERY_ANSWER = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def hold_for(answer, what):
    wrong = {name: answer.get(name) for name, value in ON_EVERY_ANSWER.items() if answer.get(name) != value}
    assert wrong == {}, what
    assert answer["Referrer-Policy"] in ("same-origin", "no-referrer"), what
    assert "camera=(self)" in answer["Permissions-Policy"] and "geolocation=()" in answer["Permissions-Policy"], what
    policy = answer["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in policy and "unsafe-inline" not in policy and "unsafe-eval' " not in policy, what
    for cookie in answer.cookies.values():
        assert cookie["samesite"] == "Lax", what
        assert cookie["httponly"] or not cookie.value or cookie.key == settings.CSRF_COOKIE_NAME, what


@pytest.fixture
def everything(make_person):
    """Somebody who may do all that anybody may."""
    return make_person(*ROLES)


@pytest.mark.parametrize("name", sorted(ROWS))
def test_every_address_answers_with_all_headers_whatever_the_method(name, client, everything):
    hold_for(client.get(address(name)), "signed out")
    client.force_login(everything)
    for method in ("get", "post", "put", "delete", "trace", "options"):
        answer = getattr(client, method)(address(name))
        hold_for(answer, method)
        assert answer.status_code < 500 or answer.content == b"not ready", method
        if method == "trace":
            assert b"sessionid" not in getattr(answer, "content", b"")


@pytest.mark.parametrize("name", sorted(ROWS))
def test_a_form_without_its_token_changes_nothing_and_a_header_cannot_change_the_method(name, everything):
    client = Client(enforce_csrf_checks=True)
    client.force_login(everything)
    assert client.post(address(name)).status_code in (400, 403, 404, 405), "a POST without a token was let in"
    overridden = client.get(address(name), headers={"X-HTTP-Method-Override": "POST", "X-Method-Override": "DELETE"})
    assert overridden.status_code == client.get(address(name)).status_code


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "127.0.0.1:80@evil.example", "a b", ""])
def test_a_host_that_is_not_ours_gets_nothing(host, db):
    answer = Client(headers={"host": host}).get(reverse("sign-in"))
    assert answer.status_code == 400
    assert host not in answer.content.decode() or not host
    hold_for(answer, host)


@pytest.mark.parametrize(
    "where",
    ["https://evil.example/", "//evil.example/", "/\\evil.example/", "javascript:alert(1)", "https:evil.example"],
)
def test_after_signing_in_nobody_is_sent_elsewhere(where, client, office):
    form = {"username": office.username, "password": "open sesame 12", "next": where}
    answer = client.post(reverse("sign-in"), form)
    assert (answer.status_code, answer["Location"]) == (302, reverse("home"))


def test_a_part_of_a_page_sends_the_signed_out_to_the_sign_in_page_of_this_server_only(client, db):
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver//evil.example/x"}
    answer = client.get(reverse("people"), headers=headers)
    assert answer["HX-Redirect"].startswith("/sign-in/?next=")
    assert Client().get(answer["HX-Redirect"]).status_code == 200


@pytest.mark.parametrize(
    "climb", ["../settings.py", "..%2f..%2fmanage.py", "%2e%2e/manage.py", "....//manage.py", "/etc/passwd"]
)
def test_static_files_end_at_their_folder(climb, client, db):
    answer = client.get(f"/static/{climb}")
    assert answer.status_code == 404
    hold_for(answer, climb)


def test_static_files_carry_the_headers_too(db):
    (settings.STATIC_ROOT / "one.js").write_text("export {};")
    (settings.STATIC_ROOT / "one.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    script, picture = Client().get("/static/one.js"), Client().get("/static/one.svg")
    assert (script.status_code, picture.status_code) == (200, 200)
    hold_for(script, "a script")
    hold_for(picture, "a picture")
    assert "script-src 'self'" in script["Content-Security-Policy"], "a worker is ruled by the answer it came with"
    assert picture["Content-Security-Policy"] == SANDBOX


@pytest.mark.parametrize(
    "kind", ["image/jpeg", "image/svg+xml", "text/csv; charset=utf-8", "application/zip", "text/xml"]
)
def test_what_is_no_page_is_shut_into_a_sandbox(kind):
    answer = GuardMiddleware(lambda request: HttpResponse(b"<script>", content_type=kind))(RequestFactory().get("/"))
    assert answer["Content-Security-Policy"] == SANDBOX


def test_an_answer_that_nothing_changed_leaves_the_policy_of_the_kept_page_alone(rf):
    answer = GuardMiddleware(lambda request: HttpResponse(status=304))(rf.get("/"))
    assert answer._csp_exempt


def test_a_body_that_is_too_large_is_refused_before_it_is_read(client, settings, db):
    settings.REQUEST_MAX_BYTES = 1000
    answer = client.post(reverse("sign-in"), {"username": "x" * 2000})
    assert answer.status_code == 413
    assert b"Nothing was taken in" in answer.content
    hold_for(answer, "too large")


def test_fields_without_end_are_refused(client, everything):
    client.force_login(everything)
    many = client.post(reverse("client-new"), {f"field{number}": "x" for number in range(5000)})
    assert many.status_code == 400
    hold_for(many, "many fields")


@pytest.mark.parametrize("name", ["client-new", "client-report"])
@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("application/x-www-form-urlencoded; charset=utf-7", b"a=b"),
        ("multipart/form-data", b"a"),
        ("multipart/form-data; boundary=x", b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\nhalf'),
        ("multipart/form-data; boundary=\u00e9", b"--"),
        ("application/json", b"[" * 100_000),
    ],
)
def test_what_cannot_be_read_as_a_form_is_refused_and_breaks_nothing(name, kind, body, everything):
    """With the token asked for, as in use: Django's own page for such a request looks for it once more, and breaks."""
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.force_login(everything)
    answer = client.post(address(name), data=body, content_type=kind)
    assert answer.status_code in (400, 403, 404)
    hold_for(answer, kind)
    assert b"<h1>Bad Request" not in answer.content, "said in our words"


@pytest.mark.parametrize("where", ["²", "2026-W99", "home", "people.views", "?a=b", "#x", "http://testserver/people/"])
def test_a_way_back_that_is_no_path_leads_to_the_first_page(where, client, office):
    form = {"username": office.username, "password": "open sesame 12", "next": where}
    answer = client.post(reverse("sign-in"), form)
    assert (answer.status_code, answer["Location"]) == (302, reverse("home"))


def checked(**environment):
    """What `check --deploy` says with these variables set."""
    clean = {
        name: value
        for name, value in os.environ.items()
        if name not in ("PUBLIC_URL", "BEHIND_PROXY", "DEBUG", "DJANGO_ALLOW_ASYNC_UNSAFE")
    }
    return subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT,
        env={**clean, "SOUNDINGS_SETUP": "no", **environment},
        capture_output=True,
        text=True,
    )


def test_djangos_own_check_of_a_deployment_finds_nothing_with_https(tmp_path):
    environment = {"SOUNDINGS_DATA": str(tmp_path), "PUBLIC_URL": "https://decks.example", "BEHIND_PROXY": "yes"}
    said = checked(**environment)
    assert said.returncode == 0, said.stderr
    without = checked(**{**environment, "PUBLIC_URL": "http://decks.example"})
    assert without.returncode != 0, "the check looks at nothing"


def test_with_https_cookies_are_secure_and_browsers_are_told_to_keep_to_it(tmp_path):
    """In a process of its own: these settings are fixed when it starts."""
    names = ("SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SESSION_COOKIE_HTTPONLY", "SECURE_HSTS_SECONDS")
    script = (
        f"import os, json, django; django.setup(); from django.conf import settings;"
        f"print(json.dumps([getattr(settings, name) for name in {names}]))"
    )
    where = {"SOUNDINGS_DATA": str(tmp_path), "PUBLIC_URL": "https://decks.example", "BEHIND_PROXY": "yes"}
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "firm.settings", **where}
    said = subprocess.run([sys.executable, "-c", script], cwd=ROOT, env=environment, capture_output=True, text=True)
    assert json.loads(said.stdout) == [True, True, True, 31_536_000], said.stderr


def test_behind_the_tls_front_plain_requests_are_sent_on_but_not_those_of_a_watcher(settings, db):
    settings.BEHIND_PROXY = settings.SECURE_SSL_REDIRECT = True
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    settings.SECURE_HSTS_SECONDS = 100
    client = Client()
    assert client.get(reverse("sign-in"))["Location"] == "https://testserver/sign-in/"
    assert client.get(reverse("health")).status_code == 200
    assert client.get(reverse("ready")).status_code in (200, 503)
    page = client.get(reverse("sign-in"), headers={"X-Forwarded-Proto": "https"})
    assert (page.status_code, page["Strict-Transport-Security"]) == (200, "max-age=100")


HOSTILE = ("?" + "&".join(f"{name}={{0}}" for name in (
    "q", "page", "name", "who", "day", "state", "kind", "from", "to", "inspector", "sort", "client", "property",
    "county", "what", "verb", "by", "about", "town", "next", "visit", "list",
)))  # fmt: skip


@pytest.mark.parametrize(
    "value", ["%00", "%ff%fe", "9" * 30, "-1", "%27%22%3E%3Cscript%3E", "../../etc/passwd", "1e999"]
)
def test_no_page_breaks_whatever_its_address_is_asked_with(value, client, make_person):
    """On PostgreSQL, a zero byte and a number that is too large would come back as errors of the database."""
    client.force_login(make_person("office", "inspector", "manager", "administrator"))
    client.raise_request_exception = False
    asked = [name for name, row in ROWS.items() if row.get]
    answers = {name: client.get(address(name) + HOSTILE.format(value)) for name in asked}
    assert {name: one.status_code for name, one in answers.items() if one.status_code >= 500 and name != "ready"} == {}
    assert not [name for name, one in answers.items() if not one.streaming and b"'\"><script>" in one.content]
