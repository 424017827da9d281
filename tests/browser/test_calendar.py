"""A visit is taken hold of in the calendar: by mouse, by finger, by keys, and by a plain form."""

from datetime import datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from inspections.visits.models import Visit
from tests.browser.looks import faults_of
from tests.inspections.visits.round_the_clock import everybody_works_round_the_clock  # noqa: F401
from tests.make import make_client, make_property, make_visit


@pytest.fixture
def monday():
    today = timezone.localdate()
    return today + timedelta(days=14 - today.weekday())


def at(day, hour, minute=0):
    return timezone.make_aware(datetime.combine(day, time(hour, minute)))


@pytest.fixture
def wren(make_person):
    return make_person("inspector", username="wren", first_name="Wren", last_name="Odell")


@pytest.fixture
def visit(wren, monday):
    house = make_property(make_client("Ines Hallam"), street="4 Mill Lane")
    return make_visit(wren, property=house, starts_at=at(monday, 10))


@pytest.fixture
def week(visit, office, monday):
    def look(browser):
        page = browser(office)
        page.goto(f"{reverse('calendar')}?view=week&day={monday}")
        page.locator(f"#visit-{visit.pk}").scroll_into_view_if_needed()
        return page

    return look


def spot(page, day, minute):
    """Where on the page the calendar has this minute of this day."""
    return page.evaluate(
        """([day, minute]) => {
            const column = document.querySelector(`.column[data-day="${day}"]`);
            const box = column.querySelector(".quarters").getBoundingClientRect();
            const share = (minute - column.dataset.first * 60) / (column.dataset.quarters * 15);
            return {x: box.left + box.width / 2, y: box.top + share * box.height};
        }""",
        [day.isoformat(), minute],
    )


def until_it_rests(page):
    """A flick scrolls on for a while: wait until the page stands still for ten frames."""
    page.evaluate(
        """async () => {
            for (let frames = 0, last = null; frames < 10; ) {
                await new Promise(requestAnimationFrame);
                frames = scrollY === last ? frames + 1 : 0;
                last = scrollY;
            }
        }"""
    )


def put_there(page, words):
    expect(page.locator("#shift-words")).to_contain_text(words)
    page.get_by_role("button", name="Put it there").click()
    page.get_by_text("is now booked for Wren Odell").wait_for()


def now(visit):
    visit = Visit.objects.get(pk=visit.pk)
    return visit.starts_at, visit.length_minutes


def test_by_mouse_to_another_day_and_hour_and_nothing_is_stored_before_it_is_put_there(desktop, week, visit, monday):
    page = week(desktop)
    start, end = spot(page, monday, 10 * 60 + 20), spot(page, monday + timedelta(days=2), 13 * 60 + 20)
    page.mouse.move(start["x"], start["y"])
    page.mouse.down()
    page.mouse.move(end["x"], end["y"] - 30, steps=4)
    page.mouse.move(end["x"], end["y"], steps=4)
    page.mouse.up()
    assert now(visit) == (at(monday, 10), 90)
    put_there(page, "Wednesday")
    assert now(visit) == (at(monday + timedelta(days=2), 13), 90)
    assert faults_of(page) == []


