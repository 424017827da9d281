"""What a contractor or an engineer is handed: enough for the work, and nothing that is the owner's own affair."""

import io
import re

import pytest
from pypdf import PdfReader

from inspections.reports.pdf import draw_extract
from inspections.reports.services import issue_report

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(visit, manager):
    return issue_report(visit, by=manager)


def words_of(pdf):
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def test_a_contractor_gets_the_repairs_their_photos_and_no_calculations(report, visit):
    pdf = draw_extract(report, "schedule")
    words = words_of(pdf)
    assert "Add a beam at mid-span." in words and visit.property.street in words
    assert "Underside, the long bay" in words and "The deck from above" in words
    assert "Every check, step by step" not in words and "Fb" not in words


def test_the_contractors_pages_warn_of_a_deck_that_nobody_may_use_and_carry_the_limits(report):
    words = words_of(draw_extract(report, "schedule"))
    assert "Keep off the deck: nobody should use it" in words
    assert "does not replace a licensed design professional" in words


def test_an_engineer_gets_every_calculation_and_a_place_to_sign(report):
    words = words_of(draw_extract(report, "engineer"))
    assert "Every check, step by step" in words and "What was recorded" in words
    assert "Review by a licensed engineer" in words


@pytest.mark.parametrize("kind", ["schedule", "engineer"])
def test_an_extract_names_neither_the_client_nor_how_to_reach_them(report, visit, kind):
    pdf = draw_extract(report, kind)
    for private in (visit.client.name, visit.client.email):
        assert private not in words_of(pdf)
    assert visit.client.name in words_of(draw_extract(report, "full"))


def test_a_kind_that_does_not_exist_is_refused(report):
    with pytest.raises(ValueError, match="full, schedule, engineer"):
        draw_extract(report, "prices")
