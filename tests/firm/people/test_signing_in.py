import pytest
from django.contrib.auth.hashers import check_password, make_password
from django.urls import reverse

from firm.people.models import Device

PASSWORD = "open sesame 12"


def sign_in(client, username="inspector", password=PASSWORD, **extra):
    return client.post(reverse("sign-in"), {"username": username, "password": password}, **extra)


def is_signed_in(client):
    return "_auth_user_id" in client.session


def test_the_right_password_lets_in(client, inspector):
    answer = sign_in(client)
    assert (answer.status_code, answer["Location"]) == (302, reverse("home"))
    assert is_signed_in(client)


def test_the_wrong_password_does_not(client, inspector):
    answer = sign_in(client, password="wrong")
    assert answer.status_code == 200
    assert not is_signed_in(client)
    assert b"do not belong together" in answer.content


def test_a_person_who_has_left_is_not_let_in(client, make_person):
    make_person("inspector", is_active=False)
    sign_in(client)
    assert not is_signed_in(client)


def test_nobody_is_sent_to_another_site_after_signing_in(client, inspector):
    answer = client.post(
        reverse("sign-in"), {"username": "inspector", "password": PASSWORD, "next": "https://elsewhere.example/"}
    )
    assert answer["Location"] == reverse("home")


def test_after_eight_wrong_passwords_the_right_one_has_to_wait_too(client, inspector, settings):
    for _ in range(settings.SIGN_IN_TRIES):
        assert sign_in(client, password="wrong").status_code == 200
    answer = sign_in(client)
    assert answer.status_code == 429
    assert b"Too many wrong passwords" in answer.content
    assert not is_signed_in(client)


def test_capitals_in_the_user_name_do_not_give_more_tries(client, inspector, settings):
    for number in range(settings.SIGN_IN_TRIES):
        sign_in(client, username="Inspector" if number % 2 else "INSPECTOR", password="wrong")
    assert sign_in(client).status_code == 429


def test_a_stranger_elsewhere_does_not_lock_the_inspector_out(client, inspector, settings):
    for _ in range(settings.SIGN_IN_TRIES):
        sign_in(client, password="wrong", REMOTE_ADDR="203.0.113.7")
    sign_in(client, REMOTE_ADDR="198.51.100.4")
    assert is_signed_in(client)


def test_a_header_that_anybody_can_send_gives_no_more_tries(client, inspector, settings):
    for number in range(settings.SIGN_IN_TRIES):
        sign_in(client, password="wrong", headers={"X-Forwarded-For": f"203.0.113.{number}"})
    assert sign_in(client).status_code == 429


def test_behind_our_proxy_the_address_is_the_one_that_the_proxy_wrote(client, inspector, settings):
    settings.BEHIND_PROXY = True
    for number in range(settings.SIGN_IN_TRIES):
        sign_in(client, password="wrong", headers={"X-Forwarded-For": f"192.0.2.{number}, 203.0.113.7"})
    assert sign_in(client, headers={"X-Forwarded-For": "203.0.113.7"}).status_code == 429
    assert sign_in(client, headers={"X-Forwarded-For": "203.0.113.8"}).status_code == 302


def test_whoever_has_a_whole_network_of_long_addresses_has_no_more_tries(client, inspector, settings):
    """RFC 6177: a single house is given at least 2^64 addresses, which begin alike."""
    for number in range(settings.SIGN_IN_TRIES):
        sign_in(client, password="wrong", REMOTE_ADDR=f"2001:db8:0:1::{number + 1:x}")
    assert sign_in(client, REMOTE_ADDR="2001:db8:0:1:ffff::1").status_code == 429
    assert sign_in(client, REMOTE_ADDR="2001:db8:0:2::1").status_code == 302


@pytest.mark.parametrize("written", ["", "unknown", "x" * 500, "203.0.113.7:443, \x00", "1' OR 1"])
def test_what_the_proxy_wrote_and_is_no_address_is_not_taken_for_one(client, inspector, settings, written):
    settings.BEHIND_PROXY = True
    answer = sign_in(client, headers={"X-Forwarded-For": written})
    assert answer.status_code == 302
    client.get("/my-sign-in/", headers={"X-Forwarded-For": written})
    assert Device.objects.get(person=inspector).address == "127.0.0.1"


def test_the_old_password_cannot_be_tried_without_end_at_a_browser_that_was_left_open(signed_in, inspector, settings):
    browser, new = signed_in(inspector), {"new_password1": "another one 345", "new_password2": "another one 345"}
    for _ in range(settings.SIGN_IN_TRIES):
        browser.post(reverse("change-password"), {"old_password": "wrong", **new})
    answer = browser.post(reverse("change-password"), {"old_password": "open sesame 12", **new})
    assert b"Too many wrong passwords" in answer.content
    inspector.refresh_from_db()
    assert inspector.check_password("open sesame 12")


def test_forms_are_posted_and_not_put(client, signed_in, inspector):
    assert client.put(reverse("sign-in")).status_code == 405
    assert signed_in(inspector).put(reverse("change-password")).status_code == 405


def test_the_right_password_wipes_out_the_wrong_ones(client, inspector, settings):
    for _ in range(2):
        for _ in range(settings.SIGN_IN_TRIES - 1):
            sign_in(client, password="wrong")
        assert sign_in(client).status_code == 302
        client.logout()


def test_signing_out_takes_a_post_so_that_no_picture_can_do_it(signed_in, inspector):
    client = signed_in(inspector)
    assert client.get(reverse("sign-out")).status_code == 405
    assert is_signed_in(client)
    client.post(reverse("sign-out"))
    assert not is_signed_in(client)


def test_a_changed_password_keeps_this_session_and_ends_the_others(client, inspector, django_client):
    sign_in(client)
    elsewhere = django_client
    sign_in(elsewhere)
    new = "another long one 7"
    client.post(reverse("change-password"), {"old_password": PASSWORD, "new_password1": new, "new_password2": new})
    inspector.refresh_from_db()
    assert inspector.check_password(new)
    assert client.get(reverse("change-password")).status_code == 200
    assert elsewhere.get(reverse("change-password")).status_code == 302


@pytest.fixture
def django_client():
    from django.test import Client

    return Client()


def test_passwords_are_kept_as_argon2(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    stored = make_password(PASSWORD)
    assert stored.startswith("argon2$argon2id$")
    assert check_password(PASSWORD, stored) and not check_password("wrong", stored)


def test_argon2_comes_first_in_the_settings_as_shipped():
    from firm import settings as shipped

    assert shipped.PASSWORD_HASHERS[0].endswith("Argon2PasswordHasher")
