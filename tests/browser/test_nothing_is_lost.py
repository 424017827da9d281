"""What goes wrong in the field: two tablets, a sign-in that ran out, a wrong clock, a line that is dead."""

import re
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from django.contrib.sessions.models import Session
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from inspections.photos.models import Photo
from inspections.survey.models import Reading
from inspections.survey.services import add_part
from tests.browser.signal_line import SignalLine
from tests.browser.test_offline import in_outbox, wait_until_sent
from tests.inspections.photos.files import jpeg_bytes
from tests.make import make_visit


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture
def edge(inspector):
    """The page of a visit's guards, with one guard on it."""
    visit = make_visit(inspector, state="under_way")
    add_part(visit, "level", by=inspector)
    add_part(visit, "guard", by=inspector)
    return reverse("walk-link", args=[visit.pk, "edge"])


def open_kept(page, address):
    """Open a page of the walk and wait until its visit is on the tablet."""
    with page.expect_response(lambda answer: "kit=yes" in answer.url):
        page.goto(address)
    page.wait_for_load_state("networkidle")


def enter(page, fact, text):
    field = page.locator(f"#in-fact-G1-{fact}")
    field.fill(text)
    field.press("Tab")


def is_kept(page, fact):
    expect(page.locator(f"#fact-G1-{fact} .story")).to_contain_text("Waits on this tablet", timeout=20_000)


def choose(page, *photos):
    files = [
        {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": data} for number, data in enumerate(photos, 1)
    ]
    page.locator('input[type="file"][multiple]').set_input_files(files)


def height():
    return Reading.objects.get(part__key="G1", fact="height_in").value


@pytest.mark.parametrize(("choice", "stands"), [("Use the tablet's: 33", 33), ("Keep what stands: 3'", 36)])
def test_two_tablets_wrote_one_measure_and_the_inspector_sees_both_and_chooses(tablet, inspector, edge, choice, stands):
    under_the_deck, on_the_deck = tablet(inspector), tablet(inspector)
    open_kept(under_the_deck, edge)
    under_the_deck.context.set_offline(True)
    enter(under_the_deck, "height_in", "33")
    is_kept(under_the_deck, "height_in")
    on_the_deck.goto(edge)
    enter(on_the_deck, "height_in", "36")
    expect(on_the_deck.locator("#fact-G1-height_in .story")).to_contain_text("Saved")
    under_the_deck.context.set_offline(False)
    expect(under_the_deck.locator("#tablet-bar")).to_contain_text("1 entry is to be settled")
    assert height() == 36, "nothing is overwritten unseen"
    under_the_deck.goto(reverse("sync-problems"))
    under_the_deck.get_by_role("button", name=choice).click()
    expect(under_the_deck.get_by_text("Everything that was sent has been taken over.")).to_be_visible()
    assert height() == stands
    under_the_deck.problems.clear()


def test_a_sign_in_that_ran_out_asks_keeps_everything_and_goes_on_even_with_a_clock_a_day_ahead(
    tablet, inspector, edge
):
    page = tablet(inspector)
    page.clock.set_system_time(timezone.now() + timedelta(days=1))
    open_kept(page, edge)
    Session.objects.all().delete()
    enter(page, "height_in", "33 1/2")
    is_kept(page, "height_in")
    choose(page, jpeg_bytes(seed=3))
    expect(page.locator(".photo-waits")).to_have_count(1)
    expect(page.locator("#tablet-bar")).to_contain_text("You are signed out; everything is kept.")
    page.locator("#tablet-bar").get_by_role("link", name="Sign in").click()
    page.get_by_label(re.compile("name", re.I)).first.fill(inspector.username)
    page.locator('input[type="password"]').fill("open sesame 12")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**" + edge)
    wait_until_sent(page)
    assert height() == 33.5
    assert Reading.objects.get(part__key="G1", fact="height_in").at <= timezone.now()
    assert Photo.objects.get().original.read() == jpeg_bytes(seed=3)
    page.problems.clear()


def test_an_entry_on_a_line_that_went_dead_is_kept_and_not_waited_for(tablet, inspector, edge, live_server):
    server = urlsplit(live_server.url)
    line = SignalLine(server.hostname, server.port)
    page = tablet(base_url=line.url)
    page.goto(f"/sign-in/?next={edge}")
    page.get_by_label(re.compile("name", re.I)).first.fill(inspector.username)
    page.locator('input[type="password"]').fill("open sesame 12")
    with page.expect_response(lambda answer: "kit=yes" in answer.url):
        page.get_by_role("button", name="Sign in").click()
    page.wait_for_load_state("networkidle")
    line.stall()
    enter(page, "height_in", "33")
    is_kept(page, "height_in")
    assert in_outbox(page) == ["record_reading"]
    line.close()
    page.problems.clear()
