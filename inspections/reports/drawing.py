"""The jobs that draw an issued report's PDF and its extracts, store each once, and send the client on the way."""

import hashlib
from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Any

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from firm.jobs.models import Job
from firm.jobs.work import GiveUp
from inspections.reports.giving import give_with_the_paper, mail_link, printed_token, printed_until
from inspections.reports.media import FrozenFileDamaged, put_file
from inspections.reports.models import Report, ReportBuild, ReportExtract, ReportLink


class NoLongerOurs(Exception):
    """The row was cancelled or has passed to a later attempt: there is nothing more to do."""


def until_it_passes_on(draw: Callable[[Any], dict[str, Any] | None]) -> Callable[[Any], dict[str, Any] | None]:
    """Let a drawing end quietly where its row is no longer its own; `run_job` then finds that it came too late."""

    @wraps(draw)
    def drawn(job: Job) -> dict[str, Any] | None:
        try:
            return draw(job)
        except NoLongerOurs:
            return None

    return drawn


@until_it_passes_on
def draw_report(job: ReportBuild) -> dict[str, Any] | None:
    """Draw the PDF of the job's report and store it. Drawing it again changes nothing and mails nobody twice.

    Raises GiveUp if a file of the report is damaged or it asks for one that is not its own: no attempt mends that.
    """
    report = Report.objects.select_related("issued_by", "supersedes", "visit").get(pk=job.report_id)
    if report.pdf:
        return None  # an earlier attempt stored it and died before it could say "done"
    from inspections.reports.pdf import draw_pdf

    issue, token, until = issue_of(report), printed_token(report), printed_until(report)
    has_code = not ReportLink.objects.filter(printed_in=report).exists()  # drawn anew, it gets no second one
    if has_code:
        address = settings.PUBLIC_URL + reverse("client-report", args=[token])
        issue = replace(issue, web_address=address, web_until=until)
    drawn = _drawn(lambda: draw_pdf(report.snapshot, issue, say=_telling(job)))
    _telling(job)("Storing it", 90)
    digest = hashlib.sha256(drawn.pdf).hexdigest()
    path = f"reports/{report.number}-{digest[:16]}.pdf"
    put_file(path, drawn.pdf)
    with transaction.atomic():
        mine = ReportBuild.objects.select_for_update().filter(pk=job.pk, attempt=job.attempt, state="running")
        if not mine.exists():
            return None  # the row has passed to a later attempt, which stores its own
        stored = Report.objects.filter(pk=report.pk, pdf="").update(
            pdf=path, pdf_sha256=digest, page_count=drawn.page_count
        )
        if stored:
            if has_code:
                give_with_the_paper(report, token=token, until=until)
            _tell_the_client(report)
    return None


@until_it_passes_on
def draw_report_extract(job: ReportExtract) -> dict[str, Any] | None:
    """Draw and store one extract. Drawing it again changes nothing. Raises GiveUp as `draw_report` does."""
    if job.pdf:
        return None
    from inspections.reports.pdf import draw_extract

    report = Report.objects.select_related("issued_by", "supersedes", "visit").get(pk=job.report_id)
    _telling(job)(f"Drawing: {job.get_kind_display().lower()}", 20)
    pdf = _drawn(lambda: draw_extract(report, job.kind))
    digest = hashlib.sha256(pdf).hexdigest()
    path = f"reports/{report.number}-{job.kind}-{digest[:16]}.pdf"
    put_file(path, pdf)
    return {"pdf": path, "pdf_sha256": digest}


def _drawn(draw: Callable[[], Any]) -> Any:
    from inspections.reports.fetcher import NotOfThisReport  # brings in WeasyPrint, which the web server never needs

    try:
        return draw()
    except (FrozenFileDamaged, NotOfThisReport) as error:
        raise GiveUp(f"The report cannot be drawn: {error}.") from error


def _telling(job: Job) -> Callable[[str, int], None]:
    """Tells the row how far the drawing is, and stops it where the row is no longer ours: cancelled, or passed on."""

    def say(stage: str, percent: int) -> None:
        if not job.say(stage, percent):
            raise NoLongerOurs

    return say


def issue_of(report: Report) -> Any:
    """What stands on a report about its issuing."""
    from inspections.reports.pdf import Issue

    return Issue(
        number=report.number,
        version=report.version,
        issued_at=report.issued_at,
        issued_by=report.issued_by.display_name,
        what_changed=report.what_changed,
        changes=tuple(report.changes),
        supersedes=report.supersedes.number if report.supersedes else "",
        record_sha256=report.snapshot_sha256,
    )


def _tell_the_client(report: Report) -> None:
    """Queue the link to the client, in the transaction that stores the PDF, so that it happens once."""
    client = report.visit.client
    if client.email:
        mail_link(report.visit, recipient=client.name, email=client.email, by=report.issued_by)


def pdf_of(report: Report | ReportExtract) -> bytes:
    """The stored PDF. Raises FrozenFileDamaged if it is gone or not what was drawn."""
    from inspections.reports.media import read_file

    return read_file({"path": report.pdf.name, "sha256": report.pdf_sha256})
