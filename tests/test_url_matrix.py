"""Every named address, for every kind of person, by GET and by POST."""

import importlib
import pkgutil

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse

import tests.url_matrix
from tests.url_matrix import EVERYBODY, SIGNED_OUT

MADE_UP = {"int": 1, "str": "x", "slug": "x", "path": "x", "uuid": "00000000-0000-0000-0000-000000000000"}


def all_rows():
    rows = {}
    for module in pkgutil.iter_modules(tests.url_matrix.__path__):
        for name, one in importlib.import_module(f"tests.url_matrix.{module.name}").ROWS.items():
            assert name not in rows, f"{name} has two rows"
            rows[name] = one
    return rows


ROWS = all_rows()


def patterns(resolver=None, converters=()):
    """Every pattern with all the converters on the way to it."""
    for entry in (resolver or get_resolver()).url_patterns:
        on_the_way = (*converters, *entry.pattern.converters.items())
        if isinstance(entry, URLResolver):
            yield from patterns(entry, on_the_way)
        elif isinstance(entry, URLPattern):
            yield entry, dict(on_the_way)


def address(name):
    for entry, converters in patterns():
        if entry.name == name:
            kwargs = {}
            for argument, converter in converters.items():
                kind = type(converter).__name__.removesuffix("Converter").lower()
                kwargs[argument] = MADE_UP.get("str" if kind == "string" else kind, "x")
            return reverse(name, kwargs=kwargs)
    raise AssertionError(f"{name}: no such url; take its row out")


def test_every_url_has_a_name():
    assert [str(entry.pattern) for entry, _ in patterns() if not entry.name] == []


def test_every_url_has_a_row_and_every_row_a_url():
    names = {entry.name for entry, _ in patterns()}
    assert {"without a row": names - ROWS.keys(), "without a url": ROWS.keys() - names} == {
        "without a row": set(),
        "without a url": set(),
    }


def test_every_view_says_who_may_open_it():
    assert [entry.name for entry, _ in patterns() if not getattr(entry.callback, "access", None)] == []


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("who", sorted(EVERYBODY))
@pytest.mark.parametrize("name", sorted(ROWS))
def test_only_those_in_the_row_are_let_in(name, who, method, client, make_person):
    if who != SIGNED_OUT:
        client.force_login(make_person(who))
    client.raise_request_exception = True
    answer = getattr(client, method)(address(name))
    sent_to_sign_in = answer.status_code == 302 and answer["Location"].startswith(reverse("sign-in") + "?next=")
    is_refused = sent_to_sign_in or answer.status_code in (401, 403, 405)
    if who in getattr(ROWS[name], method):
        assert not is_refused, f"{who} should be let in, got {answer.status_code}"
        assert answer.status_code < 500 or answer.content == b"not ready"
    else:
        assert is_refused, f"{who} should be refused, got {answer.status_code}"
        if who == SIGNED_OUT and answer.status_code != 405:
            assert answer.status_code in (302, 401), "the signed-out are asked to sign in, not just refused"
