"""Where people are signed in, and the links by which they set a password."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firm.jobs.work import run_job
from firm.people import devices, passwords
from firm.people.models import Device, PasswordMail, User

TABLET = "Mozilla/5.0 (Linux; Android 14; Tablet) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/130.0 Safari/537.36"
LAPTOP = "Mozilla/5.0 (X11; Linux x86_64; rv:130.0) Gecko/20100101 Firefox/130.0"


def browser_of(person, user_agent=LAPTOP):
    browser = Client(HTTP_USER_AGENT=user_agent)
    browser.force_login(person)
    browser.get(reverse("my-sign-in"))
    return browser


def is_in(browser):
    return browser.get(reverse("my-sign-in")).status_code == 200


@pytest.mark.parametrize(
    ("user_agent", "words"),
    [
        (TABLET, "Chrome on Android"),
        (LAPTOP, "Firefox on Linux"),
        ("Mozilla/5.0 (iPad; CPU OS 17_0 like Mac OS X) Version/17.0 Safari/604.1", "Safari on iPad"),
        ("Mozilla/5.0 (Windows NT 10.0) Chrome/130.0 Safari/537.36 Edg/130.0", "Edge on Windows"),
        ("curl/8.0", "A browser"),
        ("", "A browser"),
    ],
)
def test_a_browser_is_named_as_people_name_it(user_agent, words):
    assert devices.words_for(user_agent) == words


def test_a_lost_tablet_is_signed_out_from_the_office(inspector):
    laptop, tablet, other = browser_of(inspector), browser_of(inspector, TABLET), browser_of(inspector)
    page = laptop.get(reverse("my-sign-in")).content.decode()
    assert "Chrome on Android" in page and "(this one)" in page
    row = Device.objects.get(browser="Chrome on Android")
    laptop.post(reverse("sign-out-devices"), {"device": row.pk})
    assert (is_in(laptop), is_in(tablet), is_in(other)) == (True, False, True)
    laptop.post(reverse("sign-out-devices"))
    assert (is_in(laptop), is_in(other)) == (True, False)


def test_nobody_signs_out_somebody_else(inspector, office):
    theirs, mine = browser_of(office), browser_of(inspector)
    row = Device.objects.get(person=office)
    mine.post(reverse("sign-out-devices"), {"device": row.pk})
    mine.post(reverse("sign-out-devices"), {"device": "x" * 50})
    assert is_in(theirs) and is_in(mine)


def test_a_device_is_noted_when_it_is_seen_again_and_not_at_every_page(inspector, django_assert_num_queries):
    browser = browser_of(inspector)
    Device.objects.update(seen_at=timezone.now() - timedelta(days=1))
    browser.get(reverse("change-password"))
    assert Device.objects.get().seen_at < timezone.now() - timedelta(hours=1)
    cache.clear()
    browser.get(reverse("change-password"))
    assert Device.objects.get().seen_at > timezone.now() - timedelta(minutes=1)


def test_a_new_password_signs_out_everywhere_else(inspector):
    here, there = browser_of(inspector), browser_of(inspector)
    new = {"old_password": "open sesame 12", "new_password1": "a spirit level 9", "new_password2": "a spirit level 9"}
    here.post(reverse("change-password"), new)
    assert is_in(here) and not is_in(there)


@pytest.fixture
def mailed(settings):
    """What the worker sends for the newest asked-for mail: its one link."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"

    def send():
        assert run_job(PasswordMail, PasswordMail.objects.latest("pk").pk, passwords.send)
        [link] = re.findall(r"http://\S+", mail.outbox[-1].body)
        return re.sub(r"^http://[^/]+", "", link)

    return send


def set_password(link, password):
    browser = Client()
    form = browser.get(link, follow=True)
    return browser.post(form.redirect_chain[-1][0], {"new_password1": password, "new_password2": password})


def test_a_newcomer_gets_a_link_and_chooses_a_password(signed_in, administrator, mailed, client):
    fields = {
        "username": "pat",
        "email": "pat@example.com",
        "is_inspector": "on",
        "is_active": "on",
        "new_password": "",
    }
    signed_in(administrator).post(reverse("person-add"), fields)
    pat = User.objects.get(username="pat")
    assert not pat.has_usable_password()
    link = mailed()
    assert mail.outbox[-1].to == ["pat@example.com"] and "Your user name is pat" in mail.outbox[-1].body
    assert set_password(link, "a spirit level 9").status_code == 302
    pat.refresh_from_db()
    assert pat.check_password("a spirit level 9")


def test_a_link_works_once_and_not_with_a_weak_password(inspector, mailed):
    User.objects.update(email="inspector@example.com")
    passwords.forgotten("INSPECTOR@example.com")
    link = mailed()
    assert set_password(link, "1234567890").status_code == 200
    assert set_password(link, "a spirit level 9").status_code == 302
    assert b"no longer works" in Client().get(link, follow=True).content


def test_without_password_and_address_nobody_is_added(signed_in, administrator):
    answer = signed_in(administrator).post(reverse("person-add"), {"username": "pat", "is_active": "on"})
    assert b"mail address for the invitation" in answer.content
    assert not User.objects.filter(username="pat").exists()


def test_a_stranger_does_not_learn_who_works_here(client, make_person):
    make_person("office", username="june", email="june@example.com")
    make_person("office", username="gone", email="gone@example.com", is_active=False)
    answers = {client.post(reverse("password-forgotten"), {"who": who}).content for who in ("june", "nobody", "gone")}
    assert len({re.sub(rb'csrf\S+|nonce="[^"]*"|value="[^"]*"|x-csrftoken[^}]*', b"", one) for one in answers}) == 1
    assert PasswordMail.objects.count() == 1


def test_links_cannot_be_asked_for_without_end(client, inspector, settings):
    User.objects.update(email="inspector@example.com")
    for _ in range(settings.SIGN_IN_TRIES):
        client.post(reverse("password-forgotten"), {"who": "inspector"})
    assert client.post(reverse("password-forgotten"), {"who": "inspector"}).status_code == 429
    assert PasswordMail.objects.count() == settings.SIGN_IN_TRIES


def test_no_row_holds_the_link(inspector, mailed):
    User.objects.update(email="inspector@example.com")
    passwords.forgotten("inspector")
    token = mailed().rstrip("/").rpartition("/")[2]
    assert token not in str(list(PasswordMail.objects.values()))
