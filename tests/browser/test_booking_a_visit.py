"""The office books while the caller waits: with HTMX, and without any script."""

import re
from datetime import timedelta
from itertools import permutations

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from firm.jobs.work import run_job
from inspections.exchange.models import Import
from inspections.exchange.services import look_at, run
from inspections.visits.models import Visit
from tests.browser.looks import faults_of
from tests.inspections.visits.round_the_clock import everybody_works_round_the_clock  # noqa: F401
from tests.make import in_days, make_client, make_property, make_visit


@pytest.fixture
def house():
    client = make_client("Ines Hallam", phone="207 555 0142", email="ines@example.org")
    make_property(client, street="17 Quarry Hill Road")
    return make_property(client, street="4 Mill Lane")


@pytest.fixture
def wren(make_person):
    return make_person("inspector", username="wren", first_name="Wren", last_name="Odell")


def day(days):
    return (timezone.localdate() + timedelta(days=days)).isoformat()


def booked(page):
    page.wait_for_url(re.compile(r"/visits/\d+/$"))
    return Visit.objects.latest("pk")


def test_the_name_is_searched_as_it_is_typed_and_nothing_typed_is_lost(desktop, office, house, wren):
    make_visit(wren, starts_at=in_days(3, 9), property=house)
    page = desktop(office)
    page.goto(reverse("visit-book"))
    page.fill("#id_notes", "Hot tub on the upper level.")
    page.locator("#id_q").press_sequentially("halam", delay=20)  # one letter short
    page.get_by_role("button", name="Ines Hallam").click()
    page.locator(".houses label", has_text="4 Mill Lane").click()
    page.select_option("#id_inspector", label="Wren Odell")
    page.fill("#id_day", day(3))
    page.locator("#day").get_by_text("9:00 AM to 10:30 AM").wait_for()
    page.fill("#id_time", "11:00")
    assert page.input_value("#id_notes") == "Hot tub on the upper level."
    page.get_by_role("button", name="Book the visit").click()
    visit = booked(page)
    assert (visit.property, visit.starts_at, visit.inspector) == (house, in_days(3, 11), wren)


def test_enter_in_the_search_searches_and_enter_elsewhere_books(desktop, office, house, wren):
    page = desktop(office)
    page.goto(reverse("visit-book"))
    page.fill("#id_q", "hallam")
    page.press("#id_q", "Enter")
    page.get_by_role("button", name="Ines Hallam").click()
    page.locator("input[name=property]").first.check(force=True)
    page.fill("#id_day", day(3))
    # The browser logs what is still asked for when the page is left.
    expect(page.locator("#day-head")).to_contain_text(f"{in_days(3, 11):%A}", timeout=20_000)
    page.wait_for_load_state("networkidle")
    page.fill("#id_time", "11:00")
    page.press("#id_length_minutes", "Enter")
    assert booked(page).client.name == "Ines Hallam"


@pytest.mark.parametrize("first", ["late", "pick"])
def test_a_search_that_is_answered_after_the_client_was_picked_takes_nothing_away(first, desktop, office, house, wren):
    near = make_property(house.client, street="1 Near Court", latitude=44, longitude=-69)
    page = desktop(office)
    held = {}

    def hold(route):
        asked = route.request.post_data or ""
        what = "pick" if "pick_client" in asked else "late" if "hallam" in asked else ""
        held[what] = route
        if not what:
            route.continue_()

    page.goto(reverse("visit-book"))
    page.route("**/visits/book/", hold)
    page.fill("#id_q", "halla")
    ines = page.get_by_role("button", name="Ines Hallam")
    expect(ines).to_be_visible()
    with page.expect_request(lambda request: "hallam" in (request.post_data or "")):
        page.fill("#id_q", "hallam")
    with page.expect_request(lambda request: "pick_client" in (request.post_data or "")):
        ines.click()
    for answer in (first, "pick" if first == "late" else "late"):
        with page.expect_event("requestfinished"):
            held[answer].continue_()
    expect(page.locator(".houses label", has_text=near.street)).to_be_visible()
    assert page.problems == []


