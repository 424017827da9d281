"""A deck recorded without signal, the browser closed on the way; the record of the server is what was typed."""

from urllib.parse import urlsplit

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import expect

from firm.bootstrap import find_chromium
from inspections.photos.models import Photo
from inspections.photos.services import take_in_photo
from inspections.photos.tasks import make_photo_renditions
from inspections.sync.models import SyncOperation
from tests.browser.conftest import ARGUMENTS
from tests.browser.signal_line import SignalLine
from tests.inspections.photos.files import jpeg_bytes, upload
from tests.installation import wait_until
from tests.make import in_days, make_visit


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, state="under_way", starts_at=in_days(0, 10))


class Profile:
    """A tablet with a disk: what it keeps is there again when its browser is opened anew."""

    def __init__(self, chromium, folder, line, settings):
        self.chromium, self.folder, self.line, self.settings = chromium, folder, line, settings
        self.context = None

    def open(self):
        self.context = self.chromium.launch_persistent_context(
            str(self.folder), executable_path=find_chromium(), args=ARGUMENTS, base_url=self.line.url,
            viewport={"width": 820, "height": 1180}, has_touch=True,
        )  # fmt: skip
        self.context.set_default_timeout(15_000)
        page = self.context.pages[0] if self.context.pages else self.context.new_page()
        page.thrown = []
        page.on("pageerror", lambda error: page.thrown.append(str(error)))
        return page

    def sign_in(self, person):
        client = Client()
        client.force_login(person)
        cookie = client.cookies[self.settings.SESSION_COOKIE_NAME]
        # With an end: a cookie of the session alone would be gone when the browser is closed.
        self.context.add_cookies(
            [{"name": cookie.key, "value": cookie.value, "url": self.line.url, "expires": 4_000_000_000}]
        )

    def cut(self):
        self.line.cut()
        self.context.set_offline(True)

    def mend(self):
        self.line.mend()
        self.context.set_offline(False)

    def close(self):
        if self.context is not None:
            self.context.close()
            self.context = None


