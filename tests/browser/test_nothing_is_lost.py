"""What goes wrong in the field: two tablets, a sign-in that ran out, a wrong clock, a dead line, killed servers."""

import hashlib
import json
import random
import re
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from firm.audit.models import AuditEntry
from firm.bootstrap import find_chromium
from inspections.photos.models import Photo
from inspections.survey.models import Reading
from inspections.survey.services import add_part
from inspections.sync import shell
from inspections.sync.models import SyncOperation
from tests.browser.conftest import ARGUMENTS
from tests.browser.signal_line import SignalLine
from tests.browser.test_offline import in_outbox, new_profile, wait_until_sent  # noqa: F401
from tests.inspections.photos.files import jpeg_bytes
from tests.installation import wait_until
from tests.make import make_visit


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture
def edge(inspector):
    """The page of a visit's guards, with one guard on it."""
    visit = make_visit(inspector, state="under_way")
    add_part(visit, "level", by=inspector)
    add_part(visit, "guard", by=inspector)
    return reverse("walk-link", args=[visit.pk, "edge"])


def open_kept(page, address):
    """Open a page of the walk and wait until its visit is on the tablet."""
    with page.expect_response(lambda answer: "kit=yes" in answer.url):
        page.goto(address)
    page.wait_for_load_state("networkidle")


def tablet_at(address, new_profile, inspector):  # noqa: F811
    """A tablet with a disk, signed in, and its page at that address, with the visit on it."""
    tablet = new_profile()
    page = tablet.open()
    tablet.sign_in(inspector)
    open_kept(page, address)
    return tablet, page


def enter(page, fact, text):
    field = page.locator(f"#in-fact-G1-{fact}")
    field.fill(text)
    field.press("Tab")


def is_kept(page, fact):
    expect(page.locator(f"#fact-G1-{fact} .story")).to_contain_text("Waits on this tablet", timeout=20_000)


