"""The PDF as a file: what a screen reader, a machine and a printer find in it (ISO 14289-1, PDF/UA-1)."""

import hashlib
import io
import json
import re
from itertools import pairwise

import pikepdf
import pytest

from engine import Deck
from inspections.reports.pdf import DECK_FILE, RECORD_FILE, style_of
from inspections.reports.snapshot import FORMAT, sha256_of

pytestmark = pytest.mark.django_db  # the database is there for the report that is drawn once


# Everything that is handed out: the whole report, both extracts, and a version that takes the place of another.
HANDED_OUT = ("full", "schedule", "engineer", "version 2")


@pytest.fixture(scope="module", params=HANDED_OUT)
def document(request, issued):
    if request.param == "full":
        pdf = issued.drawn.pdf
    elif request.param == "version 2":
        change = {"what": "Measure", "where": "joist field J1, span", "before": "13' 6\"", "after": "8'"}
        pdf = issued.draw(version=2, supersedes="1-1", what_changed="Read wrong.", changes=(change,))
    else:
        pdf = issued.draw(request.param)
    return pikepdf.open(io.BytesIO(pdf))


@pytest.fixture(scope="module")
def tags(document):
    """Every element of the tag tree in reading order, as (type, element)."""

    def walk(element):
        kids = element.get("/K", [])
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                yield str(kid["/S"]), kid
                yield from walk(kid)

    return list(walk(document.Root.StructTreeRoot))


def is_schedule(document):
    """The contractor's pages: no contents, so no links, and nothing attached."""
    return "Repair schedule" in str(document.docinfo.Title)


def attached(pdf):
    opened = pikepdf.open(io.BytesIO(pdf))
    return {name: bytes(spec.get_file().read_bytes()) for name, spec in opened.attachments.items()}


def test_the_record_goes_with_the_report_and_its_hash_is_the_one_that_is_printed(issued):
    (content,) = [text for name, text in attached(issued.drawn.pdf).items() if name == RECORD_FILE]
    record = json.loads(content)
    assert record == issued.snapshot and record["format"] == FORMAT
    assert hashlib.sha256(content).hexdigest() == sha256_of(issued.snapshot) == issued.issue.record_sha256


def test_the_name_of_the_record_says_its_format():
    assert f"{FORMAT.replace(' ', '-')}.json" == RECORD_FILE


def test_what_is_attached_is_called_the_data_of_the_document(document):
    assert ("/AF" in document.Root) is not is_schedule(document)
    if is_schedule(document):
        assert len(document.attachments) == 0
        return
    (spec,) = document.Root.AF
    assert spec.AFRelationship == "/Data" and spec.EF.F.Subtype == "/application/json"


def test_an_engineer_gets_the_deck_as_the_engine_reads_it_and_a_contractor_gets_nothing(issued):
    files = attached(issued.draw("engineer"))
    assert list(files) == [DECK_FILE]
    assert json.loads(files[DECK_FILE]) == issued.snapshot["deck"]
    Deck.from_json(files[DECK_FILE].decode())
    assert attached(issued.draw("schedule")) == {}


def test_it_says_that_it_is_accessible_shows_its_title_and_names_its_language(document):
    assert document.Root.MarkInfo.Marked and document.Root.ViewerPreferences.DisplayDocTitle
    assert str(document.Root.Lang) == "en"
    with document.open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        assert "41 Kestrel Rise" in metadata["dc:title"]


