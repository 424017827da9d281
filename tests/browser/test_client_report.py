"""The client's page in a real browser: light on the line, ticked, enlarged, in Spanish, with and without scripts."""

import pytest
from playwright.sync_api import expect

from firm.properties.models import Property
from inspections.reports.giving import make_link
from inspections.reports.services import issue_report
from inspections.survey.models import Reading
from inspections.visits.models import Visit
from tests.browser.looks import faults_of
from tests.inspections.reports.records import handed_in_visit

LEAST_BYTES, MOST_BYTES = 20_000, 300_000


@pytest.fixture
def address(open_page, live_server, inspector, manager, monkeypatch):
    monkeypatch.setattr("inspections.reports.services.ring", lambda job: None)
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)
    visit = handed_in_visit(inspector)
    # Joists that are a little too long, of which standard repairs make enough.
    Property.objects.filter(pk=visit.property_id).update(frost_depth_in=30)
    Reading.objects.filter(part__visit=visit, fact="span_in").update(value=150)
    issue_report(Visit.objects.get(pk=visit.pk), by=manager)
    _, token = make_link(visit, recipient="Ines", by=manager)
    return f"{live_server.url}/r/{token}/"


def test_the_first_load_is_light_without_the_photos(phone, address):
    page = phone()
    loaded = []
    page.on("response", lambda answer: loaded.append(answer))
    page.goto(address)
    page.wait_for_load_state("networkidle")
    sizes = {answer.url: len(answer.body()) for answer in loaded if "/photos/" not in answer.url}
    assert LEAST_BYTES < sum(sizes.values()) < MOST_BYTES, sizes
    assert all(url.startswith(address.split("/r/")[0]) for url in sizes)  # nothing from elsewhere


@pytest.mark.parametrize("size", ["phone", "tablet", "desktop"])
def test_the_page_is_as_it_should_be_at_every_size(open_page, address, size):
    page = open_page(size)
    page.goto(address)
    assert faults_of(page) == []


def test_on_a_phone_nothing_that_is_unfolded_is_wider_than_the_page_or_squeezed(phone, address):
    page = phone()
    page.goto(address)
    page.locator("details").first.wait_for()
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
    assert page.locator(".repair-option td").count() and page.locator(".steps td").count()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    narrow = """[...document.querySelectorAll(".repair-option td, .repair-option th[scope=row], .steps td")].filter(
        each => each.textContent.trim().length > 12 && each.clientWidth < 150 && each.clientWidth > 0
    ).map(each => each.textContent)"""
    assert page.evaluate(narrow) == []


def test_a_tick_stays_and_a_photo_grows_with_its_caption(phone, address):
    page = phone()
    page.goto(address)
    page.locator("#do-1 button").click()
    page.locator("#do-1.is-done").wait_for()
    page.locator("a.marked").first.click()
    dialog = page.locator("dialog.enlarged")
    dialog.locator("img").wait_for()
    assert "Underside, the long bay" in dialog.inner_text()
    dialog.get_by_role("button", name="Close").click()
    expect(page.locator("dialog")).to_have_count(0)
    page.reload()
    assert page.locator("#do-1.is-done").count() == 1


def test_without_scripts_ticks_photos_and_the_language_are_pages(phone, address):
    page = phone(java_script_enabled=False)
    page.goto(address)
    page.locator("#do-1 button").click()
    page.wait_for_load_state()
    assert page.locator("#do-1.is-done").count() == 1
    page.locator("a.marked").first.click()
    page.wait_for_load_state()
    assert "Underside, the long bay" in page.locator("h1").inner_text()
    page.go_back()
    page.get_by_role("button", name="Español").click()
    page.wait_for_load_state()
    assert page.locator("html").get_attribute("lang") == "es"
    assert "No use la terraza" in page.locator(".answer").inner_text()


def test_on_paper_the_gravest_word_is_printed_with_its_field_and_no_heading_stands_alone(phone, address):
    page = phone()
    page.goto(address)
    page.emulate_media(media="print")
    style = "(name, of) => getComputedStyle(document.querySelector(of))[name]"
    said = page.evaluate(f"() => ({style})('printColorAdjust', '.word-keep_off')")
    assert said == "exact"  # else a browser leaves the field out, and white letters stand on white
    assert page.evaluate(f"() => ({style})('breakAfter', '#findings h2')") == "avoid"
    assert page.evaluate(f"() => ({style})('breakInside', '.finding')") == "auto"
