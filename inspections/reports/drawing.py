"""The job that draws an issued report's PDF, stores it once, and sends the client on the way."""

import hashlib
from typing import Any

from django.db import transaction

from firm.jobs.work import GiveUp
from inspections.reports.media import FrozenFileDamaged, put_file
from inspections.reports.models import Report, ReportBuild
from inspections.reports.services import mail_link


def draw_report(job: ReportBuild) -> dict[str, Any] | None:
    """Draw the PDF of the job's report and store it. Drawing it again changes nothing and mails nobody twice.

    Raises GiveUp if a file of the report is damaged or it asks for one that is not its own: no attempt mends that.
    """
    report = Report.objects.select_related("issued_by", "supersedes", "visit").get(pk=job.report_id)
    if report.pdf:
        return None  # an earlier attempt stored it and died before it could say "done"
    from inspections.reports.fetcher import NotOfThisReport  # brings in WeasyPrint, which the web server never needs
    from inspections.reports.pdf import draw_pdf

    try:
        drawn = draw_pdf(report.snapshot, issue_of(report), say=job.say)
    except (FrozenFileDamaged, NotOfThisReport) as error:
        raise GiveUp(f"The report cannot be drawn: {error}.") from error
    job.say("Storing it", 90)
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
            _tell_the_client(report)
    return None


def issue_of(report: Report) -> Any:
    """What stands on a report about its issuing."""
    from inspections.reports.pdf import Issue

    return Issue(
        number=report.number,
        version=report.version,
        issued_at=report.issued_at,
        issued_by=report.issued_by.display_name,
        what_changed=report.what_changed,
        supersedes=report.supersedes.number if report.supersedes else "",
        record_sha256=report.snapshot_sha256,
    )


def _tell_the_client(report: Report) -> None:
    """Queue the link to the client, in the transaction that stores the PDF, so that it happens once."""
    client = report.visit.client
    if client.email:
        mail_link(report.visit, recipient=client.name, email=client.email, by=report.issued_by)


def pdf_of(report: Report) -> bytes:
    """The stored PDF. Raises FrozenFileDamaged if it is gone or not what was drawn."""
    from inspections.reports.media import read_file

    return read_file({"path": report.pdf.name, "sha256": report.pdf_sha256})
