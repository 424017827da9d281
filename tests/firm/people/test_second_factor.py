"""A code of the telephone besides the password: asked for, taken once, and recoverable."""

import re
from datetime import UTC, datetime, timedelta

import pyotp
import pytest
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.people import second_factor
from firm.people.models import SecondFactor
from firm.people.sealing import seal

PASSWORD = "open sesame 12"
NOW = datetime(2026, 11, 25, 12, 0, 10, tzinfo=UTC)


def code_of(factor, at):
    return pyotp.TOTP(factor.key).at(at)


@pytest.fixture
def protected(inspector):
    """The inspector with a second factor that is in force, and the recovery codes."""
    factor = second_factor.begin(inspector)
    codes = second_factor.confirm(inspector, code_of(factor, NOW - timedelta(hours=1)), NOW - timedelta(hours=1))
    factor.refresh_from_db()
    return inspector, factor, codes


def give_password(client, **more):
    return client.post(reverse("sign-in"), {"username": "inspector", "password": PASSWORD, **more})


def give_code(client, code):
    return client.post(reverse("second-step"), {"code": code})


def is_signed_in(client):
    return "_auth_user_id" in client.session


def test_the_password_alone_signs_nobody_in(protected, client):
    answer = give_password(client)
    assert answer["Location"] == reverse("second-step") and not is_signed_in(client)
    assert client.get(reverse("home")).status_code == 302


def test_the_code_of_the_telephone_does_and_leads_where_one_wanted_to_go(protected, client):
    give_password(client, next=reverse("my-sign-in"))
    answer = give_code(client, f" {code_of(protected[1], timezone.now())} ")
    assert answer["Location"] == reverse("my-sign-in") and is_signed_in(client)


def test_without_the_password_there_is_no_question_for_a_code(protected, client):
    assert client.get(reverse("second-step"))["Location"] == reverse("sign-in")
    assert give_code(client, code_of(protected[1], timezone.now()))["Location"] == reverse("sign-in")


def test_ten_minutes_later_or_after_a_change_of_password_one_begins_again(protected, client, monkeypatch):
    give_password(client)
    inspector, factor, _ = protected
    inspector.set_password("another one 345")
    inspector.save()
    assert give_code(client, code_of(factor, timezone.now()))["Location"] == reverse("sign-in")


def test_a_code_is_taken_once_even_within_its_half_minute(protected):
    inspector, factor, _ = protected
    code = code_of(factor, NOW)
    assert second_factor.is_right(inspector, code, NOW)
    assert not second_factor.is_right(inspector, code, NOW)


@pytest.mark.parametrize(("late_s", "is_taken"), [(-30, True), (30, True), (-70, False), (70, False)])
def test_a_clock_may_be_half_a_minute_off(protected, late_s, is_taken):
    inspector, factor, _ = protected
    assert second_factor.is_right(inspector, code_of(factor, NOW + timedelta(seconds=late_s)), NOW) is is_taken


def test_the_codes_are_those_of_the_published_standard():
    """RFC 6238, appendix B: the key of the SHA-1 examples, cut to six digits."""
    factor = SecondFactor(secret=seal("GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"))
    assert code_of(factor, datetime.fromtimestamp(59, UTC)) == "287082"
    assert code_of(factor, datetime.fromtimestamp(1111111109, UTC)) == "081804"


def test_each_recovery_code_lets_in_once_however_it_is_typed(protected, client):
    _, _, codes = protected
    assert len(set(codes)) == 10
    give_password(client)
    give_code(client, codes[0].lower().replace("-", " "))
    assert is_signed_in(client)
    client.post(reverse("sign-out"))
    give_password(client)
    assert give_code(client, codes[0]).status_code == 200 and not is_signed_in(client)


def test_codes_cannot_be_tried_without_end(protected, client, settings):
    give_password(client)
    for _ in range(settings.SIGN_IN_TRIES):
        assert give_code(client, "000000").status_code == 200
    assert give_code(client, code_of(protected[1], timezone.now())).status_code == 429
    assert not is_signed_in(client)


def test_it_is_set_up_with_a_code_and_asked_for_only_then(signed_in, inspector):
    browser = signed_in(inspector)
    page = browser.get(reverse("second-factor")).content.decode()
    factor = SecondFactor.objects.get()
    assert factor.key in page and "data:image/svg+xml" in page
    assert not second_factor.is_asked_of(inspector)
    again = {"password": PASSWORD}
    assert b"does not fit" in browser.post(reverse("second-factor"), {"code": "000000", **again}).content
    shown = browser.post(reverse("second-factor"), {"code": code_of(factor, timezone.now()), **again}).content.decode()
    assert len(re.findall(r"<li>[A-Z2-9]{4}(?:-[A-Z2-9]{4}){3}</li>", shown)) == 10
    assert second_factor.is_asked_of(inspector)
    assert AuditEntry.objects.about(inspector).filter(verb__contains="second factor").exists()


def test_a_browser_that_was_left_open_cannot_take_it_away(protected, signed_in):
    inspector, factor, _ = protected
    browser = signed_in(inspector)
    browser.post(reverse("second-factor-off"), {"code": "123456"})
    assert second_factor.is_asked_of(inspector)
    browser.post(reverse("second-factor-off"), {"code": code_of(factor, timezone.now())})
    assert not second_factor.is_asked_of(inspector)


def test_at_a_browser_that_was_left_open_codes_cannot_be_tried_without_end(protected, signed_in, settings):
    inspector, factor, _ = protected
    browser = signed_in(inspector)
    for _ in range(settings.SIGN_IN_TRIES):
        browser.post(reverse("second-factor-off"), {"code": "000000"})
    answer = browser.post(reverse("second-factor-off"), {"code": code_of(factor, timezone.now())})
    assert answer.status_code == 429 and b"Too many wrong codes" in answer.content
    assert second_factor.is_asked_of(inspector)


def test_at_a_browser_that_was_left_open_a_stranger_sets_up_no_app_of_his_own(signed_in, inspector):
    browser = signed_in(inspector)
    browser.get(reverse("second-factor"))
    code = code_of(SecondFactor.objects.get(), timezone.now())
    for password in ({}, {"password": "guessed"}):
        assert b"<li>" in browser.post(reverse("second-factor"), {"code": code, **password}).content
        assert not second_factor.is_asked_of(inspector)


def test_the_administrator_helps_who_lost_the_telephone(protected, signed_in, administrator):
    inspector, _, _ = protected
    signed_in(administrator).post(reverse("person-shut-out", args=[inspector.pk]))
    assert not second_factor.is_asked_of(inspector)
    assert second_factor.codes_left(inspector) == 0
    assert AuditEntry.objects.about(inspector).filter(by=administrator).exists()