def test_the_lower_edge_is_pulled_to_make_it_longer(desktop, week, visit, monday):
    page = week(desktop)
    box = page.locator(f"#visit-{visit.pk} .edge").bounding_box()
    end = spot(page, monday, 12 * 60)
    page.mouse.move(box["x"] + 20, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(end["x"], end["y"], steps=5)
    page.mouse.up()
    put_there(page, "10:00 AM to 12:00 PM")
    assert now(visit) == (at(monday, 10), 120)


def test_a_drag_is_left_with_escape(desktop, week, visit, monday):
    page = week(desktop)
    start, end = spot(page, monday, 10 * 60 + 20), spot(page, monday, 14 * 60)
    page.mouse.move(start["x"], start["y"])
    page.mouse.down()
    page.mouse.move(end["x"], end["y"], steps=4)
    page.keyboard.press("Escape")
    page.mouse.up()
    assert page.locator("#shift").is_hidden()
    assert now(visit) == (at(monday, 10), 90)


def test_by_keys_alone_and_the_focus_stays_with_the_visit(desktop, week, visit, monday):
    page = week(desktop)
    page.locator(f"#visit-{visit.pk}").focus()
    for key in ("ArrowRight", "ArrowDown", "ArrowDown", "Shift+ArrowDown"):
        page.keyboard.press(key)
    assert "10:30 AM to 12:15 PM" in page.locator("#shift-words").inner_text()
    page.keyboard.press("Enter")
    page.get_by_text("is now booked for Wren Odell").wait_for()
    assert now(visit) == (at(monday + timedelta(days=1), 10, 30), 105)
    assert page.evaluate("document.activeElement.id") == f"visit-{visit.pk}"


def test_a_finger_that_rests_on_it_drags_it_and_one_that_moves_at_once_scrolls(tablet, week, visit, monday):
    page = week(tablet)
    touch = page.context.new_cdp_session(page)

    def finger(kind, where=None):
        points = [{"x": where["x"], "y": where["y"]}] if where else []
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    start, end = spot(page, monday, 10 * 60 + 20), spot(page, monday + timedelta(days=1), 14 * 60 + 20)
    finger("touchStart", start)
    finger("touchMove", end)
    finger("touchEnd")
    expect(page.locator("#shift")).to_be_hidden()
    until_it_rests(page)
    page.locator(f"#visit-{visit.pk}").scroll_into_view_if_needed()
    start, end = spot(page, monday, 10 * 60 + 20), spot(page, monday + timedelta(days=1), 14 * 60 + 20)
    finger("touchStart", start)
    expect(page.locator("#shift-words")).to_contain_text("As it stands", timeout=20_000)  # it is held
    finger("touchMove", {"x": end["x"], "y": end["y"] - 20})
    finger("touchMove", end)
    finger("touchEnd")
    put_there(page, "2:00 PM")
    assert now(visit) == (at(monday + timedelta(days=1), 14), 90)


def test_a_finger_that_rested_holds_the_visit_even_where_the_tablet_was_too_busy_to_say_so(tablet, week, visit, monday):
    page = week(tablet)
    touch = page.context.new_cdp_session(page)
    start, end = spot(page, monday, 10 * 60 + 20), spot(page, monday + timedelta(days=1), 14 * 60 + 20)
    # The timer that says it is held never comes; only the times of the finger are left.
    page.evaluate("() => { window.setTimeout = () => 0; }")
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [start]})
    page.evaluate("async () => { const from = performance.now(); while (performance.now() - from < 400); }")
    for y in (end["y"] - 20, end["y"]):
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": end["x"], "y": y}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(page.locator("#shift-words")).to_contain_text("2:00 PM")


def test_two_who_move_it_at_the_same_time_the_second_is_told_and_nothing_is_lost(desktop, week, visit, monday, manager):
    page = week(desktop)
    page.locator(f"#visit-{visit.pk}").focus()
    page.keyboard.press("ArrowRight")
    Visit.objects.filter(pk=visit.pk).update(calendar_version=1)
    other = Visit.objects.get(pk=visit.pk)
    other.starts_at = at(monday, 15)
    other.save()
    page.keyboard.press("Enter")
    page.get_by_role("alert").get_by_text("Somebody changed this visit while you looked at it").wait_for()
    page.problems.clear()  # the browser logs the 422
    assert now(visit) == (at(monday, 15), 90)


def test_without_any_script_there_is_the_plain_form(desktop, office, visit, monday):
    page = desktop(office, java_script_enabled=False)
    page.goto(reverse("visit-move", args=[visit.pk]))
    page.fill("#id_day", (monday + timedelta(days=3)).isoformat())
    page.fill("#id_time", "09:30")
    page.get_by_role("button", name="Move", exact=True).click()
    assert now(visit) == (at(monday + timedelta(days=3), 9, 30), 90)


def test_the_week_is_printed_whole_on_one_sheet(desktop, week, visit):
    page = week(desktop)
    page.emulate_media(media="print")
    assert page.locator(".calendar-bar").is_hidden()
    assert page.locator(f"#visit-{visit.pk}").is_visible()
    assert page.pdf(prefer_css_page_size=True).count(b"/Type /Page\n") == 1
