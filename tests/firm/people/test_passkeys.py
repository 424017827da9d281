"""A key in somebody's device: made with the password, taken once for each question, and only from the right hands."""

import json
import time

import pytest
from django.test import Client
from django.urls import reverse

from firm.audit.models import AuditEntry
from firm.people import passkeys, second_factor
from firm.people.models import Passkey, RecoveryCode
from tests.firm.people.authenticator import Authenticator

PASSWORD = "open sesame 12"


@pytest.fixture
def browser():
    """One that reaches the application at the one name that needs no encryption."""
    return Client(HTTP_HOST="localhost")


@pytest.fixture
def another():
    return Client(HTTP_HOST="localhost")


@pytest.fixture
def key():
    return Authenticator()


def ask_to_make(browser, password=PASSWORD, name="tablet in the van"):
    return browser.post(reverse("passkey-add-question"), {"name": name, "password": password})


def make(browser, person, key, name="tablet in the van"):
    browser.force_login(person)
    asked = ask_to_make(browser, name=name)
    assert asked.status_code == 200, asked.content
    return browser.post(reverse("passkey-add"), {"credential": key.make(asked.json())})


@pytest.fixture
def kept(inspector, key):
    """The inspector's passkey, made at the device `key`."""
    make(Client(HTTP_HOST="localhost"), inspector, key)
    return Passkey.objects.get()


def ask(browser, **fields):
    answer = browser.post(reverse("passkey-question"), fields)
    assert answer.status_code == 200, answer.content
    return answer.json()


def give(browser, credential, **fields):
    return browser.post(reverse("passkey-sign-in"), {"credential": credential, **fields}, follow=True)


def give_password(browser):
    return browser.post(reverse("sign-in"), {"username": "inspector", "password": PASSWORD})


def who(browser):
    return browser.session.get("_auth_user_id")


def test_it_is_made_with_the_password_and_the_first_brings_recovery_codes(browser, inspector, key):
    shown = make(browser, inspector, key).content.decode()
    passkey = Passkey.objects.get()
    assert (passkey.person, passkey.name, passkey.site) == (inspector, "tablet in the van", "localhost")
    assert passkey.transports == ["internal"]
    assert shown.count("<li>") >= 10 and second_factor.codes_left(inspector) == 10
    assert AuditEntry.objects.about(inspector).filter(verb__contains="made a passkey").exists()
    second = make(browser, inspector, Authenticator(), name="key on the ring")
    assert second["Location"] == reverse("my-sign-in") and second_factor.codes_left(inspector) == 10
    assert "key on the ring" in browser.get(reverse("my-sign-in")).content.decode()


def test_a_browser_that_was_left_open_makes_none_and_removes_none(browser, kept, inspector):
    browser.force_login(inspector)
    answer = ask_to_make(browser, password="a guess")
    assert answer.status_code == 422 and "password" in answer.json()["faults"]
    assert browser.post(reverse("passkey-remove", args=[kept.pk]), {"password": "a guess"}).status_code == 422
    assert Passkey.objects.filter(pk=kept.pk).exists()


def test_nor_can_the_password_be_guessed_there_without_end(browser, inspector, settings):
    browser.force_login(inspector)
    for _ in range(settings.SIGN_IN_TRIES):
        ask_to_make(browser, password="a guess")
    assert "Too many" in ask_to_make(browser).json()["faults"]["password"][0]


def test_it_signs_in_without_name_and_password_and_leads_where_one_wanted_to_go(browser, kept, key):
    key.count = 40
    answer = give(browser, key.use(ask(browser)), next=reverse("my-sign-in"))
    assert who(browser) == str(kept.person_id)
    assert answer.redirect_chain == [(reverse("my-sign-in"), 302)]
    kept.refresh_from_db()
    assert kept.sign_count == 41 and kept.used_at


def test_it_leads_to_no_page_of_others(browser, kept, key):
    answer = give(browser, key.use(ask(browser)), next="https://elsewhere.example/")
    assert answer.redirect_chain[0] == (reverse("home"), 302)


def test_a_key_that_was_found_signs_nobody_in_alone(browser, inspector):
    key = Authenticator(verifies=False)
    make(Client(HTTP_HOST="localhost"), inspector, key)
    assert b"does not fit" in give(browser, key.use(ask(browser))).content
    assert who(browser) is None


