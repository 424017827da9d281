"""The whole job in a real browser, against the application started as its user starts it: from the call to the report.

Office books, inspector records, manager releases, the worker draws the PDF and mails the link, the client opens it on
a phone without an account, and the manager finds the defect counted.
"""

import email
import io
import os
import re
import urllib.request
import uuid
from datetime import date, timedelta
from email import policy

import pypdf
import pytest
from playwright.sync_api import expect

from inspections.demo.scenes import draw
from tests.browser.conftest import SIZES
from tests.browser.looks import faults_of
from tests.inspections.visits.round_the_clock import everybody_works_round_the_clock  # noqa: F401
from tests.installation import Installation, copy_checkout, wait_until

PASSWORD = "a long demo password"


@pytest.fixture
def firm(tmp_path):
    """The demo firm, running; on PostgreSQL and Redis where the suite runs on them."""
    folder = (tmp_path / "copy").resolve()
    copy_checkout(folder)
    with services() as real:
        app = Installation(folder, DEMO_PASSWORD=PASSWORD, **real)
        try:
            app.start("--demo")
            yield app
            assert app.stop() < 20
            assert app.processes() == {}
        finally:
            app.clear_away()


class services:
    """The environment of a database and a broker of this test's own; nothing where the suite has none."""

    def __enter__(self):
        self.admin = None
        where = os.environ.get("DATABASE_URL")
        if not where:
            return {}
        import psycopg
        import redis

        server = where.rpartition("/")[0]
        self.name = f"soundings_{uuid.uuid4().hex[:12]}"
        self.admin = psycopg.connect(f"{server}/postgres".replace("postgres://", "postgresql://"), autocommit=True)
        self.admin.execute(f'CREATE DATABASE "{self.name}"')
        broker = os.environ["CELERY_BROKER_URL"].rpartition("/")[0] + "/10"
        redis.Redis.from_url(broker).flushdb()
        return {"DATABASE_URL": f"{server}/{self.name}", "CELERY_BROKER_URL": broker}

    def __exit__(self, *_):
        if self.admin:
            self.admin.execute(f'DROP DATABASE "{self.name}" WITH (FORCE)')
            self.admin.close()