def choose(page, *photos):
    files = [
        {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": data} for number, data in enumerate(photos, 1)
    ]
    page.locator('input[type="file"][multiple]').set_input_files(files)


def height_or_none():
    return Reading.objects.filter(part__key="G1", fact="height_in").values_list("value", flat=True).first()


def height():
    return Reading.objects.get(part__key="G1", fact="height_in").value


@pytest.mark.parametrize(("choice", "stands"), [("Use the tablet's: 33", 33), ("Keep what stands: 3'", 36)])
def test_two_tablets_wrote_one_measure_and_the_inspector_sees_both_and_chooses(tablet, inspector, edge, choice, stands):
    under_the_deck, on_the_deck = tablet(inspector), tablet(inspector)
    open_kept(under_the_deck, edge)
    under_the_deck.context.set_offline(True)
    enter(under_the_deck, "height_in", "33")
    is_kept(under_the_deck, "height_in")
    on_the_deck.goto(edge)
    enter(on_the_deck, "height_in", "36")
    expect(on_the_deck.locator("#fact-G1-height_in .story")).to_contain_text("Saved")
    under_the_deck.context.set_offline(False)
    expect(under_the_deck.locator("#tablet-bar")).to_contain_text("1 entry is to be settled")
    assert height() == 36, "nothing is overwritten unseen"
    under_the_deck.goto(edge)
    expect(under_the_deck.locator("#tablet-bar")).to_contain_text("1 entry is to be settled")
    under_the_deck.goto(reverse("sync-problems"))
    under_the_deck.get_by_role("button", name=choice).click()
    expect(under_the_deck.get_by_text("Everything that was sent has been taken over.")).to_be_visible()
    assert height() == stands
    under_the_deck.goto(edge)
    expect(under_the_deck.locator("#fact-G1-height_in")).to_be_visible()
    under_the_deck.wait_for_load_state("networkidle")
    expect(under_the_deck.get_by_text("to be settled")).to_have_count(0)
    under_the_deck.problems.clear()


def test_a_sign_in_that_ran_out_asks_keeps_everything_and_goes_on_even_with_a_clock_a_day_ahead(
    tablet, inspector, edge
):
    page = tablet(inspector)
    page.clock.set_system_time(timezone.now() + timedelta(days=1))
    open_kept(page, edge)
    Session.objects.all().delete()
    enter(page, "height_in", "33 1/2")
    is_kept(page, "height_in")
    choose(page, jpeg_bytes(seed=3))
    expect(page.locator(".photo-waits")).to_have_count(1)
    expect(page.locator("#tablet-bar")).to_contain_text("You are signed out; everything is kept.")
    page.locator("#tablet-bar").get_by_role("link", name="Sign in").click()
    page.get_by_label(re.compile("name", re.I)).first.fill(inspector.username)
    page.locator('input[type="password"]').fill("open sesame 12")
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url("**" + edge)
    wait_until_sent(page)
    assert height() == 33.5
    assert Reading.objects.get(part__key="G1", fact="height_in").at <= timezone.now()
    assert Photo.objects.get().original.read() == jpeg_bytes(seed=3)
    page.problems.clear()


def test_who_is_signed_out_is_asked_in_peace_and_can_tap_the_link(new_profile, inspector, edge):  # noqa: F811
    tablet = new_profile()  # with its service worker, which sends what waits when the browser tells it
    page = tablet.open()
    tablet.sign_in(inspector)
    open_kept(page, edge)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    Session.objects.all().delete()
    asked = []
    page.on("request", lambda one: asked.append(one.url) if one.url.endswith("/sync/") else None)
    enter(page, "height_in", "33")
    link = page.locator("#tablet-bar").get_by_role("link", name="Sign in")
    expect(link).to_be_visible()
    page.evaluate("document.querySelector('#tablet-bar a').dataset.same = 'yes'")
    page.wait_for_timeout(3000)
    assert len(asked) <= 4, "it is tried again, and not all the time"
    expect(link).to_have_attribute("data-same", "yes")  # what is drawn anew under a finger cannot be tapped
    link.click()
    page.wait_for_url("**/sign-in/**")


def test_an_entry_on_a_line_that_went_dead_is_kept_and_not_waited_for(tablet, inspector, edge, live_server):
    server = urlsplit(live_server.url)
    line = SignalLine(server.hostname, server.port)
    page = tablet(base_url=line.url)
    page.goto(f"/sign-in/?next={edge}")
    page.get_by_label(re.compile("name", re.I)).first.fill(inspector.username)
    page.locator('input[type="password"]').fill("open sesame 12")
    with page.expect_response(lambda answer: "kit=yes" in answer.url):
        page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_load_state("networkidle")
    line.stall()
    enter(page, "height_in", "33")
    is_kept(page, "height_in")
    assert in_outbox(page) == ["record_reading"]
    page.close()  # what it goes on asking for would be logged as an error when the line is closed
    page.problems.clear()
    line.close()


@pytest.mark.parametrize("reached_the_server", [True, False])
def test_a_browser_that_is_killed_before_the_answer_loses_no_entry(
    new_profile,  # noqa: F811
    inspector,
    edge,
    reached_the_server,
):
    tablet, page = tablet_at(edge, new_profile, inspector)
    tablet.line.hold_answers() if reached_the_server else tablet.line.stall()
    enter(page, "height_in", "33")
    wait_until(lambda: page.wait_for_timeout(10) or in_outbox(page), 10, "the entry on the tablet's disk")
    expect(page.locator("#tablet-bar")).to_be_hidden()
    if reached_the_server:
        wait_until(lambda: Reading.objects.filter(fact="height_in").exists(), 10, "the entry in the server's record")
    tablet.close()
    tablet.line.cut()
    tablet.line.flow()
    tablet.line.mend()
    page = tablet.open()
    page.goto("/")
    wait_until_sent(page)
    assert height() == 33
    assert SyncOperation.objects.get().outcome == "applied"
    assert AuditEntry.objects.filter(verb="recorded", after__has_key="height_in").count() == 1, "it was written once"


def test_an_entry_that_is_changed_before_its_answer_came_ends_as_it_was_typed_last(tablet, inspector, edge):
    page = tablet(inspector)
    open_kept(page, edge)
    held = []
    page.route("**/readings/**", lambda route: route.continue_() if held else held.append(route))
    enter(page, "height_in", "33")
    wait_until(lambda: page.wait_for_timeout(10) or held, 10, "the first request")
    enter(page, "height_in", "34")
    expect(page.locator("#in-fact-G1-height_in")).to_have_value("34")
    held[0].continue_()
    wait_until(lambda: page.wait_for_timeout(10) or (height_or_none() == 34), 10, "the second entry")
    expect(page.locator("#fact-G1-height_in .story")).to_contain_text("Saved")
    expect(page.locator("#in-fact-G1-height_in")).to_have_value("34")
    assert in_outbox(page) == []


def test_who_goes_on_at_once_finds_the_entry_on_the_next_page(tablet, inspector, edge):
    page = tablet(inspector)
    open_kept(page, edge)
    field = page.locator("#in-fact-G1-height_in")
    field.fill("33")
    page.locator("#chain a").first.click()
    page.wait_for_url("**/walk/surface/")
    page.go_back()
    expect(field).to_have_value("33")
    expect(page.locator("#fact-G1-height_in .story")).not_to_contain_text("Waits")
    assert in_outbox(page) == []


A_BOOKED_VISIT = """
from django.core.management import call_command
from django.utils import timezone
from firm.clients.models import Client
from firm.people.models import User
from firm.properties.models import Property
from inspections.visits.models import Visit
call_command("migrate", verbosity=0)
call_command("collectstatic", interactive=False, verbosity=0)
person = User.objects.create_user("field", password="open sesame 12", is_inspector=True)
client = Client.objects.create(name="Ines Hallam")
house = Property.objects.create(client=client, street="1 Mill Lane", town="Harrow Point", region="Maine")
now = timezone.now()
visit = Visit.objects.create(client=client, property=house, inspector=person, starts_at=now, state="booked")
print("visit", visit.pk)
"""
SET_UP = f"""{A_BOOKED_VISIT}
from inspections.survey.services import add_part
visit.state = "under_way"
visit.save()
add_part(visit, "level", by=person)
add_part(visit, "guard", by=person)
"""
READ_BACK = """
import hashlib, json
from inspections.photos.models import Photo
from inspections.survey.models import Reading
said = {one.fact: one.value for one in Reading.objects.filter(part__key="G1")}
photos = [hashlib.sha256(one.original.read()).hexdigest() for one in Photo.objects.all()]
print("json", json.dumps([said, photos]))
"""


def asked(app, code, word):
    said = app.manage("shell", "-c", code)
    return next(line.split(" ", 1)[1] for line in said.stdout.splitlines() if line.startswith(word + " "))


def serve(app):
    """The web server alone, on the address that it had before."""
    command = [
        sys.executable,
        "-m",
        "gunicorn",
        "firm.wsgi",
        "--bind",
        f"127.0.0.1:{app.port}",
        "--threads",
        "4",
        "--no-control-socket",
    ]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    app.process = subprocess.Popen(command, cwd=app.folder, env=app.environment, **quiet)
    wait_until(app.is_well, 60, "the web server")


def test_server_and_browser_are_killed_while_photos_are_sent_and_all_of_it_arrives(chromium, install, tmp_path):
    photos = [jpeg_bytes(seed=one) + random.Random(one).randbytes(900_000) for one in range(4)]
    app = install(LOG_LEVEL="ERROR")
    edge = f"/visits/{asked(app, SET_UP, 'visit')}/walk/edge/"
    serve(app)

    def browser():
        context = chromium.browser_type.launch_persistent_context(
            str(tmp_path / "tablet"), executable_path=find_chromium(), args=ARGUMENTS,
            base_url=f"http://127.0.0.1:{app.port}", viewport={"width": 820, "height": 1180}, has_touch=True,
        )  # fmt: skip
        return context, context.pages[0]

    context, page = browser()
    page.goto(f"/sign-in/?next={edge}")
    page.get_by_label(re.compile("name", re.I)).first.fill("field")
    page.locator('input[type="password"]').fill("open sesame 12")
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url("**" + edge)
    page.goto("/")
    expect(page.locator("[data-take-status]")).to_contain_text("can be written without signal", timeout=60_000)
    page.goto(edge)
    enter(page, "height_in", "33")
    expect(page.locator("#fact-G1-height_in .story")).to_contain_text("Saved")
    half_way = []
    page.on("request", lambda asked: half_way.append(1) if "from=" in asked.url and "from=0" not in asked.url else None)
    choose(page, *photos[:3])
    wait_until(lambda: page.wait_for_timeout(10) or half_way, 60, "a photo half-way")
    app.clear_away()
    enter(page, "bolts", "2")
    is_kept(page, "bolts")
    waits = in_outbox(page).count("add_photo")
    choose(page, photos[3])
    # A tile of its own says that it is on the disk; those of the photos before are there already.
    wait_until(lambda: in_outbox(page).count("add_photo") == waits + 1, 20, "the fourth photo on the tablet's disk")
    context.close()

    context, page = browser()
    page.goto(edge)
    expect(page.locator("#in-fact-G1-bolts")).to_have_value("2")
    assert in_outbox(page).count("add_photo") == waits + 1
    serve(app)
    wait_until_sent(page, within_s=60)
    context.close()
    said, kept = json.loads(asked(app, READ_BACK, "json"))
    assert said["height_in"] == 33
    assert said["bolts"] == 2
    assert sorted(kept) == sorted(hashlib.sha256(one).hexdigest() for one in photos)


SHELLS = "caches.keys().then(names => names.filter(one => one.startsWith('shell-')))"
UPDATE = """async () => {
  const there = await navigator.serviceWorker.getRegistration();
  await there.update().catch(() => null);
  const coming = there.installing ?? there.waiting;
  if (coming) await new Promise(done => {
    const look = () => ["activated", "redundant"].includes(coming.state) && done();
    coming.addEventListener("statechange", look);
    look();
  });
}"""


def test_a_new_version_that_arrives_in_part_leaves_the_old_one_at_work_and_what_waits_waits_on(
    new_profile,  # noqa: F811
    inspector,
    edge,
    monkeypatch,
):
    tablet, page = tablet_at(edge, new_profile, inspector)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    shells = page.evaluate(SHELLS)
    tablet.cut()
    page.goto(edge)
    expect(page.locator("#tablet-bar")).to_contain_text("No signal")
    enter(page, "height_in", "35 1/2")
    is_kept(page, "height_in")
    page.route("**/sync/", lambda route: route.abort())
    tablet.mend()

    plain = shell.static_plain
    monkeypatch.setattr(shell, "_FOLDERS", shell._FOLDERS[::-1])  # another order is another version
    monkeypatch.setattr(shell, "static_plain", lambda name: plain(name).replace("/static/js/page.js", NOWHERE))
    page.evaluate(UPDATE)
    assert page.evaluate(SHELLS)[:1] == shells, "the old shell is there, whatever else is"
    tablet.cut()
    page.goto(edge)
    expect(page.locator("#tablet-bar")).to_contain_text("1 entry")
    enter(page, "post_spacing_in", "6'")
    is_kept(page, "post_spacing_in")

    tablet.mend()
    monkeypatch.setattr(shell, "static_plain", plain)
    page.evaluate(UPDATE)
    assert page.evaluate(SHELLS) != shells
    assert len(page.evaluate(SHELLS)) == 1
    tablet.cut()
    page.goto(edge)
    expect(page.locator("#tablet-bar")).to_contain_text("2 entries")
    page.unroute_all()
    tablet.mend()
    wait_until_sent(page)
    guard = Reading.objects.filter(part__key="G1")
    assert {one.fact: one.value for one in guard if one.fact != "level"} == {"height_in": 35.5, "post_spacing_in": 72}
    assert page.thrown == []


NOWHERE = "http://localhost:9/lost.js"  # a file on whose way the signal is lost


def test_a_page_taken_along_before_an_update_finds_its_scripts_without_signal(new_profile, inspector, edge):  # noqa: F811
    tablet, page = tablet_at(edge, new_profile, inspector)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.reload()  # now the worker answers for the page
    tablet.cut()
    asked = "fetch('/static/js/page.0123456789ab.js').then(answer => answer.text())"
    assert page.evaluate(asked) == (Path(settings.BASE_DIR) / "static/js/page.js").read_text(encoding="utf-8")


def test_two_tabs_of_one_visit_on_one_tablet_keep_what_is_entered_in_both(new_profile, inspector, edge):  # noqa: F811
    tablet = new_profile()
    one = tablet.open()
    tablet.sign_in(inspector)
    open_kept(one, edge)
    other = tablet.context.new_page()
    tablet.cut()
    for page in (one, other):
        page.goto(edge)
        expect(page.locator("#tablet-bar")).to_contain_text("No signal")
    enter(one, "height_in", "35")
    is_kept(one, "height_in")
    enter(other, "height_in", "36 1/4")
    is_kept(other, "height_in")
    enter(one, "post_spacing_in", "6'")
    is_kept(one, "post_spacing_in")
    for page in (one, other):
        page.get_by_role("button", name="Add a guard").click()
        expect(page.locator("main section.part").nth(1)).to_be_visible()
    tablet.mend()
    wait_until(lambda: in_outbox(one) == [], 30, "an empty outbox")
    visit = Reading.objects.first().part.visit
    kept = {reading.fact: reading.value for reading in Reading.objects.filter(part__key="G1")}
    assert {"height_in": 36.25, "post_spacing_in": 72}.items() <= kept.items()
    assert sorted(part.key for part in visit.parts.filter(kind="guard")) == ["G1", "G2", "G3"]
    assert set(SyncOperation.objects.values_list("outcome", flat=True)) == {"applied"}
    assert SyncOperation.objects.count() == 5


# A disk that takes long over every picture, as one does over hundreds of them.
SLOW_PICTURES = """const begin = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (names, ...more) {
  const made = begin.call(this, names, ...more), listen = made.addEventListener.bind(made);
  if (String(names) !== "files") return made;
  made.addEventListener = (name, does) => listen(name, (event) => setTimeout(does, 20000, event));
  return made;
};"""


def test_hundreds_of_photos_that_wait_keep_nobody_from_the_next_entry(new_profile, inspector, edge):  # noqa: F811
    tablet, page = tablet_at(edge, new_profile, inspector)
    tablet.cut()
    page.goto(edge)
    expect(page.locator("#tablet-bar")).to_contain_text("No signal")
    enter(page, "height_in", "35")
    is_kept(page, "height_in")
    photo = {"name": "rail.jpg", "mimeType": "image/jpeg", "buffer": jpeg_bytes()}
    page.locator('input[type="file"][multiple]').set_input_files(photo)
    expect(page.locator("li.photo-waits")).to_have_count(1)
    page.add_init_script(SLOW_PICTURES)
    page.goto(edge)
    expect(page.locator("#in-fact-G1-height_in")).to_have_value("35", timeout=15_000)
    assert page.locator("li.photo-waits").count() == 0
    expect(page.locator("li.photo-waits")).to_have_count(1)
