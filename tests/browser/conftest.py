"""A real Chromium against the application as it runs: phone, tablet and desktop, signed in as anybody.

    def test_something(tablet, inspector, live_server): ...
        page = tablet(inspector)           # a page of a context of its own, signed in
        page.goto(live_server.url + "/")

Whatever a page throws, refuses by its content security policy, or logs as an error fails the test.
"""

import os

import pytest
from django.test import Client

# Playwright's own loop runs in this thread, which Django takes for asynchronous code of ours.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1440, 900)}
ARGUMENTS = [
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


def pytest_collection_modifyitems(items):
    here = os.path.dirname(__file__)
    for item in items:
        if str(item.path).startswith(here):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.django_db(transaction=True))


@pytest.fixture(scope="session")
def chromium():
    from playwright.sync_api import expect, sync_playwright

    from firm.bootstrap import find_chromium

    expect.set_options(timeout=30_000)  # as every other wait; Playwright's five seconds are short for a busy machine

    path = find_chromium()
    assert path, "no Chromium found: install it, or leave these tests out with -m 'not browser'"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium, live_server, settings, tmp_path):
    """`open_page("phone", person)`: a page in a new context of that size, signed in unless person is None."""
    settings.MEDIA_ROOT = tmp_path / "media"
    contexts, problems = [], []

    def start(size, person=None, **options):
        width, height = SIZES[size]
        given = {
            "viewport": {"width": width, "height": height},
            "has_touch": size != "desktop",
            "base_url": live_server.url,
            # It would fetch on its own while a test ends, and past what a test puts in the way of a request.
            "service_workers": "block",
            **options,
        }
        context = chromium.new_context(**given)
        contexts.append(context)
        if person is not None:
            client = Client()
            client.force_login(person)
            cookie = client.cookies[settings.SESSION_COOKIE_NAME]
            context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        page = context.new_page()
        page.problems = problems  # a test that provokes one on purpose takes it out again
        page.on("pageerror", lambda error: problems.append(f"thrown: {error}"))
        page.on("console", lambda said: problems.append(f"logged: {said.text}") if said.type == "error" else None)
        return page

    yield start
    for context in contexts:
        context.close()
    assert problems == []


@pytest.fixture
def phone(open_page):
    return lambda person=None, **options: open_page("phone", person, **options)


@pytest.fixture
def tablet(open_page):
    return lambda person=None, **options: open_page("tablet", person, **options)


@pytest.fixture
def desktop(open_page):
    return lambda person=None, **options: open_page("desktop", person, **options)
