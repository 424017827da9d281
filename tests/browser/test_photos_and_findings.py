"""An inspector's photos and findings in a real browser."""

import io
import threading

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import expect

from inspections.findings.models import Defect, Finding
from inspections.findings.services import record_finding
from inspections.photos.models import Photo
from inspections.photos.tasks import make_photo_renditions
from tests.browser.looks import faults_of
from tests.inspections.photos.files import jpeg_bytes
from tests.installation import wait_until
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


def test_a_bad_file_is_named_kept_on_the_tablet_and_can_be_saved_and_the_good_one_is_taken_in(
    tablet, inspector, finding
):
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    chooser(page).set_input_files([file("note.jpg", b"Dear all"), file("good.jpg", jpeg_bytes())])
    page.get_by_text("Being prepared").wait_for()
    refused = page.locator(".photo-refusal")
    expect(refused).to_contain_text("note.jpg: this is not a photo. JPEG, HEIC, PNG and WebP are taken.")
    assert Photo.objects.count() == 1
    assert faults_of(page) == []
    page.reload()
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save the picture as a file: note.jpg").click()
    assert saving.value.path().read_bytes() == b"Dear all"
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Throw it away: note.jpg").click()
    expect(refused).to_have_count(0)
    page.reload()
    expect(refused).to_have_count(0)


def test_a_photo_that_was_refused_is_taken_in_when_the_firm_takes_larger_ones(tablet, inspector, finding, settings):
    settings.PHOTO_MAX_PIXELS = 1000
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    chooser(page).set_input_files([file("large.jpg", jpeg_bytes())])
    expect(page.locator(".photo-refusal")).to_contain_text("is more than the")
    settings.PHOTO_MAX_PIXELS = 60_000_000
    page.get_by_role("button", name="Send it again: large.jpg").click()
    page.get_by_text("Being prepared").wait_for()
    assert Photo.objects.get().finding == finding


def test_without_signal_a_photo_waits_on_the_tablet_and_is_sent_by_itself(tablet, inspector, finding):
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    page.context.set_offline(True)
    chooser(page).set_input_files([file("one.jpg", jpeg_bytes())])
    expect(page.locator(".photo-waits")).to_contain_text("Waits on this tablet")
    expect(page.locator("#tablet-bar")).to_contain_text("1 photo waits on this tablet")
    page.get_by_label("What one.jpg shows").fill("post B2, west side")
    page.get_by_label("What one.jpg shows").press("Tab")
    page.context.set_offline(False)
    page.get_by_text("Being prepared").wait_for()
    wait_until(lambda: Photo.objects.get().caption == "post B2, west side", 20, "the words under it")
    assert Photo.objects.get().finding == finding
    assert all("ERR_INTERNET_DISCONNECTED" in problem for problem in page.problems)
    page.problems.clear()


def test_a_photo_that_waits_is_seen_in_its_place(tablet, inspector, visit):
    page = tablet(inspector)
    page.route("**/sync/photos/**", lambda route: route.abort())
    page.goto(reverse("photo-add", args=[visit.pk]))
    picture = io.BytesIO()
    Image.new("RGB", (800, 600), (20, 120, 40)).save(picture, "JPEG")
    chooser(page).set_input_files([file("green.jpg", picture.getvalue())])
    tile = page.locator(".photo-waits .photo-stand-in")
    expect(tile.locator("img")).to_be_visible()
    seen = Image.open(io.BytesIO(tile.screenshot())).convert("RGB")
    red, green, _ = seen.getpixel((20, seen.height - 20))
    assert green - red > 30, "the picture lies under the page"
    page.problems.clear()


@pytest.mark.parametrize("lost", ["**/sync/photos/**", "**/sync/"])
def test_an_answer_that_got_lost_does_not_keep_the_photo_twice(tablet, inspector, finding, lost):
    page = tablet(inspector)
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    is_lost = threading.Event()

    def lose_the_first_answer(route):
        if is_lost.is_set() or route.request.method != "POST":
            route.continue_()
        else:
            is_lost.set()
            route.fetch()  # the server has it; the tablet hears nothing
            route.abort()

    page.route(lost, lose_the_first_answer)
    chooser(page).set_input_files([file("one.jpg", jpeg_bytes())])
    expect(page.locator("#tablet-bar")).to_contain_text("1 photo waits")
    page.evaluate("dispatchEvent(new Event('online'))")
    page.get_by_text("Being prepared").wait_for()
    assert Photo.objects.count() == 1
    expect(page.locator(f"#photo-{Photo.objects.get().pk}")).to_have_count(1)
    page.problems.clear()  # the lost answer is logged by the browser


