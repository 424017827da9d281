"""Names that would write into the file around them: into the PDF's own data, into its pages, into what is fetched."""

import copy
import io
import re

import pikepdf
import pytest

pytestmark = pytest.mark.django_db

EVIL = "Deck) /Author (Mallory) >> endobj\r\n99 0 obj << /JS (app.alert) >>\\( & Sons\u202e"
MARKUP = "</title><script>alert(1)</script><img src='https://elsewhere.example/x.png'><h1>Safe</h1>"


@pytest.fixture(scope="module")
def drawn(issued):
    """The contractor's extract of a firm and a house with such names."""
    snapshot = copy.deepcopy(issued.snapshot)
    snapshot["firm"]["name"] = EVIL
    assert "one_line" in snapshot["property"]
    snapshot["property"]["one_line"] = MARKUP
    return pikepdf.open(io.BytesIO(issued.draw("schedule", snapshot)))


def test_a_name_stays_one_text_of_the_files_data(drawn):
    known = {"/Title", "/Author", "/Subject", "/Producer", "/Creator", "/CreationDate", "/ModDate", "/Keywords"}
    assert set(drawn.docinfo.keys()) <= known
    assert " ".join(str(drawn.docinfo["/Author"]).split()) == " ".join(EVIL.split())
    with drawn.open_metadata() as told:
        assert "Mallory" not in str(told.get("pdf:Producer", ""))
        assert " ".join("".join(told["dc:creator"]).split()) == " ".join(EVIL.split())


def test_nothing_in_the_file_is_run_or_leads_elsewhere(drawn):
    assert "/OpenAction" not in drawn.Root and "/AA" not in drawn.Root
    for number in drawn.objects:
        if isinstance(number, pikepdf.Dictionary):
            assert "/JS" not in number and "/Launch" not in str(number.get("/S", ""))
            assert "elsewhere.example" not in str(number.get("/URI", ""))


def test_markup_in_a_name_is_printed_as_it_was_typed(drawn):
    assert str(drawn.docinfo["/Title"]).count("<script>") >= 1
    heads = [str(one.get("/S")) for one in drawn.objects if isinstance(one, pikepdf.Dictionary) and "/S" in one]
    assert heads.count("/H1") == 1


@pytest.mark.parametrize(
    "name", ["\x00", "Deck\x00 Co", "\x0b\x1b[2J", "\ud7ff\ufffe\uffff", "(((((", "\\", "x" * 5000]
)
def test_whatever_stands_in_a_name_a_file_comes_out_that_opens(name, issued):
    snapshot = copy.deepcopy(issued.snapshot)
    snapshot["firm"]["name"] = name
    opened = pikepdf.open(io.BytesIO(issued.draw("schedule", snapshot)))
    assert opened.check_pdf_syntax() == [] and len(opened.pages)
    xmp = bytes(opened.Root.Metadata.read_bytes())
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f]", xmp), "no XML holds these"
    with opened.open_metadata(strict=True) as told:
        assert told is not None
