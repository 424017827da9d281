"""The code on the first page: it opens the report for whoever holds the paper, is listed and closed like any link."""

from datetime import timedelta

import pytest
import segno
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.branding.models import Firm
from inspections.reports import guard, pdf
from inspections.reports.giving import printed_token, revoke_link
from inspections.reports.models import LinkOpening, Report, ReportBuild, ReportLink
from inspections.reports.services import issue_report
from tests.inspections.reports.records import draw

pytestmark = pytest.mark.django_db


@pytest.fixture
def drawn_codes(monkeypatch):
    """The addresses that were drawn as a code."""
    drawn = []
    make = segno.make
    monkeypatch.setattr(pdf.segno, "make", lambda address, **how: drawn.append(address) or make(address, **how))
    return drawn


@pytest.fixture
def report(visit, manager, drawn_codes):
    return draw(issue_report(visit, by=manager))


def test_the_code_opens_the_report_and_the_opening_is_on_the_list(report, drawn_codes, client, settings):
    (address,) = drawn_codes
    assert address.startswith(settings.PUBLIC_URL)
    answer = client.get(address.removeprefix(settings.PUBLIC_URL))
    assert answer.status_code == 200 and report.number in answer.content.decode()
    assert [opening.what for opening in report.printed_link.openings.all()] == [LinkOpening.What.PAGE]


def test_it_can_be_closed_and_runs_out_like_the_others(report, client, manager):
    page = reverse("client-report", args=[printed_token(report)])
    assert report.printed_link.expires_at == report.issued_at + timedelta(days=Firm.current().link_days)
    ReportLink.objects.update(expires_at=timezone.now())
    assert client.get(page).status_code == 404
    ReportLink.objects.update(expires_at=timezone.now() + timedelta(days=1))
    assert client.get(page).status_code == 200
    assert revoke_link(report.printed_link, by=manager)
    assert client.get(page).status_code == 404


def test_the_office_sees_it_among_the_links_and_no_row_holds_its_address(report, signed_in, manager):
    page = signed_in(manager).get(reverse("review-detail", args=[report.visit_id])).content.decode()
    assert f"Whoever holds report {report.number}" in page and "The code on the first page of the PDF" in page
    token = printed_token(report)
    kept = str([*ReportLink.objects.values(), *Report.objects.values(), *AuditEntry.objects.values()])
    assert token not in kept and token not in page


def test_another_report_and_another_server_have_another_code(report, settings):
    other = Report(pk=report.pk + 1, snapshot_sha256=report.snapshot_sha256)
    tokens = {printed_token(report), printed_token(other)}
    settings.SECRET_KEY = "the key of another server"
    assert len(tokens | {printed_token(report)}) == 3 and all(len(token) == 43 for token in tokens)


def test_a_report_that_is_drawn_anew_without_a_name_carries_no_second_code(report, drawn_codes):
    """As after an erasure: the link of the paper stays the one it was, open or closed."""
    link = report.printed_link
    guard.lift(connection)
    Report._base_manager.filter(pk=report.pk).update(pdf="", pdf_sha256="")
    guard.put(connection)
    ReportBuild.objects.filter(report=report).update(state="waiting", finished_at=None)
    draw(Report.objects.get(pk=report.pk))
    assert ReportBuild.objects.get(report=report).state == "done" and Report.objects.get(pk=report.pk).pdf
    assert len(drawn_codes) == 1 and ReportLink.objects.get(printed_in=report) == link


def test_neither_a_draft_nor_an_extract_carries_it(issued):
    assert "web-code" in issued.html() and "point a phone at it" in issued.html()
    assert all("web-code" not in issued.html(kind) for kind in ("schedule", "engineer"))
    assert "web-code" not in issued.html(web_address="", is_draft=True)
