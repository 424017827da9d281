"""Taking a client's name and ways to reach them out of everything, as far as that may be.

What stays, and is said: reports within the firm's period, which are evidence of what was found, with what the client
accepted before their visits; and the history, whose lines are chained to each other so that none can be taken out.
Reports whose period is over are drawn again without the name. Measurements and findings stay with the house: they are
about a deck. Backups cannot be changed; how many there are is said, too.
"""

from dataclasses import dataclass
from functools import partial
from typing import Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.utils import timezone

from firm import audit
from firm.clients.models import Client
from firm.jobs.bell import ring
from firm.mail import folder
from firm.people.models import User
from firm.properties.models import Property
from inspections.comments.models import Answer, Comment
from inspections.outside import guard as accepted_guard
from inspections.outside.models import Acceptance, TimeWish
from inspections.personal import copies
from inspections.personal.gathering import addresses_of, lines_about, mails_to, rows_about
from inspections.reports import guard
from inspections.reports.models import Report, ReportBuild, ReportExtract, ReportLink, ReportMail
from inspections.reports.snapshot import sha256_of
from inspections.visits.models import Visit

NOWHERE = "erased@erased.invalid"  # .invalid is nobody's (RFC 2606)


class NotYet(Exception):
    """Something with this client is still under way; `str()` of it says what to do first."""


@dataclass(frozen=True)
class Kept:
    """What stays, for the person who asked: the reports with the day until which each is kept, what was accepted
    before their visits, lines of history, and backups in the firm's folder."""

    reports: list[Report]
    acceptances: list[Acceptance]
    lines: int
    backups: int


def what_stays(client: Client) -> Kept:
    reports = [report for report in _reports(client) if not _is_over(report)]
    backups = len(list(settings.BACKUP_DIR.glob("soundings-*.tar*")))
    return Kept(reports, _kept_acceptances(client), len(list(lines_about(rows_about(client)))), backups)


@transaction.atomic
def erase_client(client: Client, *, by: User, because: str) -> Kept:
    """Take the client's name and ways to reach them out. Cannot be undone. Raises NotYet."""
    copies.hold_off()  # before any row is held, as those who wait in it may want one
    client = Client.objects.select_for_update().get(pk=client.pk)
    list(client.visits.select_for_update().order_by("pk"))  # a link or a comment that is being made is there, or waits
    _refuse_if_under_way(client)
    nobody = nobody_of(client)
    over = [report for report in _reports(client) if _is_over(report)]
    if over:
        _take_out_of_reports(over, nobody)  # first: PostgreSQL sets no trigger on a table with changes to be checked
    addresses, name = addresses_of(client), client.name
    mails_to(client).update(to=NOWHERE, subject="Erased", text="", html="", attachments=[], error="")
    links = ReportLink.objects.filter(visit__client=client)
    theirs = [link for link in links if link.recipient == name or link.email in addresses or link.printed_in_id]
    for link in theirs:
        if not link.printed_in_id:
            link.recipient, link.email = nobody, ""
        link.revoked_at = link.revoked_at or timezone.now()
        link.save(update_fields=["recipient", "email", "revoked_at"])
    _take_out_of_acceptances(client, nobody)
    TimeWish.objects.filter(visit__client=client).update(words="")
    Visit.objects.filter(client=client).update(notes="", suits="")
    Visit.objects.filter(client=client).exclude(called_off_because="").update(called_off_because="Erased")
    Comment.objects.filter(visit__client=client).update(text="Erased")
    Answer.objects.filter(comment__visit__client=client).update(text="Erased")
    Property.objects.filter(client=client).update(access_notes="")
    tables = copies.take_away()
    transaction.on_commit(partial(folder.take_away, addresses))
    client.name, client.email, client.phone, client.notes = nobody, "", "", ""
    client.save()
    kept = what_stays(client)
    told = {
        "because": because, "reports_kept": [report.number for report in kept.reports], "links_closed": len(theirs),
        "tables_removed": tables, "backups_that_hold_it": kept.backups,
    }  # fmt: skip
    audit.record(by, "erased the personal data of", client, None, told)
    return kept


def nobody_of(client: Client) -> str:
    return f"Erased client {client.pk}"


def _refuse_if_under_way(client: Client) -> None:
    if client.visits.filter(state__in=[Visit.State.ASKED_FOR, *Visit.OPEN_FOR_RECORD, Visit.State.HANDED_IN]).exists():
        raise NotYet("A visit of this client is booked, under way or not released. Call it off or release it first.")
    unsent = ["waiting", "running"]
    links = ReportMail.objects.filter(link__visit__client=client, state__in=unsent)
    if mails_to(client).filter(state__in=unsent).exists() or links.exists():
        raise NotYet("A mail to this client waits to be sent. Try again once it is sent.")
    if copies.are_being_made():
        raise NotYet("Tables are being written or read by the worker. Try again once it is done.")
    for job in (ReportBuild, ReportExtract):
        if job.objects.filter(report__visit__client=client, state__in=unsent).exists():
            raise NotYet("A report of this client is being drawn. Try again once it is done.")


def _reports(client: Client) -> list[Report]:
    return list(Report.objects.filter(visit__client=client).order_by("issued_at"))


def _is_over(report: Report) -> bool:
    """Whether the period for which the firm keeps reports is over. One without a day is kept."""
    return report.kept_until is not None and report.kept_until < timezone.localdate()


def _take_out_of_reports(reports: list[Report], nobody: str) -> None:
    """Put the record without the client in place of the old one, and have the PDFs drawn again from it."""
    guard.lift(connection)
    for report in reports:
        frozen: dict[str, Any] = {**report.snapshot, "client": {"name": nobody, "email": "", "phone": ""}}
        extracts = list(report.extracts.all())
        files = [held.pdf.name for held in (report, *extracts) if held.pdf]
        Report._base_manager.filter(pk=report.pk).update(
            snapshot=frozen, snapshot_sha256=sha256_of(frozen), pdf="", pdf_sha256="", page_count=None
        )
        for job in (*extracts, *ReportBuild.objects.filter(report=report)):
            _draw_again(job)
        for name in files:
            transaction.on_commit(partial(default_storage.delete, name))
    _let_postgresql_check()
    guard.put(connection)


def _take_out_of_acceptances(client: Client, nobody: str) -> None:
    """Of what is kept no longer, that somebody accepted and when; not who, nor from where."""
    stay = [acceptance.pk for acceptance in _kept_acceptances(client)]
    over = Acceptance.objects.filter(visit__client=client).exclude(pk__in=stay)
    if over:
        accepted_guard.lift(connection)
        over.update(name=nobody, address=None, browser="")
        _let_postgresql_check()
        accepted_guard.put(connection)


def _kept_acceptances(client: Client) -> list[Acceptance]:
    visits = [report.visit_id for report in _reports(client) if not _is_over(report)]
    return list(Acceptance.objects.filter(visit__in=visits, visit__client=client).select_related("agreement"))


def _let_postgresql_check() -> None:
    """PostgreSQL sets no trigger on a table with changes still to be checked."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")


def _draw_again(job: Any) -> None:
    cleared = {"pdf": "", "pdf_sha256": ""} if isinstance(job, ReportExtract) else {}
    type(job).objects.filter(pk=job.pk).update(state="cancelled", **cleared)
    job.try_again()
    ring(job)
