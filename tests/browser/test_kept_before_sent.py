"""What is typed with signal is on the tablet's disk before it is sent, too; what is half written, a moment later."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.survey.services import add_part, record_reading
from inspections.sync.models import SyncOperation
from tests.browser.looks import faults_of
from tests.browser.test_offline import enter, in_outbox, link, new_profile  # noqa: F401
from tests.inspections.photos.files import jpeg_bytes
from tests.installation import wait_until
from tests.make import make_visit


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture
def visit(inspector):
    visit = make_visit(inspector, state="under_way")
    add_part(visit, "level", by=inspector)
    ledger = add_part(visit, "ledger", by=inspector)
    record_reading(ledger, "length_in", "14'", by=inspector)
    add_part(visit, "guard", by=inspector)
    return visit


@pytest.fixture
def field(new_profile, inspector):  # noqa: F811
    """`field(address)`: a tablet with a disk, and its page at that address, with the visit on it."""

    def start(address):
        tablet = new_profile()
        page = tablet.open()
        tablet.sign_in(inspector)
        with page.expect_response(lambda answer: "kit=yes" in answer.url):
            page.goto(f"/visits/{address.split('/')[2]}/walk/")
        page.wait_for_load_state("networkidle")
        page.goto(address)
        page.wait_for_load_state("networkidle")
        return tablet, page

    return start


def killed_and_opened_again(tablet, address="/"):
    tablet.close()
    tablet.line.cut()
    tablet.line.flow()
    tablet.line.mend()
    page = tablet.open()
    page.goto(address)
    return page


def without_signal(tablet, page, address):
    """The page at that address, drawn by the tablet: the bar is shown once it is."""
    tablet.cut()
    page.goto(address)
    expect(page.locator("#tablet-bar")).to_contain_text("No signal")


def on_the_disk(page, kind):
    wait_until(
        lambda: page.wait_for_timeout(10) or kind in (in_outbox(page) or []), 10, "the entry on the tablet's disk"
    )


def wait_until_sent(page):
    wait_until(lambda: page.wait_for_timeout(50) or in_outbox(page) == [], 30, "an empty outbox")


def type_a_row(page):
    board = page.locator("#fasteners-LD1")
    for label, text in (("First at", "4"), ("then every", "16"), ("up to", "36"), ("Diameter", "1/2")):
        board.get_by_label(label).fill(text)
    board.get_by_role("button", name="Add", exact=True).click()


@pytest.mark.parametrize("reached_the_server", [True, False])
def test_a_row_of_fasteners_survives_a_browser_killed_before_the_answer(field, visit, reached_the_server):
    tablet, page = field(link(visit, "ledger"))
    tablet.line.hold_answers() if reached_the_server else tablet.line.stall()
    type_a_row(page)
    on_the_disk(page, "add_fasteners")
    if reached_the_server:
        wait_until(lambda: visit.parts.filter(kind="fastener").exists(), 10, "the row in the server's record")
    page = killed_and_opened_again(tablet)
    wait_until_sent(page)
    fasteners = visit.parts.filter(kind="fastener")
    assert sorted(one.readings.get(fact="position_in").value for one in fasteners) == [4, 20, 36]
    assert {one.readings.get(fact="diameter_in").value for one in fasteners} == {0.5}
    assert SyncOperation.objects.get().outcome == "applied"


def test_a_row_that_gets_no_answer_is_drawn_by_the_tablet_and_stands_once_in_the_end(field, visit):
    tablet, page = field(link(visit, "ledger"))
    tablet.line.hold_answers()
    type_a_row(page)
    expect(page.locator("#fastener-table-LD1 tbody tr")).to_have_count(3, timeout=20_000)
    tablet.line.cut()
    tablet.line.flow()
    tablet.line.mend()
    wait_until_sent(page)
    assert visit.parts.filter(kind="fastener").count() == 3


def test_a_row_that_the_server_refuses_says_why_and_does_not_wait(field, visit):
    _, page = field(link(visit, "ledger"))
    board = page.locator("#fasteners-LD1")
    board.get_by_label("First at").fill("4")
    board.get_by_label("Diameter").fill("14")
    board.get_by_role("button", name="Add", exact=True).click()
    expect(board.get_by_role("alert")).to_contain_text("diameter")
    wait_until(lambda: in_outbox(page) == [], 10, "nothing waits")
    assert not visit.parts.filter(kind="fastener").exists()


@pytest.mark.parametrize("line", ["answers late", "dies"])
def test_who_goes_back_to_what_stood_there_before_the_answer_came_is_heard(field, visit, line):
    tablet, page = field(link(visit, "ledger"))
    entry = page.locator("#in-fact-LD1-length_in")
    tablet.line.hold_answers()
    for text in ("16'", "14'"):
        entry.fill(text)
        entry.press("Tab")
        on_the_disk(page, "record_reading")
    wait_until(lambda: in_outbox(page) == ["record_reading"] * 2, 10, "both entries on the tablet's disk")
    if line == "dies":
        page = killed_and_opened_again(tablet)
    else:
        tablet.line.flow()
    wait_until_sent(page)
    assert visit.parts.get(key="LD1").readings.get(fact="length_in").value == 168
    if line != "dies":
        expect(page.locator("#in-fact-LD1-length_in")).to_have_value("14'")
        expect(page.locator("#fact-LD1-length_in .story")).to_contain_text("14'")


def test_what_is_being_typed_when_the_answer_comes_stays(field, visit):
    tablet, page = field(link(visit, "ledger"))
    entry = page.locator("#fact-LD1-length_in")
    entry.locator(".unsure > summary").click()
    tablet.line.hold_answers()
    entry.locator("#in-fact-LD1-length_in").fill("16'")
    entry.locator("#or-fact-LD1-length_in").focus()
    on_the_disk(page, "record_reading")
    page.keyboard.type("17' 3")
    tablet.line.flow()
    wait_until_sent(page)
    page.keyboard.type(" 1/2")
    page.keyboard.press("Tab")
    wait_until(lambda: page.wait_for_timeout(50) or "or" in told(visit), 15, "both lengths at the server")
    assert told(visit) == "16' or 17' 3 1/2"


def told(visit):
    return visit.parts.get(key="LD1").readings.get(fact="length_in").typed


def test_a_part_is_called_what_was_typed_although_the_browser_was_killed(field, visit):
    tablet, page = field(link(visit, "edge"))
    tablet.line.stall()
    page.locator("#name-G1").fill("front, low")
    page.locator("#part-G1").get_by_role("button", name="Save this sheet").click()
    on_the_disk(page, "name_part")
    page = killed_and_opened_again(tablet)
    wait_until_sent(page)
    assert visit.parts.get(key="G1").name == "front, low"


def write_a_finding(page):
    page.get_by_label("In one line").fill("Rail moves under a hand")
    page.get_by_label("What was seen or measured").fill("Two of four bolts are loose\nat the left post")
    page.get_by_role("radio", name="Find out").check()


@pytest.mark.parametrize("reached_the_server", [True, False])
def test_a_finding_survives_a_browser_killed_before_the_answer(field, visit, reached_the_server):
    tablet, page = field(reverse("finding-new", args=[visit.pk], query={"link": "edge"}))
    write_a_finding(page)
    dead = tablet.line.hold_answers if reached_the_server else tablet.line.stall
    page.route("**/sync/", lambda route: dead() or route.continue_())  # from the first word of the entry on
    page.get_by_role("button", name="Record finding").click()
    on_the_disk(page, "record_finding")
    if reached_the_server:
        wait_until(lambda: page.wait_for_timeout(10) or visit.findings.exists(), 10, "the finding at the server")
    page = killed_and_opened_again(tablet)
    wait_until_sent(page)
    finding = visit.findings.get()
    assert finding.title == "Rail moves under a hand"
    assert finding.seen.splitlines() == ["Two of four bolts are loose", "at the left post"]


def test_a_finding_sent_with_signal_is_on_the_page_of_the_server_that_follows(field, visit):
    _, page = field(link(visit, "edge"))
    page.get_by_role("link", name="Record a finding").click()
    page.wait_for_load_state("networkidle")
    write_a_finding(page)
    page.get_by_role("button", name="Record finding").click()
    page.wait_for_url("**/walk/edge/")
    expect(page.locator("html:not([data-kept])").get_by_role("heading", name="Rail moves under a hand")).to_be_visible()
    assert in_outbox(page) == []
    assert visit.findings.get().link == "edge"


def test_a_finding_half_written_stands_in_its_form_again_after_the_browser_was_killed(field, visit):
    address = reverse("finding-new", args=[visit.pk], query={"link": "edge"})
    tablet, page = field(address)
    write_a_finding(page)
    page.get_by_label("Where exactly").fill("front, left of the stair")
    on_the_draft(page, "front, left")
    page = killed_and_opened_again(tablet, address)
    expect(page.get_by_label("In one line")).to_have_value("Rail moves under a hand")
    expect(page.get_by_label("Where exactly")).to_have_value("front, left of the stair")
    expect(page.get_by_label("What was seen or measured")).to_have_value(re.compile("at the left post"))
    expect(page.get_by_role("radio", name="Find out")).to_be_checked()
    expect(page.locator("#finding-form")).to_contain_text("it is not recorded yet")
    assert faults_of(page) == []
    assert not visit.findings.exists()
    page.get_by_role("button", name="Record finding").click()
    page.wait_for_url("**/findings/")
    assert visit.findings.get().place == "front, left of the stair"
    page.goto(address)
    page.wait_for_load_state("networkidle")
    expect(page.get_by_label("In one line")).to_have_value("")


def test_the_photos_chosen_for_a_half_written_finding_are_chosen_again_after_the_browser_was_killed(field, visit):
    address = reverse("finding-new", args=[visit.pk], query={"link": "edge"})
    tablet, page = field(address)
    write_a_finding(page)
    page.get_by_label("Photos of it").set_input_files(
        [{"name": f"rail-{n}.jpg", "mimeType": "image/jpeg", "buffer": jpeg_bytes(640, 480 + n)} for n in (1, 2)]
    )
    on_the_draft(page, "at the left post")
    page = killed_and_opened_again(tablet, address)
    expect(page.locator("#finding-form")).to_contain_text("it is not recorded yet")
    chosen = page.get_by_label("Photos of it").evaluate("field => [...field.files].map((one) => one.name)")
    assert chosen == ["rail-1.jpg", "rail-2.jpg"]
    expect(page.locator(".chosen-photos img")).to_have_count(2)
    page.get_by_role("button", name="Record finding").click()
    page.wait_for_url("**/findings/")
    wait_until(lambda: visit.photos.count() == 2, 30, "both photos at the server")
    assert {photo.finding for photo in visit.photos.all()} == {visit.findings.get()}
    page.goto(address)
    page.wait_for_load_state("networkidle")
    assert page.get_by_label("Photos of it").evaluate("field => field.files.length") == 0


def test_what_is_being_typed_stays_when_the_tablet_draws_the_page_anew(field, visit):
    tablet, page = field(link(visit, "ledger"))
    without_signal(tablet, page, link(visit, "ledger"))
    length = page.locator("#in-fact-LD1-length_in")
    expect(length).to_have_value("14'")
    length.fill("")
    length.press_sequentially("15' 2")
    page.evaluate("import('/static/js/offline/catch.js').then((module) => module.prepareVisit())")
    expect(length).to_have_value("15' 2")
    expect(length).to_be_focused()
    length.press_sequentially('"')
    length.press("Tab")
    on_the_disk(page, "record_reading")
    tablet.mend()
    wait_until(lambda: record_of_length(visit) == "15' 2\"", 30, "the length at the server")


def record_of_length(visit):
    return visit.parts.get(kind="ledger").readings.get(fact="length_in").typed


def test_who_begins_a_finding_anew_has_an_empty_form(field, visit):
    address = reverse("finding-new", args=[visit.pk], query={"link": "edge"})
    _, page = field(address)
    page.get_by_label("In one line").fill("Not this one")
    on_the_draft(page, "Not this one")
    page.reload()
    page.get_by_role("button", name="Begin anew").click()
    expect(page.get_by_role("button", name="Begin anew")).to_have_count(0)
    expect(page.get_by_label("In one line")).to_have_value("")


DRAFTS = """() => new Promise((done) => {
  const asked = indexedDB.open("soundings");
  asked.onsuccess = () => {
    const rows = asked.result.transaction("files").objectStore("files").getAll();
    rows.onsuccess = () => { asked.result.close(); done(JSON.stringify(rows.result.map((one) => one.given ?? null))); };
  };
})"""


def on_the_draft(page, text):
    wait_until(lambda: page.wait_for_timeout(50) or text in (drafts(page) or ""), 10, "the draft on the disk")


def drafts(page):
    return page.evaluate(DRAFTS)


def test_the_deck_that_was_begun_with_signal_is_on_the_tablet_when_the_signal_goes_at_once(field, inspector):
    visit = make_visit(inspector, state="under_way")
    tablet, page = field(reverse("walk", args=[visit.pk]))
    page.get_by_label("Width along the house").fill("14'")
    page.get_by_role("button", name="Put these parts into the record").click()
    expect(page.locator('form[action$="/walk/start/"]')).to_have_count(0)
    without_signal(tablet, page, link(visit, "surface"))
    expect(page.locator("#in-fact-L1-width_in")).to_have_value("14'")
    page.goto(link(visit, "posts"))
    enter(page, "P1", "height_in", "40")
    tablet.mend()
    wait_until_sent(page)
    assert visit.parts.get(key="P1").readings.get(fact="height_in").value == 40
    assert visit.parts.filter(kind="level").count() == 1


def test_a_fact_saved_with_signal_is_on_the_tablet_when_the_signal_goes_at_once(field, visit):
    tablet, page = field(link(visit, "edge"))
    page.route("**/sync/visits/**", lambda route: route.abort())  # the record is not asked for anew in time
    page.locator("#in-fact-G1-height_in").fill("33")
    page.locator("#in-fact-G1-height_in").press("Tab")
    expect(page.locator("#fact-G1-height_in .story")).to_contain_text("Saved")
    wait_until(lambda: page.wait_for_timeout(10) or in_outbox(page) == [], 10, "the answer is noted")
    without_signal(tablet, page, link(visit, "edge"))
    expect(page.locator("#in-fact-G1-height_in")).to_have_value("33")
    enter(page, "G1", "height_in", "34")
    page.unroute_all()
    tablet.mend()
    wait_until_sent(page)
    assert visit.parts.get(key="G1").readings.get(fact="height_in").value == 34
    assert not SyncOperation.objects.exclude(outcome="applied").exists(), "one's own entry is no conflict"


def test_a_photo_of_a_part_taken_without_signal_belongs_to_the_part(field, visit):
    tablet, page = field(link(visit, "edge"))
    without_signal(tablet, page, link(visit, "edge"))
    page.locator("#part-G1").get_by_role("link", name="Add photos of G1").click()
    page.wait_for_url("**/photos/add/**")
    expect(page.get_by_role("heading", name="Add photos of guard G1")).to_be_visible()
    photo = {"name": "rail.jpg", "mimeType": "image/jpeg", "buffer": jpeg_bytes(seed=4)}
    page.locator('input[type="file"][multiple]').set_input_files(photo)
    expect(page.locator(".photo-waits")).to_have_count(1)
    assert faults_of(page) == []
    page.get_by_role("link", name="Back", exact=True).click()
    page.wait_for_url("**/walk/edge/")
    tablet.mend()
    wait_until_sent(page)
    kept = visit.photos.get()
    assert (kept.part.key, kept.link) == ("G1", "edge")


def test_a_row_counted_from_a_fraction_of_an_inch_stands_there_without_signal_too(field, visit):
    tablet, page = field(link(visit, "ledger"))
    without_signal(tablet, page, link(visit, "ledger"))
    board = page.locator("#fasteners-LD1")
    board.get_by_label("First at").fill("11/16")
    board.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator("#fastener-table-LD1 tbody tr")).to_have_count(1)
    tablet.mend()
    wait_until_sent(page)
    assert visit.parts.get(key="F1").readings.get(fact="position_in").value == 0.6875


def test_what_was_not_reachable_and_then_measured_can_be_put_right_without_signal(field, visit):
    tablet, page = field(link(visit, "edge"))
    without_signal(tablet, page, link(visit, "edge"))
    fact = page.locator("#fact-G1-height_in")
    fact.locator("select.how").select_option("not_reachable")
    enter(page, "G1", "height_in", "33")
    expect(fact.locator("select.how")).to_have_value("measured")
    enter(page, "G1", "height_in", "34")
    tablet.mend()
    wait_until_sent(page)
    reading = visit.parts.get(key="G1").readings.get(fact="height_in")
    assert (reading.value, reading.how) == (34, "measured")


def test_what_is_measured_in_the_moment_after_it_was_called_not_reachable_is_kept_without_signal(field, visit):
    tablet, page = field(link(visit, "edge"))
    without_signal(tablet, page, link(visit, "edge"))
    page.locator("#fact-G1-height_in").evaluate(
        """(fact) => {
            const changed = () => new Event("change", { bubbles: true });
            const change = (one, value) => { one.value = value; one.dispatchEvent(changed()); };
            change(fact.querySelector("select.how"), "not_reachable");
            change(fact.querySelector("#in-fact-G1-height_in"), "33");
        }"""
    )
    expect(page.locator("#fact-G1-height_in select.how")).to_have_value("measured")
    tablet.mend()
    wait_until_sent(page)
    reading = visit.parts.get(key="G1").readings.get(fact="height_in")
    assert (reading.value, reading.how) == (33, "measured")


def test_how_it_was_got_chosen_while_the_measure_goes_to_the_disk_is_kept_without_signal(field, visit):
    tablet, page = field(link(visit, "edge"))
    without_signal(tablet, page, link(visit, "edge"))
    page.locator("#fact-G1-height_in").evaluate(
        """(fact) => {
            const changed = () => new Event("change", { bubbles: true });
            const change = (one, value) => { one.value = value; one.dispatchEvent(changed()); };
            const typed = fact.querySelector("#in-fact-G1-height_in"), how = fact.querySelector("select.how");
            change(typed, "33");
            const add = IDBObjectStore.prototype.add; // the disk takes it: the finger is on the choice below
            IDBObjectStore.prototype.add = function (...what) {
                IDBObjectStore.prototype.add = add;
                const kept = this.add(...what);
                kept.addEventListener("success", () => change(how, "papers"), { once: true });
                return kept;
            };
        }"""
    )
    expect(page.locator("#fact-G1-height_in select.how")).to_have_value("papers")
    tablet.mend()
    wait_until_sent(page)
    reading = visit.parts.get(key="G1").readings.get(fact="height_in")
    assert (reading.value, reading.how) == (33, "papers")
    assert set(SyncOperation.objects.values_list("outcome", flat=True)) == {"applied"}


def test_who_is_not_sure_says_so_without_signal_and_it_arrives_as_one_of_several(field, visit):
    tablet, page = field(link(visit, "edge"))
    without_signal(tablet, page, link(visit, "edge"))
    held, bolts = page.locator("#fact-G1-attachment"), page.locator("#fact-G1-bolts")
    for fact in (held, bolts):
        fact.get_by_text("Not sure: it could be").click()
    for words in ("lag screws", "nails or screws"):
        held.locator(".could-be").get_by_text(words, exact=True).click()
    enter(page, "G1", "bolts", "2")
    bolts.locator('[name="bolts.or"]').fill("4")
    bolts.locator('[name="bolts.or"]').press("Tab")
    expect(page.locator("#in-fact-G1-bolts")).to_have_value("2 or 4")
    expect(held.locator(".story")).to_contain_text("Waits on this tablet")
    assert faults_of(page) == []
    tablet.close()
    page = tablet.open()
    tablet.context.set_offline(True)
    page.goto(link(visit, "edge"))
    expect(page.locator("#in-fact-G1-bolts")).to_have_value("2 or 4")
    for words in ("lag screws", "nails or screws"):
        expect(page.locator("#fact-G1-attachment .could-be").get_by_label(words, exact=True)).to_be_checked()
    tablet.mend()
    wait_until_sent(page)
    readings = {one.fact: one.value for one in visit.parts.get(key="G1").readings.all()}
    assert readings["bolts"] == {"one_of": [2, 4]}
    assert readings["attachment"] == {"one_of": ["lag screws", "nails or screws"]}


def test_what_was_just_written_with_signal_can_be_cleared_at_once(field, visit):
    _, page = field(link(visit, "edge"))
    fact = page.locator("#fact-G1-drop_in")
    fact.locator("input").first.fill("18 3/4")
    fact.locator("input").first.press("Tab")
    expect(fact.locator(".story")).to_contain_text("Saved")
    fact.locator("input").first.fill("")
    fact.locator("input").first.press("Tab")
    expect(fact.locator(".story")).to_contain_text("Cleared")
    wait_until(lambda: in_outbox(page) == [], 10, "nothing waits")
    assert not visit.parts.get(key="G1").readings.filter(fact="drop_in").exists()


def test_a_part_added_without_signal_is_put_right_before_it_is_sent_and_nothing_is_to_be_settled(field, visit):
    tablet, page = field(link(visit, "edge"))
    without_signal(tablet, page, link(visit, "edge"))
    page.get_by_role("button", name="Add a guard").click()
    page.locator("#fact-G2-level select:not(.how)").select_option("")
    expect(page.locator("#fact-G2-level .story")).to_contain_text("Waits on this tablet")
    tablet.mend()
    wait_until_sent(page)
    assert not visit.parts.get(key="G2").readings.filter(fact="level").exists()
    assert set(SyncOperation.objects.values_list("outcome", flat=True)) == {"applied"}