def test_but_after_the_password_it_does(browser, inspector):
    key = Authenticator(verifies=False)
    make(Client(HTTP_HOST="localhost"), inspector, key)
    assert give_password(browser)["Location"] == reverse("second-step") and who(browser) is None
    give(browser, key.use(ask(browser, after_password="yes")), after_password="yes")
    assert who(browser) == str(inspector.pk)


def test_after_the_password_a_recovery_code_will_do_instead(browser, inspector, key):
    shown = make(Client(HTTP_HOST="localhost"), inspector, key).context["codes"]
    give_password(browser)
    assert b"recovery code" in browser.get(reverse("second-step")).content
    browser.post(reverse("second-step"), {"code": shown[0]})
    assert who(browser) == str(inspector.pk)


def test_without_the_password_there_is_no_question_for_the_second_step(browser, kept, key):
    answer = browser.post(reverse("passkey-question"), {"after_password": "yes"})
    assert answer.status_code == 422
    give(browser, key.use(ask(browser)), after_password="yes")
    assert who(browser) is None


def test_an_answer_is_taken_once(browser, another, kept, key):
    credential = key.use(ask(browser))
    give(browser, credential)
    browser.post(reverse("sign-out"))
    give(browser, credential)
    assert who(browser) is None, "the same browser again"
    ask(another)
    give(another, credential)
    assert who(another) is None, "another browser, which was asked something else"


def test_a_keyless_count_does_not_make_a_replay_possible(browser, inspector):
    key = Authenticator(counts=False)
    make(Client(HTTP_HOST="localhost"), inspector, key)
    credential = key.use(ask(browser))
    give(browser, credential)
    assert who(browser) == str(inspector.pk), "a key that never counts is taken"
    browser.post(reverse("sign-out"))
    ask(browser)
    give(browser, credential)
    assert who(browser) is None


def test_one_question_takes_one_answer_even_in_the_same_session(browser, inspector):
    key = Authenticator(counts=False)
    make(Client(HTTP_HOST="localhost"), inspector, key)
    credential = key.use(ask(browser))
    give(browser, credential)
    assert who(browser) == str(inspector.pk)
    assert b"answered already" in give(browser, credential).content


def test_an_answer_to_the_second_step_is_none_to_the_first(browser, kept, key):
    give_password(browser)
    give(browser, key.use(ask(browser, after_password="yes")))
    assert who(browser) is None


def test_an_answer_to_the_question_of_another_browser_is_refused(browser, another, kept, key):
    ask(browser)
    give(browser, key.use(ask(another)))
    assert who(browser) is None


def test_an_answer_that_was_given_to_a_false_page_is_refused(browser, kept, key):
    key.origin = "http://localhost.example"
    assert b"does not fit" in give(browser, key.use(ask(browser))).content
    assert who(browser) is None


def test_an_answer_for_another_site_is_refused(browser, kept, key):
    give(browser, key.use({**ask(browser), "rpId": "example.com"}))
    assert who(browser) is None


def test_five_minutes_later_the_question_is_over(browser, kept, key, monkeypatch):
    credential, now = key.use(ask(browser)), time.time()
    monkeypatch.setattr(passkeys.time, "time", lambda: now + passkeys.GOOD_FOR_S + 1)
    give(browser, credential)
    assert who(browser) is None


def test_a_count_that_goes_back_betrays_a_copy(browser, kept, key):
    key.count = 10
    give(browser, key.use(ask(browser)))
    browser.post(reverse("sign-out"))
    key.count = 5
    assert b"may have been copied" in give(browser, key.use(ask(browser))).content
    assert who(browser) is None
    assert AuditEntry.objects.about(kept.person).filter(verb__contains="counts backwards").exists()


def test_nobody_passes_the_second_step_with_the_key_of_another(browser, kept, manager):
    theirs = Authenticator()
    make(Client(HTTP_HOST="localhost"), manager, theirs)
    give_password(browser)
    give(browser, theirs.use(ask(browser, after_password="yes")), after_password="yes")
    assert who(browser) is None