@pytest.fixture
def new_profile(chromium, live_server, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    server = urlsplit(live_server.url)
    opened = []

    def make(name="tablet"):
        one = Profile(chromium.browser_type, tmp_path / name, SignalLine(server.hostname, server.port), settings)
        opened.append(one)
        return one

    yield make
    for one in opened:
        one.close()
        one.line.close()


def take_along(page):
    page.goto("/")
    expect(page.locator("[data-take-status]")).to_contain_text("can be written without signal", timeout=30_000)


def link(visit, slug):
    return reverse("walk-link", args=[visit.pk, slug])


def enter(page, part, fact, text):
    field = page.locator(f"#in-fact-{part}-{fact}")
    field.fill(text)
    field.press("Tab")
    expect(page.locator(f"#fact-{part}-{fact} .story")).to_contain_text("Waits on this tablet")


IN_OUTBOX = """() => new Promise((done) => {
  const asked = indexedDB.open("soundings");
  asked.onsuccess = () => {
    const rows = asked.result.transaction("outbox").objectStore("outbox").getAll();
    rows.onsuccess = () => { asked.result.close(); done(rows.result.map((one) => one.kind)); };
  };
})"""


def in_outbox(page):
    """The kinds of the entries that wait on the tablet. The page may be drawn anew meanwhile."""
    try:
        return page.evaluate(IN_OUTBOX)
    except PlaywrightError:
        return None


def wait_until_sent(page, within_s=30):
    wait_until(lambda: in_outbox(page) == [], within_s, "an empty outbox")
    expect(page.locator("#tablet-bar")).to_be_hidden()


def record_of(visit):
    return {
        (part.key, one.fact): (one.value, one.how)
        for part in visit.parts.filter(removed_at=None).prefetch_related("readings")
        for one in part.readings.all()
    }


def test_a_whole_deck_is_recorded_without_signal_and_arrives_field_by_field(new_profile, inspector, visit):
    profile = new_profile()
    page = profile.open()
    profile.sign_in(inspector)
    take_along(page)
    profile.cut()

    page.goto(reverse("walk", args=[visit.pk]))
    page.get_by_label("Width along the house").fill("14'")
    page.get_by_label("Posts under each beam").fill("2")
    page.get_by_role("button", name="Put these parts into the record").click()
    expect(page.locator("#tablet-bar")).to_contain_text("wait on this tablet")

    page.goto(link(visit, "ledger"))
    enter(page, "LD1", "length_in", "14'")
    board = page.locator("#fasteners-LD1")
    board.get_by_label("First at").fill("4")
    board.get_by_label("then every").fill("16")
    board.get_by_label("up to").fill("164")
    board.locator("select[name=row]").select_option("staggered")
    board.locator("select[name=fastener]").select_option("lag screw")
    board.get_by_label("Diameter").fill("1/2")
    board.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator("#fastener-table-LD1 tbody tr")).to_have_count(11)
    page.locator("#fastener-F3 a").click()
    page.locator("#fact-F3-condition .fact-entry").get_by_text("loose", exact=True).click()
    expect(page.locator("#fact-F3-condition .story")).to_contain_text("Waits on this tablet")

    page.goto(link(visit, "edge"))
    enter(page, "G1", "height_in", "33")
    page.get_by_role("button", name="Add a guard").click()
    enter(page, "G4", "height_in", "36 1/2")
    page.locator("#name-G4").fill("landing")
    page.locator("#part-G4").get_by_role("button", name="Save this sheet").click()

    page.get_by_role("link", name="Record a finding").click()
    page.wait_for_url("**/findings/new/**")
    page.get_by_label("From the catalogue").select_option(label="Guard too low")
    expect(page.get_by_label("In one line")).to_have_value("Guard too low")
    page.get_by_label("Where exactly").fill("front, left of the stair")
    page.get_by_role("radio", name="Within two weeks").check()
    photo = jpeg_bytes(seed=7)
    page.get_by_label("Photos of it").set_input_files({"name": "rail.jpg", "mimeType": "image/jpeg", "buffer": photo})
    page.get_by_role("button", name="Record finding").click()
    expect(page.locator(".finding-waits")).to_contain_text("Guard too low")

    more = jpeg_bytes(seed=8)
    chooser = page.locator('input[type="file"][multiple]')
    chooser.set_input_files({"name": "post.jpg", "mimeType": "image/jpeg", "buffer": more})
    expect(page.locator(".photo-waits")).to_have_count(1)
    expect(page.locator("#tablet-bar")).to_contain_text("2 photos")
    assert not visit.parts.exists(), "nothing can have been sent"
    assert page.thrown == []
    profile.close()

    page = profile.open()
    page.goto(link(visit, "edge"))
    expect(page.locator("#in-fact-G1-height_in")).to_have_value("33")
    expect(page.locator("#in-fact-G4-height_in")).to_have_value("36 1/2")
    expect(page.locator("#name-G4")).to_have_value("landing")
    expect(page.locator(".photo-waits")).to_have_count(1)
    page.goto(link(visit, "ledger"))
    expect(page.locator("#fastener-F3")).to_contain_text("loose")
    assert page.thrown == []

    profile.mend()
    wait_until_sent(page)
    record = record_of(visit)
    assert record["L1", "width_in"] == (168, "measured")
    assert record["LD1", "length_in"] == (168, "measured")
    assert record["LD1", "level"] == ("L1", "measured")
    for number in range(1, 12):
        assert record[f"F{number}", "position_in"] == (4 + 16 * (number - 1), "measured")
        assert record[f"F{number}", "row"][0] == ("upper" if number % 2 else "lower")
        assert record[f"F{number}", "ledger"][0] == "LD1"
        assert record[f"F{number}", "diameter_in"][0] == 0.5
        assert record.get((f"F{number}", "condition"), (None,))[0] == ("loose" if number == 3 else None)
    assert record["G1", "height_in"] == (33, "measured")
    assert record["G4", "height_in"] == (36.5, "measured")
    assert record["FT2", "post"][0] == "P2"
    kinds = sorted(visit.parts.values_list("kind", flat=True))
    assert kinds == sorted(
        ["level", "ledger", "joist_field", "beam", "stair"] + ["post"] * 2 + ["footing"] * 2 + ["guard"] * 4
        + ["fastener"] * 11
    )  # fmt: skip
    assert visit.parts.get(key="G4").name == "landing"
    finding = visit.findings.get()
    assert (finding.title, finding.place, finding.how_soon) == (
        "Guard too low",
        "front, left of the stair",
        "two_weeks",
    )
    assert finding.photos.get().original.read() == photo
    assert Photo.objects.get(finding=None).original.read() == more
    assert Photo.objects.get(finding=None).link == "edge"
    assert set(SyncOperation.objects.values_list("outcome", flat=True)) == {"applied"}
    assert page.thrown == []


def test_a_photo_is_described_on_its_own_page_without_signal(new_profile, inspector, visit):
    photo = take_in_photo(visit, upload(jpeg_bytes(seed=5)), by=inspector)
    assert make_photo_renditions(photo.rendition_job.pk)
    own = reverse("photo-edit", args=[photo.pk])
    tablet = new_profile()
    page = tablet.open()
    tablet.sign_in(inspector)
    take_along(page)
    wait_until(lambda: page.evaluate(f"caches.match('{own}marks/').then(Boolean)"), 20, "its pages on the tablet")
    tablet.cut()
    page.goto(own)
    expect(page.locator("html[data-kept]")).to_be_attached()
    assert page.locator(".photo-large img").evaluate("(one) => one.decode().then(() => one.naturalWidth)") > 0
    expect(page.get_by_role("button", name="Take this photo out")).to_be_hidden()
    page.get_by_label("What it shows").fill("The hanger at the third joist")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".story")).to_contain_text("Waits on this tablet")
    assert in_outbox(page) == ["describe_photo"]
    tablet.mend()
    wait_until(lambda: in_outbox(page) == [], 30, "an empty outbox")
    photo.refresh_from_db()
    assert photo.caption == "The hanger at the third joist"
    assert page.thrown == []
