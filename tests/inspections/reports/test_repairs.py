"""Repairs that the engine worked out, in the frozen record, at the desk, on the client's page and in the PDF."""

import io
import re

import pytest
from django.urls import reverse
from pypdf import PdfReader

from firm.properties.models import Property
from inspections.findings.remedies import positions, proof
from inspections.findings.services import propose_from_check
from inspections.reports.digest import Digest
from inspections.reports.drawing import issue_of
from inspections.reports.giving import make_link
from inspections.reports.pdf import draw_pdf
from inspections.reports.services import issue_report
from inspections.reports.snapshot import freeze
from inspections.survey.deck import assess_visit
from inspections.survey.models import Reading
from inspections.visits.models import Visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(visit):
    """Joists that are a little too long, of which standard repairs make enough."""
    Property.objects.filter(pk=visit.property_id).update(frost_depth_in=30)
    span(visit, 150)
    return Visit.objects.get(pk=visit.pk)


def span(visit, span_in):
    Reading.objects.filter(part__visit=visit, fact="span_in").update(value=span_in)


def a_remedy(**fields):
    return {"needs": [], "is_proved": True, "ratio_after": 0.7, **fields}


def bending_options(visit):
    (found,) = [g for g in Digest(freeze(visit)).repair_groups if g.finding and g.finding.check_id == "joist.bending"]
    return found


def test_a_fault_with_several_repairs_gets_them_as_options_beside_its_finding(visit):
    group = bending_options(visit)
    assert group.is_a_choice and group.finding.title == "Joists span too far"
    assert all(option.lines for option in group.options)


def test_what_is_offered_was_put_in_and_asked_again(visit):
    group = bending_options(visit)
    for option in group.options:
        assert re.search(r"re-checked at \d+ %", option.proof)
        assert option.data["ratio_before"] > 1 >= option.data["ratio_after"]


def test_what_was_released_keeps_its_repairs_when_the_record_changes(visit, manager):
    report = issue_report(visit, by=manager)
    assert report.snapshot["remedies"]
    span(visit, 72)
    assert freeze(Visit.objects.get(pk=visit.pk))["remedies"] == []
    report.refresh_from_db()
    assert Digest(report.snapshot).repair_groups


def test_a_record_from_before_repairs_were_worked_out_is_still_read(visit):
    snapshot = freeze(visit)
    del snapshot["remedies"]
    assert Digest(snapshot).repair_groups == ()


@pytest.mark.parametrize(
    ("remedy", "words"),
    [
        (a_remedy(), "Computed; re-checked at 70 %."),
        (a_remedy(ratio_after=0.0), "Computed; re-checked: holds."),
        (a_remedy(ratio_after=0.004), "Computed; re-checked: holds."),
        (a_remedy(ratio_after=None), "no longer asked"),
        (a_remedy(ratio_after=1.15), "still gives 115 %"),
        (a_remedy(is_proved=False), "Not proved"),
        (a_remedy(needs=["record the span"]), "Cannot be drawn up yet: record the span."),
    ],
)
def test_the_proof_says_no_more_than_the_engine_did(remedy, words):
    assert words in proof(remedy)


def test_a_finding_proposed_from_a_failing_check_brings_the_repair_to_edit(visit):
    check = next(check for check in assess_visit(visit).checks if check.id == "joist.bending")
    remedy = propose_from_check(visit, check).remedy
    assert "Option 1: " in remedy and "re-checked at" in remedy


def test_a_check_that_holds_brings_no_repair(visit):
    check = next(check for check in assess_visit(visit).checks if str(check.verdict) == "holds")
    assert "Computed" not in propose_from_check(visit, check).remedy


def test_desk_and_client_read_the_options_beside_the_finding(visit, manager, signed_in, client):
    group = bending_options(visit)
    desk = signed_in(manager).get(reverse("review-detail", args=[visit.pk])).content.decode()
    issue_report(visit, by=manager)
    _, token = make_link(visit, recipient="a", by=manager)
    page = client.get(reverse("client-report", args=[token])).content.decode()
    for text in (desk, page):
        article = text[text.index('id="finding-1"') : text.index('id="finding-2"')]
        assert f"{len(group.options)} ways to repair it. One of them is enough." in article
        assert group.options[0].title in article and "re-checked at" in article


def test_the_schedule_of_the_pdf_lists_item_number_and_proof(visit, manager):
    report = issue_report(visit, by=manager)
    reader = PdfReader(io.BytesIO(draw_pdf(report.snapshot, issue_of(report)).pdf))
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))
    option = next(g for g in Digest(report.snapshot).repair_groups if g.finding).options[0]
    assert "Repairs worked out by calculation" in text
    assert option.title in text and option.lines[0].what[1:] in text and option.proof in text


def test_positions_that_the_pattern_names_are_not_said_twice():
    line = {"pattern": "3 1/2 in upper, 24 1/16 in lower", "positions_in": [3.5, 24.0625]}
    assert positions(line) == ""
    assert "2' 1/16\"" in positions({**line, "pattern": "staggered", "along": ""})
    assert positions({"pattern": "", "positions_in": []}) == ""
