"""Drawing on a photo with a finger, by keyboard, and through a torn connection."""

import json
import re

import pytest
from django.urls import reverse

from inspections.drawings.marks import marks_svg
from inspections.photos.models import Photo
from inspections.photos.services import mark_photo, take_in_photo
from inspections.photos.tasks import make_photo_renditions
from tests.browser.looks import faults_of
from tests.browser.test_offline import in_outbox
from tests.inspections.photos.files import jpeg_bytes, upload
from tests.installation import wait_until
from tests.make import make_visit

NUMBER = re.compile(r"-?\d+\.?\d*")


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture
def take_photo(inspector, open_page):
    """Called after the browser's media folder is set."""

    def take(width_px=1600, height_px=1200):
        visit = make_visit(inspector, state="under_way")
        photo = take_in_photo(visit, upload(jpeg_bytes(width_px, height_px)), by=inspector, caption="the beam")
        make_photo_renditions(photo.rendition_job.pk)
        photo.refresh_from_db()
        return photo

    return take


def here(photo):
    return reverse("photo-marks", args=[photo.pk])


def finger(page, *places):
    """A finger put down at the first place, drawn over the others and lifted; places are shares of the picture."""
    page.locator("[data-over]").scroll_into_view_if_needed()
    box = page.locator("[data-over]").bounding_box()
    points = [{"x": box["x"] + x * box["width"], "y": box["y"] + y * box["height"]} for x, y in places]
    touch = page.context.new_cdp_session(page)
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points[:1]})
    for point in points[1:]:
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def take(page, tool):
    page.locator("label").filter(has_text=re.compile(f"^{tool}$")).click()


def save(page):
    page.get_by_role("button", name="Save the marks").click()
    page.get_by_text("The marks are saved.").wait_for()


def near(mark, **ends):
    return all(abs(mark[name] - value) < 0.01 for name, value in ends.items())


def test_a_finger_draws_an_arrow_a_circle_a_line_with_its_measure_and_words(tablet, inspector, take_photo):
    page, photo = tablet(inspector), take_photo()
    page.goto(here(photo))
    finger(page, (0.2, 0.2), (0.3, 0.3), (0.5, 0.6))
    take(page, "Circle")
    finger(page, (0.6, 0.1), (0.7, 0.2), (0.8, 0.3))
    take(page, "Line")
    finger(page, (0.1, 0.8), (0.5, 0.8), (0.9, 0.8))
    page.get_by_label("What it measures, Line 1").fill("14 1/2 in & more")
    take(page, "Words")
    finger(page, (0.5, 0.4))
    page.get_by_label("Its words, Words 1").fill("south side")
    finger(page, (0.56, 0.42))
    page.get_by_label("Its words, Words 2").fill("beside the other")
    shown = page.locator("[data-over]").inner_html()
    save(page)
    arrow, circle, line, words, _ = Photo.objects.get().marks["marks"]
    assert arrow["kind"] == "arrow" and near(arrow, x1=0.2, y1=0.2, x2=0.5, y2=0.6)
    assert circle["kind"] == "circle" and near(circle, x1=0.6, y1=0.1, x2=0.8, y2=0.3)
    assert line["text"] == "14 1/2 in & more" and near(line, x1=0.1, y1=0.8, x2=0.9, y2=0.8)
    assert words["text"] == "south side" and near(words, x1=0.5, y1=0.4)
    # What was seen while drawing is what the server draws: the same shapes at the same places.
    saved = marks_svg(Photo.objects.get().marks)
    for attribute in ("d", "x", "y", "width", "stroke-width"):
        mine = [NUMBER.findall(text) for text in re.findall(rf'(?<=\s){attribute}="([^"]*)"', saved)]
        theirs = [NUMBER.findall(text) for text in re.findall(rf'(?<=\s){attribute}="([^"]*)"', shown)][: len(mine)]
        assert len(mine) == len(theirs) > 0
        for one, other in zip(mine, theirs, strict=True):
            assert [float(n) for n in one] == pytest.approx([float(n) for n in other], abs=0.11)


def test_a_finger_moves_a_mark_and_bends_its_end_and_undo_takes_it_back(tablet, inspector, take_photo):
    page, photo = tablet(inspector), take_photo()
    page.goto(here(photo))
    finger(page, (0.2, 0.2), (0.5, 0.5))
    finger(page, (0.5, 0.5), (0.7, 0.5))  # its tip is chosen: the finger takes the handle instead of drawing anew
    take(page, "Move")
    finger(page, (0.45, 0.35), (0.45, 0.45))
    page.get_by_role("button", name="Undo").click()
    save(page)
    (mark,) = Photo.objects.get().marks["marks"]
    assert near(mark, x1=0.2, y1=0.2, x2=0.7, y2=0.5)


def test_marks_are_changed_later_and_taken_away(tablet, inspector, take_photo):
    page, photo = tablet(inspector), take_photo()
    mark_photo(
        photo,
        '[{"kind":"arrow","x1":0.1,"y1":0.1,"x2":0.4,"y2":0.4,"text":""},'
        '{"kind":"circle","x1":0.5,"y1":0.5,"x2":0.8,"y2":0.8,"text":"knot"}]',
        by=inspector,
    )
    page.goto(here(photo))
    page.get_by_role("button", name="Take away Arrow 1").click()
    page.get_by_label("Its words, Circle 1").fill("rot")
    save(page)
    assert [(mark["kind"], mark["text"]) for mark in Photo.objects.get().marks["marks"]] == [("circle", "rot")]


