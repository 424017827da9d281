"""The job behind the PDF: stored once whatever happens to the workers, the client told once."""

import hashlib
from datetime import timedelta

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone

from firm.jobs.work import run_job
from inspections.reports import drawing
from inspections.reports.models import Report, ReportBuild, ReportLink, ReportMail
from inspections.reports.services import draw_again, issue_report
from tests.inspections.reports.records import draw, handed_in_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(visit, manager):
    return issue_report(visit, by=manager)


def test_the_pdf_is_stored_with_its_sha256_and_page_count(report):
    draw(report)
    with default_storage.open(report.pdf.name, "rb") as file:
        content = file.read()
    assert content.startswith(b"%PDF-")
    assert report.pdf_sha256 == hashlib.sha256(content).hexdigest()
    assert report.page_count > 5
    assert ReportBuild.objects.get().state == "done"


def test_the_stages_are_told_on_the_way(report, monkeypatch):
    told = []
    monkeypatch.setattr(ReportBuild, "say", lambda self, stage, percent=None: told.append((stage, percent)) or True)
    draw(report)
    percents = [percent for _, percent in told]
    assert len(told) >= 4 and percents == sorted(percents) and all(stage for stage, _ in told)


def test_the_client_is_sent_a_link_once_the_pdf_is_there(report, client_with_mail):
    assert not ReportLink.objects.exists()
    draw(report)
    link = ReportLink.objects.get(printed_in=None)
    assert (link.recipient, link.email, link.token_hash) == ("Ines Hallam", "ines@mail.example", None)
    assert ReportMail.objects.get().link == link


def test_a_client_without_a_mail_address_is_mailed_no_link(inspector, manager):
    draw(issue_report(handed_in_visit(inspector), by=manager))
    assert not ReportLink.objects.filter(printed_in=None).exists()


class Killed(BaseException):
    """The worker is gone: nothing after this line is run, not even its error handling."""


def let_the_lease_run_out(build):
    past = timezone.now() - timedelta(seconds=1)
    ReportBuild.objects.filter(pk=build.pk).update(lease_until=past)


@pytest.mark.parametrize("killed_in", ["draw_pdf", "put_file", "give_with_the_paper", "mail_link"])
def test_a_worker_killed_anywhere_leaves_one_pdf_and_one_mail(report, monkeypatch, killed_in):
    def dies(*_, **__):
        raise Killed

    home = "inspections.reports.pdf" if killed_in == "draw_pdf" else "inspections.reports.drawing"
    with monkeypatch.context() as patched:
        patched.setattr(f"{home}.{killed_in}", dies)
        with pytest.raises(Killed):
            run_job(ReportBuild, report.build.pk, drawing.draw_report)
    assert not Report.objects.get(pk=report.pk).pdf
    let_the_lease_run_out(report.build)
    draw(report)
    assert report.pdf and ReportBuild.objects.get().state == "done"
    assert ReportMail.objects.count() == 1
    assert len(default_storage.listdir("reports")[1]) == 1
    assert report.printed_link.is_open and report.visit.links.count() == 2  # the paper's and the client's


def test_a_worker_killed_after_storing_is_not_followed_by_a_second_mail(report):
    run_once = ReportBuild.take(report.build.pk)
    drawing.draw_report(run_once)  # stored and mailed, but the row was never finished
    let_the_lease_run_out(run_once)
    draw(report)
    assert ReportBuild.objects.get().state == "done"
    assert ReportMail.objects.count() == 1


def test_a_slow_worker_that_lost_its_lease_stores_nothing(report):
    slow = ReportBuild.take(report.build.pk)
    let_the_lease_run_out(slow)
    quick = ReportBuild.take(report.build.pk)
    drawing.draw_report(slow)
    assert not Report.objects.get(pk=report.pk).pdf and not ReportMail.objects.exists()
    drawing.draw_report(quick)
    assert Report.objects.get(pk=report.pk).pdf and ReportMail.objects.count() == 1


def test_a_damaged_photo_ends_the_job_with_the_reason_and_it_can_be_tried_again(report, manager):
    kept = report.snapshot["photos"][0]["files"]["printable"]
    with default_storage.open(kept["path"], "rb") as file:
        good = file.read()
    with default_storage.open(kept["path"], "wb") as file:
        file.write(b"damaged")
    draw(report)
    build = ReportBuild.objects.get()
    assert build.state == "failed" and "is not what was issued" in build.error
    with default_storage.open(kept["path"], "wb") as file:
        file.write(good)
    assert draw_again(report, by=manager) is True
    assert draw_again(report, by=manager) is False
    assert draw(report).pdf
