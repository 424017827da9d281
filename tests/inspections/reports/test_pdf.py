"""The PDF: what a reader finds in it, what a screen reader finds in it, and what it may never fetch."""

import hashlib
import io
import os
import re
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.files.storage import default_storage
from pypdf import PdfReader

from firm.branding.models import Firm
from inspections.reports.drawing import issue_of
from inspections.reports.media import FrozenFileDamaged
from inspections.reports.pdf import draw_pdf, page_html
from inspections.reports.services import issue_report
from tests.inspections.reports.records import add_finding

pytestmark = pytest.mark.django_db
EVIL = '<img src="http://169.254.169.254/latest/"><style>@import url(file:///etc/passwd)</style>'


@pytest.fixture
def report(visit, manager):
    return issue_report(visit, by=manager)


@pytest.fixture(scope="module")
def drawn(issued):
    return issued.drawn


@pytest.fixture(scope="module")
def reader(drawn):
    return PdfReader(io.BytesIO(drawn.pdf))


def plain(text):
    return re.sub(r"\s+", " ", text)


def test_page_one_gives_the_answer_the_first_actions_and_who_where_when(reader):
    page = plain(reader.pages[0].extract_text())
    assert "Keep off the deck: nobody should use it" in page
    assert "Joists span too far" in page and "Leaves between the boards" in page
    assert "41 Kestrel Rise" in page and "Ines Hallam" in page and "Tomas Reyl" in page


def test_every_page_says_which_it_is_of_how_many(reader, drawn):
    assert len(reader.pages) == drawn.page_count
    for number, page in enumerate(reader.pages, 1):
        assert f"Page {number} of {drawn.page_count}" in plain(page.extract_text())


def test_the_contents_name_the_page_on_which_each_chapter_begins(reader):
    contents = plain(reader.pages[1].extract_text())
    for chapter in ("Repair schedule, to hand out", "Every check, step by step"):
        named = int(re.search(rf"{chapter}[ .]*(\d+)", contents)[1])
        heading = chapter.split(",")[0]
        assert heading in plain(reader.pages[named - 1].extract_text())


def test_the_bookmarks_lead_to_the_chapters(reader):
    titles = [item.title for item in reader.outline if not isinstance(item, list)]
    assert "Repair schedule" in titles and "Limits of this report, and signatures" in titles


def test_a_finding_shows_the_numbers_of_its_check(reader, issued):
    check = next(c for c in issued.snapshot["assessment"]["checks"] if c["id"] == "joist.bending")
    text = plain("".join(page.extract_text() for page in reader.pages))
    assert f"Must carry {check['demand']:,.0f} psi, can carry {check['capacity']:,.0f} psi" in text


def test_the_cautions_and_the_two_places_to_sign_are_there(reader):
    text = plain("".join(page.extract_text() for page in reader.pages))
    assert "does not replace a licensed design professional" in text
    assert "Review by a licensed engineer" in text


def test_it_is_tagged_titled_and_in_english(reader):
    root = reader.trailer["/Root"]
    assert bool(root["/MarkInfo"]["/Marked"]) and root["/Lang"].lower().startswith("en")
    assert root["/StructTreeRoot"]["/K"]
    assert "41 Kestrel Rise" in reader.metadata.title
    assert "pdfuaid" in root["/Metadata"].get_data().decode()


def test_every_picture_has_words_for_those_who_cannot_see_it(issued):
    html = page_html(issued.snapshot, issued.issue)
    assert re.findall(r"<img(?![^>]*\balt=\"[^\"]+\")[^>]*>", html) == []
    assert html.count("<svg") == len(re.findall(r"<svg[^>]*>\s*<title>", html))


def test_a_list_of_terms_holds_terms_alone(issued):
    # A wrapper between the list and its terms breaks the tag tree (PDF/UA: a list holds list items).
    html = page_html(issued.snapshot, issued.issue)
    assert re.findall(r"<(?:dl|ul|ol)[^>]*>\s*<(?!dt|li|/)[a-z]+", html) == []


