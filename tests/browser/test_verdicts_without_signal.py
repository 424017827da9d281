"""Verdicts under a deck without signal: the same engine, on the tablet, says what the server would say."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.sync.judging import engine_source
from tests.browser.looks import faults_of
from tests.browser.test_offline import enter, link, new_profile  # noqa: F401
from tests.engine.deck_files import deck_file
from tests.inspections.survey.recorded import record_deck
from tests.make import in_days, make_visit

PATIENCE_MS = 90_000  # nobody is left waiting so long; a machine that tests many things at once may be
READY = "Verdicts are worked out on this tablet, too."


@pytest.fixture
def visit(inspector):
    visit = make_visit(inspector, state="under_way", starts_at=in_days(0, 10))
    record_deck(visit, deck_file("sound_ledger_deck"))
    return visit


def take_along(page, until):
    """Open Today, and wait until the visits are on the tablet and it says so of the verdicts."""
    page.set_default_timeout(PATIENCE_MS)
    page.goto("/")
    expect(page.locator("[data-take-status]")).to_contain_text("can be written without signal", timeout=PATIENCE_MS)
    expect(page.locator("[data-take-verdicts]")).to_contain_text(until, timeout=PATIENCE_MS)


def test_a_joist_spacing_is_judged_without_signal_also_after_the_browser_was_closed(new_profile, inspector, visit):  # noqa: F811
    profile = new_profile()
    page = profile.open()
    profile.sign_in(inspector)
    take_along(page, READY)
    profile.cut()

    page.goto(link(visit, "joists"))
    panel, line = page.locator("#verdicts"), page.locator("#verdict-line")
    expect(panel.locator(".by-tablet")).to_contain_text(engine_source().version, timeout=PATIENCE_MS)
    expect(page.locator("#standing-J1")).to_have_text("holds")
    enter(page, "J1", "spacing_in", "48")
    expect(page.locator("#standing-J1")).to_have_text("not good enough")
    assert page.thrown == []
    expect(line).to_contain_text("not good enough")
    failing = panel.locator(".check", has_text="Joists in bending").first
    expect(failing.locator(".gauge")).to_be_visible()
    expect(failing).to_contain_text("Must carry")
    expect(panel.locator(".caution")).to_contain_text("licensed")
    assert page.thrown == []
    profile.close()

    page = profile.open()
    page.goto(link(visit, "joists"))
    expect(page.locator("#standing-J1")).to_have_text("not good enough", timeout=PATIENCE_MS)
    assert not visit.parts.get(key="J1").readings.filter(fact="spacing_in", value=48).exists()
    on_the_tablet = lines_of(page.locator("#verdicts"))

    profile.mend()
    expect(page.locator("html:not([data-kept]) #verdicts .check").first).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator(".by-tablet")).to_have_count(0)
    assert lines_of(page.locator("#verdicts")) == on_the_tablet, "the server says the same in the same words"
    assert page.thrown == []


def test_the_whole_walk_is_judged_and_drawn_without_signal_and_a_failing_check_offers_its_finding(
    new_profile,  # noqa: F811
    inspector,
    visit,
):
    profile = new_profile()
    page = profile.open()
    profile.sign_in(inspector)
    take_along(page, READY)
    profile.cut()

    page.goto(link(visit, "ledger"))
    verdict = page.locator("#fastener-F1 td").last
    expect(verdict).to_have_text("to find out", timeout=PATIENCE_MS)  # calculation and published rule differ
    board = page.locator("#strip-LD1 svg")
    there = f"{link(visit, 'ledger')}?fastener=F1#fasteners-LD1"
    expect(board.locator("a[data-part]").first).to_have_attribute("href", there)
    page.locator("#fastener-F1 a").click()
    page.locator("#fact-F1-condition .fact-entry").get_by_text("missing", exact=True).click()
    expect(verdict).to_have_text("not good enough", timeout=PATIENCE_MS)
    expect(page.locator("#verdict-line")).to_contain_text("not good enough")
    assert faults_of(page) == []

    failing = page.locator("#verdicts .check").first
    title = failing.locator("h4").inner_text()
    failing.get_by_role("link", name="Record as a finding").click()
    page.wait_for_url("**/findings/new/**")
    expect(page.get_by_label("What was seen or measured")).to_have_value(re.compile(re.escape(title)))
    page.get_by_role("button", name="Record finding").click()
    expect(page.locator("#verdicts .check").first).to_contain_text("A finding stands for this", timeout=PATIENCE_MS)

    page.goto(reverse("walk", args=[visit.pk]))
    expect(page.locator(".by-tablet")).to_contain_text(engine_source().version, timeout=PATIENCE_MS)
    expect(page.locator(".chain.links a[href$='/ledger/']")).to_contain_text("not good enough")
    expect(page.locator("#drawings svg").first).to_be_visible()
    expect(page.locator("#plan-is-old")).to_have_count(0)
    assert faults_of(page) == []

    page.goto(link(visit, "joists"))
    field = page.locator("#in-fact-J1-span_in")
    expect(page.locator(".by-tablet")).to_have_count(1, timeout=PATIENCE_MS)
    field.fill("2000'")
    field.press("Tab")
    expect(page.locator("#fact-J1-span_in .not-read")).to_contain_text("Not judged")
    assert page.thrown == []


def test_a_tablet_without_room_says_that_verdicts_come_with_the_signal(new_profile, inspector, visit):  # noqa: F811
    profile = new_profile()
    page = profile.open()
    page.add_init_script("navigator.storage.estimate = async () => ({ usage: 90e6, quota: 100e6 })")
    profile.sign_in(inspector)
    take_along(page, "The tablet's storage is full")
    profile.cut()
    page.goto(link(visit, "joists"))
    expect(page.locator("#verdicts")).to_contain_text("Verdicts come with the signal")
    expect(page.locator("#verdicts .check")).to_have_count(0)
    expect(page.locator("#verdicts .caution")).to_contain_text("licensed")
    enter(page, "J1", "spacing_in", "24")
    assert page.thrown == []


def lines_of(panel):
    """What a panel says, without the line that says who worked it out."""
    lines = (line.strip() for line in panel.inner_text().splitlines())
    return [line for line in lines if line and not line.startswith("Worked out on this tablet")]
