"""The lines about the demo firm, with the command that loads it replaced: its own tests are with it."""

import json
import re

import pytest
from django.core.management import CommandError

from firm.management.commands import start


@pytest.fixture
def demo(monkeypatch):
    """`demo(created=..., client_link=...)` answers for load_demo; gives back the passwords that it was called with."""

    def answer(**said):
        passwords = []

        def call_command(name, *, password, stdout):
            assert name == "load_demo"
            passwords.append(password)
            stdout.write(json.dumps(said))

        monkeypatch.setattr(start, "get_commands", lambda: {"load_demo": "inspections.demo"})
        monkeypatch.setattr(start, "call_command", call_command)
        return passwords

    return answer


def test_the_four_sign_ins_are_printed_with_the_password_and_the_clients_link(demo, monkeypatch, settings):
    monkeypatch.setenv("DEMO_PASSWORD", "a spirit level 9")
    settings.PUBLIC_URL = "http://127.0.0.1:8123"
    passwords = demo(created=True, client_link="/r/abc")
    lines = start.Command().load_demo()
    assert passwords == ["a spirit level 9"]
    signed = [line.split()[0] for line in lines if "a spirit level 9" in line]
    assert signed == ["office", "inspector", "manager", "admin"]
    assert "http://127.0.0.1:8123/r/abc" in "\n".join(lines)


def test_without_a_given_password_each_demo_gets_its_own(demo, monkeypatch):
    monkeypatch.delenv("DEMO_PASSWORD", raising=False)
    passwords = demo(created=True, client_link="")
    start.Command().load_demo()
    start.Command().load_demo()
    assert len(set(passwords)) == 2
    assert all(re.fullmatch(r"[\w-]{12}", password) for password in passwords)


def test_data_that_was_there_is_kept_and_no_password_is_printed(demo, monkeypatch):
    monkeypatch.setenv("DEMO_PASSWORD", "a spirit level 9")
    demo(created=False, client_link="/r/abc")
    text = "\n".join(start.Command().load_demo())
    assert "passwords as before" in text and "a spirit level 9" not in text and "/r/abc" in text


def test_a_version_without_a_demo_says_so(monkeypatch):
    monkeypatch.setattr(start, "get_commands", dict)
    with pytest.raises(CommandError, match="no demo firm"):
        start.Command().load_demo()


@pytest.mark.django_db
def test_an_empty_firm_gets_one_administrator_and_only_once():
    first, again = start.Command().first_sign_in(), start.Command().first_sign_in()
    assert re.search(r"admin\s+[\w-]{12}", "\n".join(first))
    assert again == ["  The data is kept; passwords as before."]
