"""An inspector's photos and findings in a real browser."""

import threading

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.findings.models import Defect, Finding
from inspections.findings.services import record_finding
from inspections.photos.models import Photo
from inspections.photos.tasks import make_photo_renditions
from tests.browser.looks import faults_of
from tests.inspections.photos.files import jpeg_bytes
from tests.make import make_visit


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, state="under_way")


@pytest.fixture
def finding(visit, inspector):
    defect = Defect.objects.get(slug="guard-too-low")
    fields = {"place": "south side", "seen": "Top rail 33 in above the boards.", "how_soon": "two_weeks"}
    finding = Finding(visit=visit, link="edge", defect=defect, action="put_right", **fields)
    return record_finding(finding, by=inspector)


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


def file(name, data, kind="image/jpeg"):
    return {"name": name, "mimeType": kind, "buffer": data}


def chooser(page):
    return page.locator('input[type="file"][multiple]')


@pytest.mark.parametrize("size", ["phone", "tablet", "desktop"])
def test_the_pages_fit_their_screen_and_are_accessible(open_page, inspector, finding, size):
    page = open_page(size, inspector)
    for address in (
        reverse("finding-list", args=[finding.visit_id]),
        reverse("finding-new", args=[finding.visit_id], query={"link": "edge"}),
        reverse("finding-edit", args=[finding.visit_id, finding.pk]),
        reverse("photo-add", args=[finding.visit_id]),
    ):
        page.goto(address)
        assert faults_of(page) == [], address


@pytest.mark.parametrize("size", ["phone", "tablet", "desktop"])
def test_the_catalogue_fits_its_screen_and_is_accessible(open_page, manager, size):
    page = open_page(size, manager)
    for address in (reverse("defect-list"), reverse("defect-new")):
        page.goto(address)
        assert faults_of(page) == [], address


def test_choosing_from_the_catalogue_fills_the_form_at_once(tablet, inspector, visit):
    page = tablet(inspector)
    page.goto(reverse("finding-new", args=[visit.pk], query={"link": "edge"}))
    page.get_by_label("Where exactly").fill("south side")
    page.get_by_label("From the catalogue").select_option(label="Guard too low")
    expect(page.get_by_label("In one line")).to_have_value("Guard too low")
    assert page.get_by_label("Where exactly").input_value() == "south side"
    assert page.get_by_role("radio", name="Put right").is_checked()
    page.get_by_role("radio", name="Within two weeks").check()
    page.get_by_role("button", name="Record finding").click()
    page.get_by_role("heading", name="Guard too low").wait_for()
    finding = visit.findings.get()
    assert (finding.place, finding.action, finding.how_soon) == ("south side", "put_right", "two_weeks")


def test_a_photo_is_shown_at_once_sent_and_becomes_its_rendition(tablet, inspector, finding):
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    chooser(page).set_input_files([file("one.jpg", jpeg_bytes(seed=1)), file("two.jpg", jpeg_bytes(seed=2))])
    page.get_by_text("Being prepared").nth(1).wait_for()
    photos = list(Photo.objects.all())
    assert [photo.finding for photo in photos] == [finding, finding]
    for photo in photos:
        assert make_photo_renditions(photo.rendition_job.pk)
    for photo in photos:
        shown = page.locator(f"#photo-{photo.pk} img")
        shown.wait_for(timeout=8000)
        expect(shown).to_have_js_property("naturalWidth", 400)


def test_a_bad_file_is_named_and_the_good_one_is_kept(tablet, inspector, finding):
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    chooser(page).set_input_files([file("note.jpg", b"Dear all"), file("good.jpg", jpeg_bytes())])
    page.get_by_text("Being prepared").wait_for()
    assert page.locator(".photo-refused").inner_text() == "note.jpg: this is not a photo. JPEG, PNG and WebP are taken."
    assert Photo.objects.count() == 1
    assert page.problems.pop().startswith("logged: Failed to load resource: the server responded with a status of 422")
    assert faults_of(page) == []


def test_without_signal_a_photo_waits_on_the_page_and_is_sent_when_asked(tablet, inspector, finding):
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    page.context.set_offline(True)
    chooser(page).set_input_files([file("one.jpg", jpeg_bytes())])
    again = page.get_by_role("button", name="Send again")
    again.wait_for(timeout=15000)
    assert page.get_by_text("Not sent: no signal.", exact=True).is_visible()
    page.context.set_offline(False)
    again.click()
    page.get_by_text("Being prepared").wait_for()
    assert Photo.objects.get().finding == finding
    assert all("ERR_INTERNET_DISCONNECTED" in problem for problem in page.problems)
    page.problems.clear()


def test_an_answer_that_got_lost_does_not_keep_the_photo_twice(tablet, inspector, finding):
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    lost = threading.Event()

    def lose_the_first_answer(route):
        if lost.is_set():
            route.continue_()
        else:
            lost.set()
            route.fetch()  # the server has it; the tablet hears nothing
            route.abort()

    page.route("**/photos/add/", lose_the_first_answer)
    chooser(page).set_input_files([file("one.jpg", jpeg_bytes())])
    page.get_by_text("Being prepared").wait_for(timeout=10000)
    assert Photo.objects.count() == 1
    assert page.locator(f"#photo-{Photo.objects.get().pk}").count() == 1
    page.problems.clear()  # the lost answer is logged by the browser


def test_without_a_script_everything_is_there_too(desktop, inspector, visit):
    page = desktop(inspector, java_script_enabled=False)
    page.goto(reverse("finding-new", args=[visit.pk], query={"link": "edge"}))
    page.get_by_label("From the catalogue").select_option(label="Guard too low")
    page.get_by_role("button", name="Fill in its words").click()
    assert page.get_by_label("In one line").input_value() == "Guard too low"
    page.get_by_role("radio", name="At once").check()
    page.get_by_label("Photos of it").set_input_files([file("one.jpg", jpeg_bytes(seed=1))])
    page.get_by_role("button", name="Record finding").click()
    assert visit.findings.get().photos.count() == 1
    page.get_by_role("link", name="Change or add photos").click()
    chooser(page).set_input_files([file("two.jpg", jpeg_bytes(seed=2)), file("three.jpg", b"")])
    page.get_by_role("button", name="Add these photos").click()
    assert page.get_by_text("three.jpg: the file is empty").is_visible()
    assert visit.findings.get().photos.count() == 2


def test_on_the_walk_a_photo_of_a_link_needs_no_finding(phone, inspector, visit):
    page = phone(inspector)
    page.goto(reverse("walk-link", args=[visit.pk, "beam"]))
    chooser(page).set_input_files([file("one.jpg", jpeg_bytes())])
    page.get_by_text("Being prepared").wait_for()
    photo = Photo.objects.get()
    assert (photo.link, photo.finding) == ("beam", None)


def test_a_finding_recorded_on_the_walk_leads_back_to_its_link(tablet, inspector, visit):
    page = tablet(inspector)
    here = reverse("walk-link", args=[visit.pk, "edge"])
    page.goto(here)
    page.get_by_role("link", name="Record a finding").click()
    page.get_by_label("In one line").fill("Rail moves under a hand")
    page.get_by_role("radio", name="Find out").check()
    page.get_by_role("button", name="Record finding").click()
    page.get_by_role("heading", name="Rail moves under a hand").wait_for()
    assert page.url.endswith(here)