def test_headings_begin_at_one_and_leave_no_level_out(tags):
    levels = [int(kind[2]) for kind, _ in tags if re.fullmatch("/H[1-6]", kind)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_figure_has_words_and_a_place(tags):
    figures = [element for kind, element in tags if kind == "/Figure"]
    assert figures
    assert all(str(figure.get("/Alt", "")).strip() for figure in figures)
    assert all(len(figure.A.BBox) == 4 for figure in figures)


def test_the_photo_and_the_drawing_say_what_they_show(tags, document):
    said = " ".join(str(element.Alt) for kind, element in tags if kind == "/Figure")
    assert "Underside, the long bay" in said and "Plan of" in said
    assert ("Sketch of the load path" in said) is not is_schedule(document)


def test_it_opens_no_address_and_runs_nothing(document):
    """No link that leads out, no script, no form to send, nothing that is fetched or started on opening."""
    for each in document.objects:
        if isinstance(each, pikepdf.Dictionary | pikepdf.Stream):
            assert each.get("/S") not in (
                "/URI",
                "/JavaScript",
                "/Launch",
                "/GoToR",
                "/GoToE",
                "/SubmitForm",
                "/ImportData",
            )
            assert "/URI" not in each and "/JS" not in each and "/XFA" not in each
            assert each.get("/FS") != "/URL"
    assert "/OpenAction" not in document.Root and "/AA" not in document.Root and "/AcroForm" not in document.Root


def test_every_link_of_it_leads_to_a_page_that_is_there(document):
    pages = {page.objgen for page in document.pages}
    names = {}
    if "/Names" in document.Root and "/Dests" in document.Root.Names:
        names = dict(pikepdf.NameTree(document.Root.Names.Dests).items())
    seen = 0
    for page in document.pages:
        for annotation in page.get("/Annots", []):
            if annotation.Subtype == "/Link":
                target = annotation.get("/Dest", annotation.get("/A", {}).get("/D"))
                target = names[str(target)] if isinstance(target, pikepdf.String) else target
                assert target[0].objgen in pages
                seen += 1
    assert bool(seen) is not is_schedule(document)


def test_every_table_has_headers_that_its_cells_name(tags):
    names = {str(element.ID) for kind, element in tags if kind == "/TH" and "/ID" in element}
    cells = [element for kind, element in tags if kind == "/TD"]
    assert cells
    for cell in cells:
        headers = [str(name) for name in cell.A.get("/Headers", [])]
        assert headers and set(headers) <= names


def test_every_header_says_whether_it_heads_a_column_or_a_row(tags):
    for kind, element in tags:
        if kind == "/TH":
            in_head = element.P.P.S == "/THead"
            assert element.A.Scope == ("/Column" if in_head else "/Row")


def test_a_list_holds_items_alone(tags):
    for kind, element in tags:
        if kind == "/L":
            assert {str(kid["/S"]) for kid in element.K if isinstance(kid, pikepdf.Dictionary)} <= {
                "/LI",
                "/L",
                "/Caption",
            }


def test_every_link_is_in_the_tag_tree_and_every_page_knows_its_reading_order(document, tags):
    links = sum(annotation.Subtype == "/Link" for page in document.pages for annotation in page.get("/Annots", []))
    in_tree = sum(kind == "/Link" for kind, _ in tags)
    assert links <= in_tree and bool(links) is not is_schedule(document)
    assert all("/StructParents" in page for page in document.pages)


def test_every_letter_is_in_a_font_that_goes_with_the_file(document):
    fonts = [
        each
        for each in document.objects
        if isinstance(each, pikepdf.Dictionary) and each.get("/Type") == "/FontDescriptor"
    ]
    assert fonts and all("/FontFile3" in font or "/FontFile2" in font for font in fonts)


def test_a_colour_too_pale_to_read_gives_way_to_ink(issued):
    pale = {**issued.snapshot["firm"], "ink_colour": "#f4e9a0", "accent_colour": "#8a4b2a"}
    assert "--firm-ink: #16242c; --firm-accent: #8a4b2a;" in style_of(pale)


def test_a_draft_says_on_every_page_that_it_is_not_released(issued):
    from pypdf import PdfReader

    pages = PdfReader(io.BytesIO(issued.draw(is_draft=True))).pages
    assert all("Draft - not released" in page.extract_text() for page in pages)
    assert not any("Draft" in page.extract_text() for page in PdfReader(io.BytesIO(issued.drawn.pdf)).pages)
    assert attached(issued.draw(is_draft=True)) == {}


def test_an_address_that_is_given_is_printed_as_a_code_and_none_that_is_not(issued):
    address = "https://deck.example/report/"
    html = issued.html(web_address=address)
    assert "QR code" in html and address in html
    assert "QR code" not in issued.html(web_address="")
