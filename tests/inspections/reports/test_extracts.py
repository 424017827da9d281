"""What a contractor or an engineer is handed: enough for the work, and nothing that is the owner's own affair."""

import io
import re

import pytest
from pypdf import PdfReader

from inspections.reports.pdf import draw_extract
from inspections.reports.services import issue_report

pytestmark = pytest.mark.django_db  # the database is there for the report that is drawn once


def words_of(pdf):
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


@pytest.fixture(scope="module")
def for_contractor(issued):
    return words_of(issued.draw("schedule"))


@pytest.fixture(scope="module")
def for_engineer(issued):
    return words_of(issued.draw("engineer"))


def test_a_contractor_gets_the_repairs_their_photos_and_no_calculations(for_contractor):
    assert "Add a beam at mid-span." in for_contractor and "41 Kestrel Rise" in for_contractor
    assert "Underside, the long bay" in for_contractor and "The deck from above" in for_contractor
    assert "Every check, step by step" not in for_contractor and "Fb" not in for_contractor


def test_the_contractors_pages_warn_of_a_deck_that_nobody_may_use_and_carry_the_limits(for_contractor):
    assert "Keep off the deck: nobody should use it" in for_contractor
    assert "does not replace a licensed design professional" in for_contractor


def test_an_engineer_gets_every_calculation_and_a_place_to_sign(for_engineer):
    assert "Every check, step by step" in for_engineer and "What was recorded" in for_engineer
    assert "Review by a licensed engineer" in for_engineer


def test_an_extract_names_neither_the_client_nor_how_to_reach_them(issued, for_contractor, for_engineer):
    whole = words_of(issued.drawn.pdf)
    for private in ("Ines Hallam", "ines@mail.example"):
        assert private not in for_contractor and private not in for_engineer
    assert "Ines Hallam" in whole


def test_an_issued_report_is_drawn_as_an_extract(visit, manager):
    report = issue_report(visit, by=manager)
    assert report.number in words_of(draw_extract(report, "schedule"))
    with pytest.raises(ValueError, match="full, schedule, engineer"):
        draw_extract(report, "prices")