def test_a_signature_of_another_key_is_refused(browser, kept):
    forger = Authenticator()
    forger.id = passkeys.base64url_to_bytes(kept.credential_id)
    assert b"does not fit" in give(browser, forger.use(ask(browser))).content
    assert who(browser) is None


def test_who_has_left_is_not_let_in(browser, kept, key):
    kept.person.is_active = False
    kept.person.save()
    give(browser, key.use(ask(browser)))
    assert who(browser) is None


def test_a_key_is_kept_for_one_person_only(browser, another, kept, key, manager):
    assert b"kept already" in make(another, manager, key).client.get(reverse("passkey-add")).content
    assert Passkey.objects.count() == 1


def test_an_answer_is_not_kept_without_the_question_to_make_one(browser, another, inspector, manager, key):
    browser.force_login(inspector)
    another.force_login(manager)
    credential = key.make(ask_to_make(another).json())
    browser.post(reverse("passkey-add"), {"credential": credential})
    assert not Passkey.objects.exists()


@pytest.mark.parametrize(
    "sent",
    ["", "no JSON", "[]", "{}", '{"id": 1, "response": {}}', '{"id": "x\\u0000", "response": {}}', "[" * 15_000,
     json.dumps({"id": "x", "rawId": "x", "type": "public-key", "response": {"clientDataJSON": 5}})],
)  # fmt: skip
def test_whatever_is_sent_instead_is_refused_with_words(browser, kept, sent):
    ask(browser)
    assert b"notice problem" in give(browser, sent).content
    fields = {
        "id": kept.credential_id,
        "rawId": kept.credential_id,
        "type": "public-key",
        "response": {"signature": []},
    }
    ask(browser)
    assert b"notice problem" in give(browser, json.dumps(fields)).content


def test_one_that_is_removed_signs_nobody_in_and_takes_the_codes_along(browser, another, kept, key):
    another.force_login(kept.person)
    another.post(reverse("passkey-remove", args=[kept.pk]), {"password": PASSWORD})
    assert not RecoveryCode.objects.exists() and not second_factor.is_asked_of(kept.person)
    assert b"not known here" in give(browser, key.use(ask(browser))).content


def test_nobody_removes_the_passkey_of_another(browser, kept, manager):
    browser.force_login(manager)
    assert browser.post(reverse("passkey-remove", args=[kept.pk]), {"password": PASSWORD}).status_code == 404


def test_the_administrator_takes_them_away_with_a_lost_tablet(browser, kept, administrator):
    browser.force_login(administrator)
    browser.post(reverse("person-shut-out", args=[kept.person_id]))
    assert not Passkey.objects.exists() and not second_factor.is_asked_of(kept.person)


@pytest.mark.parametrize(
    ("host", "is_secure", "site"),
    [
        ("localhost:8000", False, ("localhost", "http://localhost:8000")),
        ("127.0.0.1:8000", False, None),
        ("127.0.0.1", True, None),
        ("[::1]:8000", True, None),
        ("office.example.com", False, None),
        ("office.example.com", True, ("office.example.com", "https://office.example.com")),
    ],
)
def test_there_are_passkeys_where_browsers_have_them(host, is_secure, site, rf, settings):
    settings.ALLOWED_HOSTS = ["*"]
    assert passkeys.site_of(rf.get("/", HTTP_HOST=host, secure=is_secure)) == site


def test_where_there_are_none_the_page_says_so_and_makes_none(client, signed_in, inspector, settings):
    settings.ALLOWED_HOSTS = ["192.168.1.20"]
    client.defaults["HTTP_HOST"] = "192.168.1.20"
    assert b"Sign in with a passkey" not in client.get(reverse("sign-in")).content
    browser = signed_in(inspector)
    assert b"need an encrypted one" in browser.get(reverse("my-sign-in")).content
    assert ask_to_make(browser).status_code == 422
    assert browser.get(reverse("passkey-add"))["Location"] == reverse("my-sign-in")


def test_questions_cannot_be_asked_without_end(browser, db, monkeypatch):
    monkeypatch.setattr("firm.people.passkey_views.QUESTIONS", 3)
    for _ in range(3):
        ask(browser)
    assert browser.post(reverse("passkey-question")).status_code == 429
