"""The walk on a tablet in a real browser: one hand, a gloved finger, and the verdict at once."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.survey.fasteners import add_fasteners
from inspections.survey.services import add_part, record_reading
from tests.browser.looks import faults_of
from tests.browser.test_offline import in_outbox
from tests.installation import wait_until
from tests.make import make_visit


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, state="under_way")


@pytest.fixture
def deck(visit, inspector):
    """A deck with something over its limit, something open and something that holds."""
    facts = {"stands": "on a ledger", "width_in": "14'", "depth_in": "12'", "height_in": "42"}
    add_part(visit, "level", by=inspector, readings=facts)
    ledger = add_part(visit, "ledger", by=inspector, readings={"length_in": "14'", "size": "2x10"})
    add_fasteners(
        ledger, [4, 36, 68, 100, 132, 164], by=inspector, facts={"fastener": "lag screw", "diameter_in": "1/2"}
    )
    add_part(visit, "beam", by=inspector, readings={"plies": "2", "size": "2x10", "spans_in": "6', 6'"})
    joists = {
        "size": "2x6",
        "species": "southern pine",
        "spacing_in": "24",
        "span_in": "11'",
        "ledger": "LD1",
        "beam": "B1",
    }
    add_part(visit, "joist_field", by=inspector, readings=joists)
    add_part(visit, "post", by=inspector, readings={"position_in": "12", "size": "6x6"})
    add_part(visit, "guard", by=inspector, name="front", readings={"is_present": "yes", "height_in": "33"})
    add_part(visit, "stair", by=inspector, readings={"risers_in": "5 x 7 1/2", "treads_in": "4 x 10", "width_in": "36"})
    return visit


def link(visit, slug):
    return reverse("walk-link", args=[visit.pk, slug])


@pytest.mark.parametrize("size", ["phone", "tablet", "desktop"])
@pytest.mark.parametrize("slug", [None, "surface", "joists", "ledger", "edge", "way-up", "water"])
def test_the_pages_fit_their_screen_and_are_accessible(open_page, inspector, deck, size, slug):
    page = open_page(size, inspector)
    address = link(deck, slug) if slug else reverse("walk", args=[deck.pk])
    page.goto(address + ("?fastener=F2" if slug == "ledger" else ""))
    page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true })")
    assert faults_of(page) == []


def test_the_short_form_of_an_empty_record_fits_too(open_page, inspector, visit):
    page = open_page("tablet", inspector)
    page.goto(reverse("walk", args=[visit.pk]))
    assert faults_of(page) == []
    page.get_by_label("Width along the house").fill("14'")
    page.get_by_role("button", name="Put these parts into the record").click()
    expect(page.get_by_role("heading", name="Plan")).to_be_visible()
    assert visit.parts.filter(kind="ledger").exists()


@pytest.mark.parametrize("size", ["phone", "tablet"])
def test_the_large_keys_leave_the_field_of_the_short_form_in_sight_and_name_it(open_page, inspector, visit, size):
    page = open_page(size, inspector)
    page.goto(reverse("walk", args=[visit.pk]))
    keypad, top = page.locator("dialog.keypad"), page.locator("header.bar").bounding_box()
    for name in ("Width along the house", "Depth from the house", "Height above the ground"):
        page.get_by_label(name).tap()
        expect(keypad).to_contain_text(name)
        label, field = page.get_by_text(name).first.bounding_box(), page.get_by_label(name).bounding_box()
        assert label["y"] >= top["height"], f"the name of {name} is under the head of the page"
        assert field["y"] + field["height"] <= keypad.bounding_box()["y"], f"{name} is under the keys"


def test_a_length_is_entered_with_the_large_keys_and_judged_at_once(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "joists"))
    span = page.locator("#in-fact-J1-span_in")
    span.tap()
    keypad = page.locator("dialog.keypad")
    expect(keypad).to_be_visible()
    assert span.get_attribute("inputmode") == "none"  # the tablet's own keyboard stays away
    for key in ("Clear", "4", "ft", "3", "1/2"):
        keypad.get_by_role("button", name=key, exact=True).tap()
    expect(keypad.locator("output")).to_contain_text("4' 3 1/2\"")
    expect(keypad.locator("output")).to_contain_text("1308 mm")
    keypad.get_by_role("button", name="Done").tap()
    expect(page.locator("#fact-J1-span_in .story")).to_contain_text("Saved")
    joists = deck.parts.get(key="J1")
    assert joists.readings.get(fact="span_in").value == 51.5


def test_every_key_is_large_enough_for_a_glove(phone, inspector, deck):
    page = phone(inspector)
    page.goto(link(deck, "joists"))
    page.locator("#in-fact-J1-span_in").tap()
    sizes = page.locator("dialog.keypad button:visible:not(.empty)").evaluate_all(
        "all => all.map(one => [one.getBoundingClientRect().width, one.getBoundingClientRect().height])"
    )
    assert len(sizes) > 25
    assert min(height for _, height in sizes) >= 56
    assert min(width for width, _ in sizes) >= 50
    field, pad = page.locator("#in-fact-J1-span_in").bounding_box(), page.locator("dialog.keypad").bounding_box()
    assert field["y"] + field["height"] <= pad["y"], "the field is hidden behind its keypad"


def test_millimetres_are_taken_too(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "joists"))
    page.locator("#in-fact-J1-spacing_in").tap()
    keypad = page.locator("dialog.keypad")
    for key in ("Clear", "mm", "4", "0", "6"):
        keypad.get_by_role("button", name=key, exact=True).tap()
    keypad.get_by_role("button", name="Done").tap()
    expect(page.locator("#fact-J1-spacing_in .story")).to_contain_text("Saved")
    assert deck.parts.get(key="J1").readings.get(fact="spacing_in").value == pytest.approx(406 / 25.4, abs=1e-5)


def test_the_key_clear_takes_a_doubt_with_it(tablet, inspector, deck):
    record_reading(deck.parts.get(key="J1"), "spacing_in", "16 or 24", by=inspector)
    page = tablet(inspector)
    page.goto(link(deck, "joists"))
    page.locator("#in-fact-J1-spacing_in").tap()
    keypad = page.locator("dialog.keypad")
    for key in ("Clear", "1", "6"):
        keypad.get_by_role("button", name=key, exact=True).tap()
    expect(page.locator("#in-fact-J1-spacing_in")).to_have_value("16")


def test_the_verdict_changes_without_leaving_the_field_one_is_in(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "joists"))
    expect(page.locator("#verdict-line")).to_contain_text("not good enough")
    page.locator("#fact-J1-size .fact-entry").get_by_text("2x12", exact=True).tap()
    page.locator("#in-fact-J1-count").fill("8")  # typed while the first answer is on its way
    expect(page.locator("#fact-J1-size .story")).to_contain_text("Saved")
    assert page.locator("#in-fact-J1-count").input_value() == "8"
    expect(page.locator("#standing-J1")).not_to_contain_text("not good enough")


def test_a_refused_value_stays_in_its_field_with_the_reason(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "joists"))
    span = page.locator("#in-fact-J1-span_in")
    span.fill("999 ft")
    span.press("Tab")
    expect(page.locator("#fact-J1-span_in .errorlist")).to_contain_text("longer than the 100 ft")
    assert page.locator("#in-fact-J1-span_in").input_value() == "999 ft"
    page.problems.remove(next(each for each in page.problems if "422" in each))


def test_what_two_wrote_is_left_to_the_inspector(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "joists"))
    record_reading(deck.parts.get(key="J1"), "span_in", "10'", by=inspector)
    page.locator("#in-fact-J1-span_in").fill("9'")
    page.locator("#in-fact-J1-span_in").press("Tab")
    expect(page.locator("#fact-J1-span_in .clash")).to_contain_text("10'")
    page.get_by_role("button", name="Use mine").tap()
    expect(page.locator("#fact-J1-span_in .story")).to_contain_text("Saved")
    assert deck.parts.get(key="J1").readings.get(fact="span_in").value == 108.0
    page.problems.remove(next(each for each in page.problems if "422" in each))


def test_a_fastener_is_called_loose_with_two_taps(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "ledger"))
    page.locator(".strip a[data-part=F3] rect").last.tap()
    expect(page.locator("#part-F3")).to_be_visible()
    page.locator("#fact-F3-condition .fact-entry").get_by_text("loose", exact=True).tap()
    expect(page.locator("#fastener-F3")).to_contain_text("loose")
    expect(page.locator("#fastener-F3")).to_contain_text("not good enough")
    assert deck.parts.get(key="F3").readings.get(fact="condition").value == "loose"


def test_a_tap_on_the_board_says_where_the_next_fastener_goes(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "ledger"))
    strip = page.locator("#strip-LD1 svg")
    scale, left = (float(strip.get_attribute(name)) for name in ("data-px-per-in", "data-left-px"))
    box, drawn_px = strip.bounding_box(), float(strip.get_attribute("viewBox").split()[2])
    strip.click(position={"x": (left + 52 * scale) * box["width"] / drawn_px, "y": box["height"] * 0.4})
    assert page.locator("#first-LD1").input_value() == "52"
    page.locator(".pattern").get_by_role("button", name="Add", exact=True).click()
    expect(page.locator("#fastener-table-LD1 tbody tr")).to_have_count(7)
    assert deck.parts.get(key="F7").readings.get(fact="position_in").value == 52.0


def test_a_tap_on_the_plan_goes_to_the_part(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(reverse("walk", args=[deck.pk]))
    page.locator(".plan a[data-part=B1] rect").last.click(position={"x": 120, "y": 22})
    page.wait_for_url(re.compile(r"/walk/beam/#part-B1$"))


def test_the_walk_works_without_javascript(open_page, inspector, deck):
    page = open_page("tablet", inspector, java_script_enabled=False)
    page.goto(link(deck, "joists"))
    page.locator("#in-fact-J1-span_in").fill("9'")
    page.locator("#part-J1").get_by_role("button", name="Save this sheet").click()
    page.wait_for_url(re.compile(r"/walk/joists/#part-J1$"))
    assert deck.parts.get(key="J1").readings.get(fact="span_in").value == 108.0
    page.goto(link(deck, "ledger"))
    page.locator("#fastener-F2 a").click()
    expect(page.locator("#part-F2")).to_be_visible()


def test_who_is_not_sure_ticks_two_words_and_the_verdict_says_what_would_settle_it(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "joists"))
    species = page.locator("#fact-J1-species")
    species.locator("summary").tap()
    species.locator(".could-be").get_by_text("redwood", exact=True).tap()
    expect(species.locator("select").first).to_have_value("southern pine or redwood")
    expect(species.locator(".story")).to_contain_text("Saved")
    reading = deck.parts.get(key="J1").readings.get(fact="species")
    assert reading.value == {"one_of": ["southern pine", "redwood"]}
    species.locator(".could-be").get_by_text("southern pine", exact=True).tap()
    expect(species.locator("select").first).to_have_value("redwood")
    page.locator("#fact-J1-spacing_in summary").tap()
    more = page.locator("#fact-J1-spacing_in .could-be input")
    more.fill("16")
    more.press("Tab")
    expect(page.locator("#in-fact-J1-spacing_in")).to_have_value("24 or 16")
    expect(page.locator("#fact-J1-spacing_in .story")).to_contain_text("Saved")
    expect(page.locator("#verdicts")).to_contain_text("in all 2 combinations of spacing of joist field J1 (24, 16)")
    reading.refresh_from_db()
    assert reading.value == "redwood"


@pytest.mark.parametrize("size", ["phone", "tablet"])
def test_the_link_one_works_on_is_in_sight_in_the_chain(open_page, inspector, deck, size):
    page = open_page(size, inspector)
    for slug in ("surface", "way-up", "water"):
        page.goto(link(deck, slug))
        chain, here = page.locator("#chain"), page.locator("#chain [aria-current]")
        within = "one => [Math.round(one.getBoundingClientRect().left), Math.round(one.getBoundingClientRect().right)]"
        (left, right), (own_left, own_right) = chain.evaluate(within), here.evaluate(within)
        assert left <= own_left <= own_right <= right, f"{slug} lies outside of what is shown"


def test_a_button_that_is_pressed_twice_adds_one_row(tablet, inspector, deck):
    page = tablet(inspector)
    with page.expect_response(lambda answer: "kit=yes" in answer.url):
        page.goto(link(deck, "ledger"))
    page.wait_for_load_state("networkidle")
    board = page.locator("#fasteners-LD1")
    board.get_by_label("First at").fill("20")
    board.get_by_role("button", name="Add", exact=True).dblclick()
    expect(page.locator("#fastener-table-LD1 tbody tr")).to_have_count(7)
    page.wait_for_load_state("networkidle")
    page.goto(link(deck, "joists"))  # what an earlier page left on the disk would be sent now
    page.wait_for_load_state("networkidle")
    assert deck.parts.filter(kind="fastener").count() == 7


@pytest.mark.parametrize("has_signal", [True, False])
def test_a_button_that_is_pressed_twice_adds_one_part(tablet, inspector, deck, has_signal):
    page = tablet(inspector)
    with page.expect_response(lambda answer: "kit=yes" in answer.url):
        page.goto(link(deck, "way-up"))
    page.wait_for_load_state("networkidle")
    page.context.set_offline(not has_signal)
    page.get_by_role("button", name="Add a flight of stairs").dblclick()
    expect(page.locator("#part-S2")).to_be_visible()
    page.wait_for_load_state("networkidle")
    page.context.set_offline(False)
    wait_until(lambda: page.wait_for_timeout(50) or in_outbox(page) == [], 30, "an empty outbox")
    assert deck.parts.filter(kind="stair").count() == 2
    page.problems[:] = [said for said in page.problems if "ERR_INTERNET_DISCONNECTED" not in said]


def test_a_tap_on_the_fastener_that_is_open_leaves_what_is_being_typed(tablet, inspector, deck):
    page = tablet(inspector)
    page.goto(link(deck, "ledger") + "?fastener=F2")
    sheet = page.locator("#part-F2")
    sheet.locator("details.usual > summary").first.click()
    field = sheet.locator('[name="position_in"]')
    field.fill("36 1/4")
    page.locator("#fastener-table-LD1").get_by_role("link", name="F2", exact=True).click()
    page.wait_for_load_state("networkidle")
    expect(sheet.locator("details.usual").first).to_have_attribute("open", "")
    expect(field).to_have_value("36 1/4")