@pytest.mark.parametrize("order", list(permutations(["search", "Find", "new"])), ids=" ".join)
def test_a_new_client_pressed_before_the_search_has_begun_is_not_swallowed(order, desktop, office, wren):
    page = desktop(office)
    held = {}

    def hold(route):
        by_itself = route.request.headers.get("hx-trigger") == "id_q"
        held["new" if "pick_client" in route.request.post_data else "search" if by_itself else "Find"] = route

    page.goto(reverse("visit-book"))
    page.route("**/visits/book/", hold)
    page.fill("#id_q", "Otis Brankley")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("button", name="Add a new client").click()
    page.wait_for_timeout(400)  # the search that the last letter begins waits 250 ms
    assert "new" in held
    for answer in (held[one] for one in order if one in held):
        with page.expect_event("requestfinished"):
            answer.continue_()
    expect(page.locator("#id_client-phone")).to_be_visible()
    expect(page.locator("#id_client-name")).to_have_value("Otis Brankley")
    assert page.problems == []


def test_all_of_it_works_without_a_script(tablet, office, wren):
    page = tablet(office, java_script_enabled=False)
    page.goto(reverse("visit-book"))
    page.fill("#id_notes", "Gate at the back.")
    page.fill("#id_q", "Otis Brankley")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("button", name="Add a new client: Otis Brankley").click()
    page.fill("#id_client-phone", "207 555 0177")
    page.fill("#id_property-street", "9 Ferry Landing")
    page.fill("#id_property-town", "Saltmarsh")
    page.fill("#id_property-region", "Maine")
    page.fill("#id_day", day(3))
    page.fill("#id_time", "11:00")
    page.press("#id_time", "Enter")
    visit = booked(page)
    assert (visit.client.name, visit.property.street, visit.notes) == (
        "Otis Brankley",
        "9 Ferry Landing",
        "Gate at the back.",
    )


@pytest.mark.parametrize("size", ["phone", "tablet", "desktop"])
def test_the_offices_pages_are_as_pages_must_be(size, open_page, make_person, house, wren):
    boss = make_person("manager", "administrator", "office", username="boss")
    visit = make_visit(wren, property=house)
    done = make_visit(wren, starts_at=in_days(-9, 10), property=house, state="released")
    done.findings.create(action="look_after", link="water", title="Leaves between the boards", by=wren)
    asked = make_visit(property=house, state="asked_for", suits="Any morning but Thursday, and not before nine")
    page = open_page(size, boss, bypass_csp=True)  # axe comes as a script of its own
    addresses = [
        reverse("home"),
        reverse("visit-list"),
        reverse("visit-book"),
        reverse("visit-book") + f"?client={house.client_id}",
        reverse("visit-book") + "?q=halam",
        reverse("visit-day"),
        reverse("visit-detail", args=[visit.pk]),
        reverse("visit-move", args=[visit.pk]),
        reverse("visit-call-off", args=[visit.pk]),
        reverse("visit-give-up", args=[visit.pk]),
        reverse("visit-detail", args=[asked.pk]),
        reverse("visit-move", args=[asked.pk]),
        reverse("visit-call-off", args=[asked.pk]),
        reverse("visit-lists", args=["asked-for"]),
        reverse("visit-list") + "?state=asked_for",
        reverse("client-list"),
        reverse("client-detail", args=[house.client_id]),
        reverse("client-edit", args=[house.client_id]),
        reverse("property-edit", args=[house.pk]),
        reverse("property-list"),
        reverse("firm-edit"),
        reverse("trends"),
        reverse("trend-visits") + "?link=water",
    ]
    found = {}
    for address in addresses:
        page.goto(address)
        if faults := faults_of(page):
            found[address] = faults
    assert found == {}