@pytest.fixture
def sit_down(chromium, firm):
    """`sit_down("tablet", "inspector")`: a page of a context of its own, signed in by the form."""
    contexts, problems = [], []

    def start(size, name=None):
        width, height = SIZES[size]
        context = chromium.new_context(
            viewport={"width": width, "height": height},
            has_touch=size != "desktop",
            base_url=f"http://127.0.0.1:{firm.port}",
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.on("pageerror", lambda error: problems.append(str(error)))
        if name:
            page.goto("/")
            page.fill("[name=username]", name)
            page.fill("[name=password]", PASSWORD)
            page.get_by_role("button", name="Sign in", exact=True).click()
            expect(page.get_by_role("button", name="Sign out")).to_be_visible()
        return page

    yield start
    for context in contexts:
        context.close()
    assert problems == []


def letters_with_a_link(firm, address):
    folder = firm.folder / ".data" / "mail"
    mails = [email.message_from_bytes(path.read_bytes(), policy=policy.default) for path in folder.glob("*.eml")]
    letters = [mail.get_body(("plain",)).get_content() for mail in mails if address in mail["To"]]
    return [letter for letter in letters if "/r/" in letter]


def in_a_week():
    """A Wednesday at least a week from now: nobody of the firm works on Sundays."""
    day = date.today() + timedelta(days=8)
    return (day + timedelta(days=(2 - day.weekday()) % 7)).isoformat()


def book(page, *, at="11:00"):
    page.goto("/visits/book/")
    page.fill("#id_q", "Rosalind Thackeray")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("button", name=re.compile("Add a new client")).last.click()
    page.fill("#id_client-phone", "555-0177")
    page.fill("#id_client-email", "rosalind@mail.example")
    page.fill("#id_property-street", "9 Ferry Landing")
    page.fill("#id_property-town", "Quillan Harbor")
    page.fill("#id_property-region", "Tarrant Shore")
    page.select_option("#id_inspector", label="Tomas Reyl")
    page.fill("#id_day", in_a_week())
    page.fill("#id_time", at)
    page.get_by_role("button", name="Book the visit").click()
    page.wait_for_url(re.compile(r"/visits/\d+/$"))
    visit = re.search(r"/visits/(\d+)/", page.url)[1]
    page.get_by_role("link", name="Edit").first.click()
    page.fill("#id_frost_depth_in", "18")
    page.fill("#id_rules_source", "Sele County building office, by telephone")
    page.get_by_role("button", name=re.compile("^Save")).first.click()
    page.goto(f"/visits/{visit}/")
    expect(page.locator("main")).to_contain_text("18 in")
    return visit


def enter(page, fact, typed):
    """Type a fact and wait until it is kept."""
    field = page.locator(f"#in-fact-{fact}")
    if not field.is_visible():
        page.locator("details:not([open]) > summary", has_text="Unless it is as usual").first.click()
    field.fill(typed)
    field.blur()
    expect(page.locator(f"#fact-{fact}")).to_contain_text("Saved")


def choose(page, fact, word):
    page.locator(f"#in-fact-{fact}").select_option(word)
    expect(page.locator(f"#fact-{fact}")).to_contain_text("Saved")


def press(page, fact, word):
    page.locator(f"#fact-{fact} .fact-entry .pick label").get_by_text(word, exact=True).click()
    expect(page.locator(f"#fact-{fact}")).to_contain_text("Saved")


def record(page, visit):
    """A ledger with too few lag screws under eleven-foot joists, and a guard that is too low."""
    page.goto(f"/visits/{visit}/walk/")
    page.get_by_label("Width along the house").fill("14'")
    page.get_by_label("Depth from the house").fill("3.6 m")
    page.get_by_label("Height above the ground").fill("4' 2 1/2\"")
    page.get_by_role("button", name="Put these parts into the record").click()
    page.goto(f"/visits/{visit}/walk/joists/")
    press(page, "J1-size", "2x10")
    choose(page, "J1-species", "southern pine")
    press(page, "J1-is_incised", "no")
    enter(page, "J1-spacing_in", "16")
    page.locator("#in-fact-J1-span_in").fill("12-")
    page.locator("#in-fact-J1-span_in").blur()
    expect(page.locator("#fact-J1-span_in .errorlist")).to_be_visible()
    assert page.input_value("#in-fact-J1-span_in") == "12-"
    enter(page, "J1-span_in", "11' 0\"")
    expect(page.locator("main")).to_contain_text("IRC 2021 Table R507.6")
    page.goto(f"/visits/{visit}/walk/ledger/")
    enter(page, "LD1-length_in", "14'")
    press(page, "LD1-size", "2x10")
    choose(page, "LD1-house_band", "2x lumber")
    enter(page, "LD1-sheathing_in", "1/2")
    page.locator("#fact-LD1-sheathing_in select").select_option("assumed")
    pattern = page.locator("form.pattern")
    pattern.locator("[name=first]").fill("4")
    pattern.locator("[name=every]").fill("32")
    pattern.locator("[name=fastener]").select_option("lag screw")
    pattern.locator("[name=diameter_in]").fill("1/2")
    pattern.get_by_role("button", name="Add").click()
    expect(page.locator(".fasteners table tbody tr")).to_have_count(6)
    verdicts = page.locator("main")
    expect(verdicts).to_contain_text("Widest gap between working fasteners")
    expect(verdicts).to_contain_text("Not good enough")
    expect(verdicts).to_contain_text("The rules of the local building authority govern")


def find(page, visit):
    """The gap as a finding with its numbers filled in, and a photo of it."""
    page.goto(f"/visits/{visit}/walk/ledger/")
    spacing = page.locator(".check", has_text="Widest gap between working fasteners").first
    spacing.get_by_role("link", name=re.compile("finding", re.I)).first.click()
    page.wait_for_url("**/findings/new/**")
    assert "2' 8\"" in page.locator("[name=seen]").input_value()
    page.locator("label", has_text="A repair is needed, in a stated time.").click()
    page.locator("label", has_text="Within two weeks").click()
    page.locator("[name=remedy]").fill("Add lag screws halfway between each pair, staggered.")
    page.get_by_role("button", name=re.compile("^(Save|Keep|Record)")).first.click()
    page.wait_for_url(lambda address: "/findings/new/" not in address)
    expect(page.locator("main")).to_contain_text("Fasteners of the ledger too far apart")
    page.goto(f"/visits/{visit}/photos/add/?link=ledger+and+house")
    good = {"name": "ledger.jpg", "mimeType": "image/jpeg", "buffer": draw("ledger_lags", "seven steps")}
    bad = {"name": "notes.jpg", "mimeType": "image/jpeg", "buffer": b"this is not a picture"}
    page.locator("input[type=file]:not([capture])").first.set_input_files([good, bad])
    send = page.get_by_role("button", name=re.compile("Add these photos|Send"))
    if send.count() and send.first.is_visible():
        send.first.click()
    expect(page.locator("li.photo-refusal")).to_contain_text("notes.jpg")  # refused, by name
    expect(page.locator("li.photo[id^=photo-]")).to_have_count(1)  # the good one is kept
    page.goto(f"/visits/{visit}/walk/ledger/")
    expect(page.locator(".photos img").first).to_be_visible(timeout=60_000)  # the worker has prepared it


def test_one_deck_goes_from_a_call_to_a_report_in_the_clients_hands(firm, sit_down):
    assert f"http://127.0.0.1:{firm.port}/r/" in firm.said()

    office = sit_down("desktop", "office")
    visit = book(office)
    office.goto("/visits/book/?client=" + re.search(r"/clients/(\d+)/", office.content())[1])
    office.locator("input[name=property]").first.check(force=True)
    office.select_option("#id_inspector", label="Tomas Reyl")
    office.fill("#id_day", in_a_week())
    office.fill("#id_time", "11:30")
    office.get_by_role("button", name="Book the visit").click()
    expect(office.locator(".errorlist").first).to_contain_text("9 Ferry Landing")  # busy, and with what

    inspector = sit_down("tablet", "inspector")
    record(inspector, visit)
    find(inspector, visit)
    inspector.goto(f"/visits/{visit}/hand-in/")
    inspector.locator("[name=summary]").fill("Usable by the household; the ledger wants more lag screws.")
    inspector.get_by_role("button", name=re.compile("Hand in")).click()
    expect(inspector.locator(".state").first).to_contain_text("Handed in")

    manager = sit_down("desktop", "manager")
    manager.goto("/review/")
    manager.get_by_role("link", name=re.compile("9 Ferry Landing")).first.click()
    manager.wait_for_url(re.compile(r"/visits/\d+/review/"))
    assert faults_of(manager) == []
    # The worker first draws the reports of the demo; the desk says so and refuses until the photo's turn has come.
    wait_until(lambda: manager.reload() and "being prepared for print" not in manager.content(), 240, "the photo")
    manager.get_by_role("button", name="Release the report").click()
    manager.wait_for_url(re.compile(r"/reports/\d+/"))
    take = manager.get_by_role("link", name=re.compile("PDF"))
    expect(take.first).to_be_visible(timeout=180_000)  # without a reload

    letters = wait_until(lambda: letters_with_a_link(firm, "rosalind@mail.example"), 60, "the mail with the link")
    assert len(letters) == 1
    link = re.search(r"https?://\S+?(/r/[\w-]+/)", letters[0])[1]

    client = sit_down("phone")
    client.goto(link)
    expect(client.locator("body")).to_contain_text("9 Ferry Landing")
    expect(client.locator("body")).to_contain_text("Add lag screws halfway between each pair")
    assert faults_of(client) == []
    with urllib.request.urlopen(f"http://127.0.0.1:{firm.port}{link}report.pdf", timeout=20) as answer:
        pdf = pypdf.PdfReader(io.BytesIO(answer.read()))
    assert "9 Ferry Landing" in pdf.pages[0].extract_text()
    assert "Fathom & Post" in pdf.pages[0].extract_text()

    manager.goto("/trends/")
    row = manager.locator("tr", has_text="Fasteners of the ledger too far apart")
    row.get_by_role("link").first.click()
    expect(manager.locator("main")).to_contain_text("9 Ferry Landing")

    manager.goto(f"/visits/{visit}/")
    manager.get_by_role("button", name="Close this link for Rosalind Thackeray").click()
    manager.wait_for_load_state()
    assert client.goto(link).status == 404
    token = link.split("/")[2]
    stored = firm.manage("shell", "--no-imports", "-c", FIND_TOKEN.format(token=token)).stdout
    assert stored.split() == ["0"]


FIND_TOKEN = """
from django.apps import apps
from django.db.models import CharField, TextField, Q
found = 0
for model in apps.get_models():
    for field in model._meta.concrete_fields:
        if isinstance(field, (CharField, TextField)):
            found += model.objects.filter(**{{field.name + "__contains": "{token}"}}).count()
print(found)
"""