def test_everything_can_be_done_by_keyboard(desktop, inspector, take_photo):
    page, photo = desktop(inspector), take_photo()
    page.goto(here(photo))
    page.get_by_role("button", name="Put one in the middle").press("Enter")
    name = page.get_by_role("button", name="Arrow 1", exact=True)
    assert name.evaluate("one => one === document.activeElement")
    for key in ["ArrowRight"] * 5 + ["ArrowUp"] * 10 + ["Shift+ArrowDown"] * 10:
        page.keyboard.press(key)
    assert "start" not in page.locator("[data-status]").inner_text()
    page.get_by_role("button", name="Put one in the middle").press("Enter")
    page.keyboard.press("Delete")
    save(page)
    (mark,) = Photo.objects.get().marks["marks"]
    assert near(mark, x1=0.45, y1=0.4 - 10 * 16 / 1200, x2=0.65, y2=0.6)


def test_a_mark_stops_at_the_edge_and_keeps_its_shape(desktop, inspector, take_photo):
    page, photo = desktop(inspector), take_photo()
    page.goto(here(photo))
    page.get_by_role("button", name="Put one in the middle").click()
    for _ in range(60):
        page.keyboard.press("ArrowLeft")
    save(page)
    (mark,) = Photo.objects.get().marks["marks"]
    assert near(mark, x1=0, x2=0.2)


def test_without_signal_marks_wait_with_the_other_entries_and_are_sent_by_themselves(tablet, inspector, take_photo):
    page, photo = tablet(inspector), take_photo()
    page.goto(here(photo))
    finger(page, (0.2, 0.2), (0.5, 0.5))
    page.context.set_offline(True)
    page.get_by_role("button", name="Save the marks").click()
    page.get_by_text("The marks wait on this tablet").wait_for()
    assert in_outbox(page) == ["mark_photo"]
    page.context.set_offline(False)
    wait_until(lambda: in_outbox(page) == [], 20, "the marks sent")
    (mark,) = Photo.objects.get().marks["marks"]
    assert near(mark, x1=0.2, y1=0.2, x2=0.5, y2=0.5)
    assert all("ERR_INTERNET_DISCONNECTED" in problem for problem in page.problems)
    page.problems.clear()


def test_where_nothing_can_be_kept_what_was_drawn_is_not_lost_even_with_the_page(tablet, inspector, take_photo):
    page, photo = tablet(inspector), take_photo()
    page.add_init_script('IDBObjectStore.prototype.add = () => { throw new DOMException("x", "QuotaExceededError"); }')
    page.goto(here(photo))
    finger(page, (0.2, 0.2), (0.5, 0.5))
    page.context.set_offline(True)
    page.get_by_role("button", name="Save the marks").click()
    page.get_by_text("Not saved: no signal.").wait_for()
    page.context.set_offline(False)
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto(here(photo))
    page.get_by_text("Marks that were not saved yet are back.").wait_for()
    save(page)
    assert len(Photo.objects.get().marks["marks"]) == 1
    page.goto(here(photo))
    assert page.get_by_text("are back").count() == 0
    assert all("ERR_INTERNET_DISCONNECTED" in problem for problem in page.problems)
    page.problems.clear()


BOXES = """all => all.map(one => one.getBoundingClientRect()).map(box => [box.x, box.y, box.right, box.bottom])"""


@pytest.mark.parametrize("kind", ["photo-marks", "photo-edit"])
def test_on_a_phone_the_words_can_be_read_and_do_not_cover_each_other(phone, inspector, take_photo, kind):
    page, photo = phone(inspector), take_photo()
    marks = [
        {
            "kind": "line",
            "x1": 0.1,
            "y1": 0.3 + step / 20,
            "x2": 0.5,
            "y2": 0.3 + step / 20,
            "text": f"{step + 3} 1/2 in",
        }
        for step in range(3)
    ]
    mark_photo(photo, json.dumps(marks), by=inspector)
    page.goto(reverse(kind, args=[photo.pk]))
    words = page.locator("svg text:visible").filter(has_text="1/2 in")
    assert words.count() == 3
    assert min(bottom - top for _, top, _, bottom in words.evaluate_all(BOXES)) >= 14
    plates = page.locator("svg:visible rect").filter(visible=True).evaluate_all(BOXES)[-3:]
    for place, one in enumerate(plates):
        for other in plates[place + 1 :]:
            assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


@pytest.mark.parametrize("size", ["phone", "tablet", "desktop"])
def test_the_page_fits_its_screen_and_is_accessible(open_page, inspector, take_photo, size):
    page, photo = open_page(size, inspector), take_photo(900, 1600)
    mark_photo(photo, '[{"kind":"line","x1":0.1,"y1":0.1,"x2":0.9,"y2":0.4,"text":"3 1/2 in"}]', by=inspector)
    for address in (
        here(photo),
        reverse("photo-edit", args=[photo.pk]),
        reverse("finding-list", args=[photo.visit_id]),
    ):
        page.goto(address)
        assert faults_of(page) == [], address
    page.goto(here(photo))
    page.get_by_role("button", name="Line 1", exact=True).click()
    assert faults_of(page) == []