def test_an_inspectors_day_is_as_a_page_must_be(tablet, house, wren):
    make_visit(wren, property=house, starts_at=in_days(0, 12))
    back = make_visit(wren, property=house, starts_at=in_days(-3, 9), state="sent_back", sent_back_because="No risers.")
    page = tablet(wren, bypass_csp=True)
    for address in (reverse("home"), reverse("visit-hand-in", args=[back.pk]), reverse("visit-list")):
        page.goto(address)
        assert faults_of(page) == [], address


def test_a_free_time_is_taken_with_one_tap_and_booked_with_the_next(tablet, office, house, wren):
    page = tablet(office)
    page.goto(f"{reverse('visit-book')}?client={house.client_id}&property={house.pk}")
    page.select_option("#id_purpose", "after_repair")
    expect(page.locator("#id_length_minutes")).to_have_value("45")
    page.select_option("#id_deck_size", "large")
    expect(page.locator("#id_length_minutes")).to_have_value("60")
    assert faults_of(page) == []
    slot = page.locator(".slot").nth(2)
    day_and_clock = slot.get_attribute("value").split()[1:3]
    slot.tap()
    expect(page.locator("#id_day")).to_have_value(day_and_clock[0])
    expect(page.locator("#id_time")).to_have_value(day_and_clock[1])
    assert page.locator("#id_inspector option:checked").inner_text() == "Wren Odell"
    page.get_by_role("button", name="Book the visit").tap()
    visit = booked(page)
    assert (visit.length_minutes, visit.purpose) == (60, "after_repair")
    assert f"{timezone.localtime(visit.starts_at):%Y-%m-%d %H:%M}" == " ".join(day_and_clock)


def test_a_caller_without_a_time_is_kept_and_given_one_later_with_two_taps(phone, office, house, wren):
    page = phone(office)
    page.goto(f"{reverse('visit-book')}?client={house.client_id}&property={house.pk}")
    page.fill("#id_suits", "After the 12th, mornings")
    page.get_by_role("button", name="Keep it as asked for").tap()
    visit = booked(page)
    assert (visit.state, visit.suits) == ("asked_for", "After the 12th, mornings")
    expect(page.locator("main")).to_contain_text("Kept as asked for. No mail goes out until it has a time.")
    page.goto(reverse("visit-lists", args=["asked-for"]))
    expect(page.locator("main")).to_contain_text("After the 12th, mornings")
    page.locator("tbody a[data-row]").tap()
    page.get_by_role("link", name="Give it a time").tap()
    slot = page.locator(".slot").first
    starts = slot.get_attribute("value").split()[1:3]
    slot.tap()  # the one
    expect(page.locator("#id_day")).to_have_value(starts[0])
    page.get_by_role("button", name="Book the visit").tap()  # and the other
    expect(page.locator("main")).to_contain_text("A confirmation goes to ines@example.org.")
    visit.refresh_from_db()
    assert (visit.state, visit.inspector) == ("booked", wren)
    assert f"{timezone.localtime(visit.starts_at):%Y-%m-%d %H:%M}" == " ".join(starts)
    assert page.problems == []


@pytest.mark.parametrize("size", ["phone", "tablet", "desktop"])
def test_the_fates_of_a_tables_rows_are_read_at_every_size(size, open_page, administrator):
    page = open_page(size, administrator)
    rows = "\n".join(f"Client {number},no phone,," for number in range(120))
    table = ContentFile(f"name,phone,email,notes\nMara Vane,,,\n{rows}\n".encode(), "clients.csv")
    job = look_at(table, "clients", by=administrator)
    run_job(Import, job.pk, run)
    page.goto(reverse("import-detail", args=[job.pk]))
    expect(page.locator("tbody tr")).to_have_count(100)
    assert faults_of(page) == []
    page.get_by_role("link", name="Next page").click()
    expect(page.locator("tbody tr")).to_have_count(20)
    page.get_by_role("link", name="To be added 1").click()
    expect(page.locator("tbody")).to_contain_text("Mara Vane")
    assert faults_of(page) == []
