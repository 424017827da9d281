"""Verdicts under a deck without signal: the same engine, on the tablet, says what the server would say."""

import pytest
from playwright.sync_api import expect

from inspections.sync.judging import engine_source
from tests.browser.test_offline import enter, link, new_profile, take_along, wait_until_sent  # noqa: F401
from tests.engine.deck_files import deck_file
from tests.inspections.survey.recorded import record_deck
from tests.make import in_days, make_visit

READY = "Verdicts are worked out on this tablet, too."


@pytest.fixture
def visit(inspector):
    visit = make_visit(inspector, state="under_way", starts_at=in_days(0, 10))
    record_deck(visit, deck_file("sound_ledger_deck"))
    return visit


def take_verdicts_along(page):
    take_along(page)
    expect(page.locator("[data-take-verdicts]")).to_have_text(READY, timeout=90_000)


def test_a_joist_spacing_is_judged_without_signal_also_after_the_browser_was_closed(new_profile, inspector, visit):  # noqa: F811
    profile = new_profile()
    page = profile.open()
    profile.sign_in(inspector)
    take_verdicts_along(page)
    profile.cut()

    page.goto(link(visit, "joists"))
    panel, line = page.locator("#verdicts"), page.locator("#verdict-line")
    expect(panel.locator(".by-tablet")).to_contain_text(engine_source().version, timeout=60_000)
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
    expect(page.locator("#standing-J1")).to_have_text("not good enough", timeout=60_000)
    assert not visit.parts.get(key="J1").readings.filter(fact="spacing_in", value=48).exists()
    on_the_tablet = lines_of(page.locator("#verdicts"))

    profile.mend()
    wait_until_sent(page)
    expect(page.locator(".by-tablet")).to_have_count(0, timeout=30_000)
    assert lines_of(page.locator("#verdicts")) == on_the_tablet, "the server says the same in the same words"
    assert page.thrown == []


def lines_of(panel):
    """What a panel says, without the line that says who worked it out."""
    lines = (line.strip() for line in panel.inner_text().splitlines())
    return [line for line in lines if line and not line.startswith("Worked out on this tablet")]