def test_where_the_storage_is_full_a_photo_is_still_sent_and_the_page_says_to_wait(tablet, inspector, finding):
    page = tablet(inspector)
    page.add_init_script(
        """IDBObjectStore.prototype.add = () => { throw new DOMException("full", "QuotaExceededError"); }"""
    )
    page.goto(reverse("finding-edit", args=[finding.visit_id, finding.pk]))
    page.context.set_offline(True)
    chooser(page).set_input_files([file("one.jpg", jpeg_bytes())])
    expect(page.get_by_role("alert")).to_contain_text("storage is full")
    with page.expect_download(timeout=20_000) as saving:
        page.get_by_role("button", name="Save as a file").click(timeout=20_000)
    assert saving.value.path().read_bytes() == jpeg_bytes()
    page.context.set_offline(False)
    page.get_by_role("button", name="Send again").click()
    page.get_by_text("Being prepared").wait_for()
    assert Photo.objects.get().finding == finding
    page.problems.clear()


def test_storage_that_runs_short_is_said_with_how_much_it_still_takes(tablet, inspector, visit):
    page = tablet(inspector)
    page.add_init_script(
        "navigator.storage.estimate = async () => ({ quota: 100 * 1024 ** 2, usage: 84.9 * 1024 ** 2 })"
    )
    page.goto(reverse("walk-link", args=[visit.pk, "beam"]))
    expect(page.locator("#tablet-bar")).to_contain_text("nearly full: room for about 3 more photos")


def test_a_photo_chosen_with_a_new_finding_reaches_it_although_the_connection_breaks(tablet, inspector, visit):
    page = tablet(inspector)
    with page.expect_response(lambda answer: "kit=yes" in answer.url):
        page.goto(reverse("walk-link", args=[visit.pk, "edge"]))
    page.get_by_role("link", name="Record a finding").click()
    page.wait_for_load_state("networkidle")
    page.get_by_label("In one line").fill("Rail moves under a hand")
    page.get_by_role("radio", name="Find out").check()
    page.get_by_label("Photos of it").set_input_files([file("rail.jpg", jpeg_bytes())])
    page.route("**/sync/photos/**", lambda route: route.abort())
    page.get_by_role("button", name="Record finding").click()
    page.get_by_role("heading", name="Rail moves under a hand").wait_for()
    expect(page.locator("#tablet-bar")).to_contain_text("1 photo waits")
    page.unroute_all()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#tablet-bar")).to_be_hidden()
    assert visit.findings.get().photos.get().original.read() == jpeg_bytes()
    page.problems.clear()


@pytest.mark.parametrize("size", ["phone", "tablet"])
def test_the_photos_chosen_for_a_finding_are_seen_and_a_second_choice_adds_to_the_first(
    open_page, inspector, visit, size
):
    page = open_page(size, inspector)
    page.goto(reverse("finding-new", args=[visit.pk], query={"link": "edge"}))
    page.wait_for_load_state("networkidle")
    form = page.locator("#finding-form")
    field, tiles = form.locator('input[type="file"]'), form.locator(".chosen-photos li")
    field.set_input_files([file("one.jpg", jpeg_bytes(seed=1)), file("two.jpg", jpeg_bytes(seed=2))])
    expect(tiles).to_have_count(2)
    field.set_input_files(file("phone.heic", b"no browser shows this", "image/heic"))
    expect(tiles).to_have_count(3)
    expect(form.locator(".chosen-photos img")).to_have_count(2)
    assert faults_of(page) == []
    form.get_by_role("button", name="Leave out phone.heic").click()
    expect(form.get_by_role("status").filter(has_text="2 photos are kept")).to_be_visible()
    form.get_by_role("radio", name="Sound").check()
    form.get_by_label("In one line").fill("Rail is sound")
    form.get_by_role("button", name="Record finding").click()
    page.wait_for_url("**/findings/")
    wait_until(lambda: visit.photos.count() == 2, 30, "both photos at the server")
    assert {photo.original.read() for photo in visit.photos.all()} == {jpeg_bytes(seed=1), jpeg_bytes(seed=2)}


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
    expect(page.get_by_text("three.jpg: the file is empty")).to_be_visible()
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
