"""A released record that is corrected: what changed is computed, the new version holds, the old one stays readable."""

import io
import re

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from pypdf import PdfReader

from firm.branding.models import Firm
from inspections.findings.models import Finding
from inspections.photos.models import Photo
from inspections.reports.changes import changes_between, in_few_rows
from inspections.reports.drawing import issue_of
from inspections.reports.giving import make_link
from inspections.reports.models import IssuedIsFinal, Report, ReportBuild
from inspections.reports.pdf import draw_pdf, page_html
from inspections.reports.refusals import ReasonMissing, WrongState
from inspections.reports.services import draw_again, issue_report, reopen, stop_drawing
from inspections.reports.snapshot import freeze
from inspections.survey.models import Reading
from inspections.visits.services import hand_in
from tests.inspections.reports.records import add_finding, draw

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(visit, manager):
    return issue_report(visit, by=manager)


def corrected(visit, inspector, manager, **values):
    """The record reopened, its joists measured anew, handed in and released again."""
    reopen(visit, because="The joists were measured wrong.", by=manager)
    for fact, (value, typed) in values.items():
        Reading.objects.filter(part__visit=visit, fact=fact).update(value=value, typed=typed)
    hand_in(visit, by=inspector)
    return issue_report(visit, by=manager)


def test_a_corrected_measure_is_listed_with_the_verdict_that_turns_on_it(report, visit, inspector, manager):
    second = corrected(visit, inspector, manager, span_in=(96.0, "8'"))
    said = {(change["what"], change["where"]): (change["before"], change["after"]) for change in second.changes}
    assert (second.version, second.supersedes) == (2, report)
    measure = next(values for (what, where), values in said.items() if what == "Measure" and "span" in where)
    assert measure[0].startswith("13' 6\"") and measure[1].startswith("8'")
    bending = said["Verdict", "Joists in bending: joist field J1"]
    assert bending[0].startswith("Falls short") and bending[1].startswith("Holds")
    assert second.what_changed == "The joists were measured wrong."


def test_every_kind_of_change_is_found(visit):
    before = freeze(visit)
    finding = Finding.objects.get(visit=visit, action="keep_off")
    Finding.objects.filter(pk=finding.pk).update(action="limit_use", seen="Looked again.")
    Finding.objects.filter(visit=visit, action="look_after").update(removed_at=visit.handed_in_at)
    add_finding(visit, "Post leans", "put_right", how_soon="two_weeks")
    Photo.objects.filter(visit=visit).update(caption="Another look")
    visit.summary = "Other words."
    visit.property.frost_depth_in = 44
    firm = Firm.current()
    firm.phone = "555 0100"
    firm.save()
    found = {change["what"] for change in changes_between(before, freeze(visit))}
    assert {
        "Finding, action", "Finding, what was seen", "Finding taken back", "Finding added", "Words under a photo",
        "Words for the client", "The firm's details",
    } <= found  # fmt: skip


def test_an_unchanged_record_has_no_changes(visit):
    assert changes_between(freeze(visit), freeze(visit)) == []


def test_a_record_reopened_and_left_as_it_was_makes_no_new_version(report, visit, inspector, manager):
    again = corrected(visit, inspector, manager)
    visit.refresh_from_db()
    assert again == report and visit.state == "released" and Report.objects.count() == 1


def test_reopening_wants_a_reason_and_a_released_record(report, visit, manager):
    with pytest.raises(ReasonMissing):
        reopen(visit, because="  ", by=manager)
    reopen(visit, because="The ledger.", by=manager)
    with pytest.raises(WrongState):
        reopen(visit, because="Twice.", by=manager)


def test_an_old_link_leads_to_the_newest_and_still_offers_the_earlier(client, report, visit, inspector, manager):
    _, token = make_link(visit, recipient="Ines", by=manager)
    page, first = reverse("client-report", args=[token]), reverse("client-report-version", args=[token, 1])
    assert "This report is being corrected" not in client.get(page).content.decode()
    reopen(visit, because="The joists were measured wrong.", by=manager)
    assert "This report is being corrected" in client.get(page).content.decode()
    Reading.objects.filter(part__visit=visit, fact="span_in").update(value=96.0, typed="8'")
    hand_in(visit, by=inspector)
    issue_report(visit, by=manager)
    newest, earlier = client.get(page).content.decode(), client.get(first).content.decode()
    assert "This is version 2." in newest and "The joists were measured wrong." in newest and first in newest
    assert "It no longer holds" in earlier and page in earlier
    assert client.get(reverse("client-report-version", args=[token, 3])).status_code == 404


