"""Every page of the staff, found from the addresses: nothing that axe finds fault with, and no mouse needed."""

import re
from itertools import product

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client as Visitor
from django.urls import reverse
from playwright.sync_api import expect

from firm.clients.models import Client
from firm.rules.models import RuleSet
from inspections.findings.models import Defect, Finding
from inspections.findings.services import record_finding
from inspections.photos.models import Photo
from inspections.photos.services import take_in_photo
from inspections.photos.tasks import make_photo_renditions
from inspections.survey.fasteners import add_fasteners
from inspections.survey.models import Part, Reading
from inspections.survey.services import add_part
from tests.inspections.photos.files import jpeg_bytes, upload
from tests.make import make_visit
from tests.test_url_matrix import ROWS, patterns

WCAG_22_AA = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
STAFF = {"office", "inspector", "manager", "administrator"}
# Whatever else is added is found by itself; these must never be missing.
KNOWN = {
    "change-password", "people", "person-add", "person-edit", "client-list", "client-new", "client-detail",
    "client-edit", "property-new", "property-edit", "rule-sets", "rule-set-new", "firm-edit", "home", "visit-list",
    "visit-book", "visit-detail", "visit-move", "calendar", "walk", "walk-link", "part-remove", "finding-list",
    "finding-new", "finding-edit", "defect-list", "defect-new", "defect-edit", "photo-add", "photo-edit", "photo-marks",
    "review-list", "trends", "sync-problems", "off-line", "hours",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture
def everybody(make_person):
    return make_person("office", "inspector", "manager", "administrator")


@pytest.fixture
def visit(everybody, open_page):
    """A record with something over its limit, something open, a finding and a photo. Made after the media folder."""
    visit = make_visit(everybody, state="under_way")
    facts = {"stands": "on a ledger", "width_in": "14'", "depth_in": "12'", "height_in": "42"}
    add_part(visit, "level", by=everybody, readings=facts)
    ledger = add_part(visit, "ledger", by=everybody, readings={"length_in": "14'", "size": "2x10"})
    add_fasteners(ledger, [4, 36, 68, 100], by=everybody, facts={"fastener": "lag screw", "diameter_in": "1/2"})
    add_part(visit, "guard", by=everybody, name="front", readings={"is_present": "yes", "height_in": "33"})
    defect = Defect.objects.get(slug="guard-too-low")
    finding = Finding(visit=visit, link="edge", defect=defect, action="put_right", how_soon="two_weeks")
    record_finding(finding, by=everybody)
    photo = take_in_photo(visit, upload(jpeg_bytes()), by=everybody, finding=finding)
    make_photo_renditions(photo.rendition_job.pk)
    RuleSet.objects.create(region="Maine", county="Lincoln", holds_from=visit.starts_at.date())
    return visit


def addresses(visit, person):
    """Name -> an address that answers with a page."""
    visitor = Visitor()
    visitor.force_login(person)
    rows = {
        "int": [
            visit.pk,
            visit.client_id,
            visit.property_id,
            person.pk,
            *_keys(RuleSet),
            *_keys(Defect),
            *_keys(Client),
        ],
        "uuid": [*_keys(visit.findings), *_keys(Photo), *_keys(Part.objects.filter(kind="guard"))],
        "slug": ["ledger"],
    }
    found = {}
    for pattern, converters in patterns():
        if not STAFF & set(ROWS[pattern.name].get):
            continue
        kinds = [type(one).__name__.removesuffix("Converter").lower() for one in converters.values()]
        for given in product(*(rows.get(kind, []) for kind in kinds)):
            address = reverse(pattern.name, kwargs=dict(zip(converters, given, strict=True)))
            answer = visitor.get(address)
            if answer.status_code == 200 and b"<!doctype html" in answer.getvalue()[:500].lower():
                found[pattern.name] = address
                break
    return found


def _keys(rows):
    rows = rows.objects if hasattr(rows, "objects") else rows
    return list(rows.order_by("-pk").values_list("pk", flat=True)[:2])


def test_axe_finds_fault_with_no_page_of_the_staff(desktop, everybody, visit):
    page = desktop(everybody)
    pages = addresses(visit, everybody)
    assert KNOWN - pages.keys() == set()
    faults = []
    for name, address in pages.items():
        page.goto(address, wait_until="domcontentloaded")
        options = {"runOnly": {"type": "tag", "values": WCAG_22_AA}, "resultTypes": ["violations"]}
        for violation in Axe().run(page, options=options).response["violations"]:
            places = [str(node["target"]) for node in violation["nodes"][:2]]
            faults.append(f"{name}: {violation['id']}: {violation['help']} at {', '.join(places)}")
    assert faults == []


def tab_to(page, target, most=200):
    """Press Tab until the focus is there, and see that it shows."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if target.evaluate("one => one === document.activeElement"):
            looks = target.evaluate("one => [getComputedStyle(one).outlineStyle, getComputedStyle(one).boxShadow]")
            assert looks != ["none", "none"], "the focus is not seen"
            return
    raise AssertionError(f"not reached by {most} presses of Tab")


def test_a_ledger_is_recorded_with_the_keyboard_alone(desktop, everybody, visit):
    page = desktop(everybody)
    page.goto(reverse("walk-link", args=[visit.pk, "ledger"]))
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # skip to the content
    tab_to(page, page.locator("#in-fact-LD1-length_in"))
    page.keyboard.press("Control+A")
    page.keyboard.type("13' 6")
    page.keyboard.press("Tab")
    expect(page.locator("#fact-LD1-length_in .story")).to_contain_text("Saved")
    assert Reading.objects.get(part__key="LD1", fact="length_in").value == 162
    tab_to(page, page.locator("[data-strip]").get_by_role("link", name=re.compile("F2")))
    page.keyboard.press("Enter")
    chosen = page.locator("#fact-F2-condition")
    chosen.wait_for()
    tab_to(page, chosen.get_by_role("radio", checked=True))
    page.keyboard.press("ArrowRight")
    expect(chosen.locator(".story")).to_contain_text("Saved")
    assert Reading.objects.get(part__key="F2", fact="condition").value
    tab_to(page, page.get_by_role("link", name="On to beams"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/walk/beam/")


def test_the_strip_the_plan_and_the_section_have_names_that_say_what_they_show(desktop, everybody, visit):
    page = desktop(everybody)
    page.goto(reverse("walk-link", args=[visit.pk, "ledger"]))
    strip = page.locator("[data-strip] svg")
    assert "LD1" in strip.get_attribute("aria-label")
    names = page.locator("[data-strip] a").evaluate_all("all => all.map(one => one.getAttribute('aria-label'))")
    assert len(names) == 4 and all(re.search(r"F\d.*(lag screw|in)", name) for name in names), names
    page.goto(reverse("walk", args=[visit.pk]))
    drawings = page.locator(".drawing svg").evaluate_all("all => all.map(one => one.getAttribute('aria-label'))")
    assert drawings and all(len(name) > 8 for name in drawings), drawings