def test_the_repair_schedule_names_house_firm_and_report_by_itself(reader, issued):
    (page,) = [p for p in map(plain, (p.extract_text() for p in reader.pages)) if "Done, date" in p]
    assert "41 Kestrel Rise" in page and issued.issue.number in page and "Your firm" in page
    assert "Add a beam at mid-span." in page and "At once" in page and "Contractor" in page


@pytest.mark.parametrize(("paper", "wide_pt"), [("letter", 612), ("A4", 595)])
def test_it_is_on_the_firms_paper(visit, manager, paper, wide_pt):
    firm = Firm.current()
    firm.paper = paper
    firm.save()
    report = issue_report(visit, by=manager)
    page = PdfReader(io.BytesIO(draw_pdf(report.snapshot, issue_of(report)).pdf)).pages[0]
    assert round(float(page.mediabox.width)) == wide_pt


def test_a_photo_is_embedded_byte_for_byte(reader, issued):
    embedded = {
        bytes(image.get_object()._data)
        for page in reader.pages
        for image in page["/Resources"].get("/XObject", {}).values()
        if image.get_object().get("/Filter") in ("/DCTDecode", ["/DCTDecode"])
    }
    assert issued.photo in embedded


def test_the_same_record_gives_the_same_bytes(report):
    first, second = (draw_pdf(report.snapshot, issue_of(report)).pdf for _ in range(2))
    assert hashlib.sha256(first).digest() == hashlib.sha256(second).digest()


def test_markup_in_a_finding_is_printed_as_text_and_opens_nothing(visit, manager):
    add_finding(visit, "Odd text", "look_after", seen=EVIL)
    report = issue_report(visit, by=manager)
    text = "".join(
        page.extract_text() for page in PdfReader(io.BytesIO(draw_pdf(report.snapshot, issue_of(report)).pdf)).pages
    )
    assert "169.254.169.254" in text


@pytest.mark.parametrize(
    "url",
    [
        "http://127.0.0.1/",
        "https://example.com/a.png",
        "file:///etc/passwd",
        "ftp://host/x",
        "data:image/png;base64,AAAA",
        "soundings:media/" + "0" * 64,
        "soundings:fonts/../../../manage.py",
        "soundings:media/../secret-key",
    ],
)
def test_the_document_may_fetch_nothing_but_its_own_files(report, url):
    from inspections.reports.fetcher import FrozenFiles, NotOfThisReport

    with pytest.raises(NotOfThisReport):
        FrozenFiles(report.snapshot).fetch(url)


def test_a_document_that_asks_for_an_address_is_not_drawn_at_all(report, monkeypatch):
    from inspections.reports.fetcher import NotOfThisReport

    monkeypatch.setattr("inspections.reports.pdf.page_html", lambda *_: '<img src="http://127.0.0.1:9/x.png" alt="x">')
    with pytest.raises(NotOfThisReport):
        draw_pdf(report.snapshot, issue_of(report))


def test_a_photo_that_was_tampered_with_stops_the_drawing(report):
    path = report.snapshot["photos"][0]["files"]["printable"]["path"]
    with default_storage.open(path, "r+b") as file:
        file.write(b"tampered")
    with pytest.raises(FrozenFileDamaged):
        draw_pdf(report.snapshot, issue_of(report))


def test_drawing_does_not_teach_pillow_to_take_truncated_photos():
    # In a process of its own: WeasyPrint does it at its first import only.
    script = (
        "from PIL import ImageFile; import inspections.reports.typesetting; "
        "raise SystemExit(int(ImageFile.LOAD_TRUNCATED_IMAGES))"
    )
    assert subprocess.run([sys.executable, "-c", script], cwd=settings.BASE_DIR, check=False).returncode == 0


def test_the_web_server_never_imports_weasyprint():
    script = (
        "import django, sys; django.setup(); from django.urls import get_resolver; get_resolver().url_patterns; "
        "raise SystemExit('weasyprint' in sys.modules)"
    )
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "firm.settings", "SOUNDINGS_DATA": str(settings.MEDIA_ROOT)}
    found = subprocess.run([sys.executable, "-c", script], cwd=settings.BASE_DIR, env=environment, check=False)
    assert found.returncode == 0