def test_nothing_issued_is_changed_or_deleted_by_any_way_through_the_application(report):
    for change in (
        lambda: Report.objects.filter(pk=report.pk).update(snapshot={}),
        lambda: Report.objects.filter(pk=report.pk).delete(),
        lambda: report.delete(),
        lambda: Report.objects.bulk_update([report], ["what_changed"]),
    ):
        with pytest.raises(IssuedIsFinal):
            change()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE reports_report SET snapshot = '{}'",
        "UPDATE reports_report SET issued_at = '2020-01-01'",
        "UPDATE reports_report SET what_changed = 'nothing'",
        "DELETE FROM reports_report",
    ],
)
def test_the_database_itself_refuses_to_change_what_was_issued(report, statement):
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


def test_a_drawn_pdf_is_not_exchanged(report):
    draw(report)
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Report.objects.filter(pk=report.pk).update(pdf_sha256="0" * 64)


def test_a_report_is_kept_as_long_as_the_firm_said_on_the_day(visit, manager):
    Firm.current()
    Firm.objects.update(retention_years=7)
    report = issue_report(visit, by=manager)
    assert report.kept_until.year == report.issued_at.year + 7


def test_a_drawing_that_was_stopped_stores_nothing_and_can_be_asked_for_again(report, manager, monkeypatch):
    from inspections.reports import pdf

    whole = pdf.draw_pdf

    def stopped_meanwhile(*args, **kwargs):
        assert stop_drawing(report, by=manager)
        return whole(*args, **kwargs)

    monkeypatch.setattr(pdf, "draw_pdf", stopped_meanwhile)
    draw(report)
    assert not report.pdf and ReportBuild.objects.get().state == "cancelled"
    monkeypatch.undo()
    assert draw_again(report, by=manager) and draw(report).pdf


def test_the_pdf_says_why_on_its_first_page_and_lists_every_change_in_a_chapter(report, visit, inspector, manager):
    second = corrected(visit, inspector, manager, span_in=(96.0, "8'"))
    assert len(second.changes) > 5
    pages = [
        page.extract_text() for page in PdfReader(io.BytesIO(draw_pdf(second.snapshot, issue_of(second)).pdf)).pages
    ]
    first, whole = (re.sub(r"\s+", " ", words) for words in (pages[0], " ".join(pages)))
    assert f"takes the place of report {report.number}. Why: The joists were measured wrong." in first
    named = int(re.search(r"What changed: page (\d+)", first)[1])
    assert f"What changed since report {report.number}" in pages[named - 1]
    for change in in_few_rows(second.changes):
        for words in filter(None, (change["what"], change["where"], change["before"], change["after"])):
            assert re.sub(r"\s+", " ", words) in whole, change
    assert "What changed since" not in page_html(report.snapshot, issue_of(report))


def test_pieces_whose_verdict_changed_alike_share_a_row_and_what_was_corrected_comes_first():
    def verdict(where, before, after):
        return {"what": "Verdict", "where": where, "before": before, "after": after}

    measure = {"what": "Measure", "where": "joist field J1, span", "before": "12'", "after": "8'"}
    rows = in_few_rows(
        [
            verdict("Joists in shear: joist field J1", "Holds, 40 %", "Holds, 30 %"),
            verdict("Load on a fastener: fastener 1 of ledger LD1 (F1)", "Falls short, 109 %", "Holds, 73 %"),
            verdict("Load on a fastener: fastener 2 of ledger LD1 (F2)", "Falls short, 109 %", "Holds, 73 %"),
            measure,
        ]
    )
    assert rows[0] == measure
    assert [(row["before"], row["after"]) for row in rows[1:]] == [
        ("Falls short, 109 %", "Holds, 73 %"),
        ("Holds, 40 %", "Holds, 30 %"),
    ]
    assert "F1" in rows[1]["where"] and "F2" in rows[1]["where"]
