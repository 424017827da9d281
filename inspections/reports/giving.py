"""Giving somebody a link to a report: made, mailed, mailed again, found undelivered, closed."""

import secrets
from base64 import urlsafe_b64encode
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.utils import timezone
from django.utils.crypto import salted_hmac

from firm import audit
from firm.branding.models import Firm
from firm.jobs.bell import ring
from inspections.reports.models import (
    Kind,
    Language,
    Report,
    ReportExtract,
    ReportLink,
    ReportMail,
    hash_token,
    new_token,
)
from inspections.reports.refusals import NoReportYet, WrongState
from inspections.visits.models import Visit

CODE_DIGITS = 6


@dataclass(frozen=True)
class Given:
    """A link, and what is shown of it this once: the token (none where a mail brings it) and the access code."""

    link: ReportLink
    token: str = ""
    code: str = ""


@dataclass(frozen=True)
class Wish:
    """Who is to get what. `days` None: as long as the firm's links stay open."""

    recipient: str
    email: str = ""
    days: int | None = None
    kind: str = Kind.FULL
    language: str = Language.ENGLISH
    with_code: bool = False


@transaction.atomic
def give(visit: Visit, wish: Wish, *, by: Any, email_it: bool | None = None) -> Given:
    """A link for one recipient: by mail if there is an address (and `email_it` is not False), else shown once.

    A mailed link's token is made by the worker as it writes the mail. The access code is never mailed: it is told.
    Raises NoReportYet if no report of the visit was issued.
    """
    report = visit.reports.order_by("-version").first()
    if report is None:
        raise NoReportYet("There is no report to link to before it is released.")
    by_mail = bool(wish.email) if email_it is None else email_it
    token = "" if by_mail else new_token()
    code = f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}}" if wish.with_code else ""
    days = Firm.current().link_days if wish.days is None else wish.days
    link = ReportLink.objects.create(
        visit=visit,
        recipient=wish.recipient,
        email=wish.email,
        kind=wish.kind,
        language=wish.language,
        created_by=by,
        expires_at=timezone.now() + timedelta(days=days),
        token_hash=hash_token(token) if token else None,
        code_hash=make_password(code) if code else "",
    )
    audit.record(
        by,
        "made",
        link,
        after={"recipient": wish.recipient, "email": wish.email, "kind": wish.kind, "code": bool(code)},
    )
    draw_extracts_for_links(report)
    if by_mail:
        ring(ReportMail.objects.create(link=link))
    return Given(link, token, code)


def make_link(visit: Visit, *, recipient: str, by: Any, **wish: Any) -> tuple[ReportLink, str]:
    """A link whose token is shown once and stored nowhere, and that token."""
    given = give(visit, Wish(recipient, **wish), by=by, email_it=False)
    return given.link, given.token


def mail_link(visit: Visit, *, recipient: str, email: str, by: Any, **wish: Any) -> ReportLink:
    """A link that the worker mails."""
    return give(visit, Wish(recipient, email, **wish), by=by, email_it=True).link


def printed_token(report: Report) -> str:
    """The token of the code on the first page of a PDF: 256 bits that only the secret key can tell, never kept.

    Not a random one: a drawing that was broken off and is made again gives the same file with the same code.
    """
    told = salted_hmac("inspections.reports.printed", f"{report.pk}:{report.snapshot_sha256}", algorithm="sha256")
    return urlsafe_b64encode(told.digest()).rstrip(b"=").decode()


def printed_until(report: Report) -> datetime:
    """How long the printed code leads to the report: as long as any link of the firm."""
    return report.issued_at + timedelta(days=Firm.current().link_days)


@transaction.atomic
def give_with_the_paper(report: Report, *, token: str, until: datetime) -> ReportLink:
    """Let the printed code lead to the report: called where the PDF is stored, so no other is left over."""
    link = ReportLink.objects.create(
        visit=report.visit,
        printed_in=report,
        recipient=f"Whoever holds report {report.number}",
        created_by=report.issued_by,
        expires_at=until,
        token_hash=hash_token(token),
    )
    audit.record(report.issued_by, "made", link, after={"printed in": report.number})
    return link


@transaction.atomic
def send_again(link: ReportLink, *, by: Any) -> None:
    """Mail a link anew. The new mail's address takes the place of the one sent before.

    Raises WrongState for a link that is closed, has run out, has no mail address, or whose mail is still on its way.
    """
    link = ReportLink.objects.select_for_update().get(pk=link.pk)
    if not link.is_open:
        raise WrongState("This link is closed or has run out; give a new one.")
    if not link.email:
        raise WrongState("This link has no mail address; give a new one.")
    if link.mails.filter(state__in=["waiting", "running"]).exists():
        raise WrongState("Its mail is on the way already.")
    audit.record(by, "mailed again", link, after={"email": link.email})
    ring(ReportMail.objects.create(link=link))


@transaction.atomic
def note_came_back(mail: ReportMail, *, by: Any) -> bool:
    """The office found the mail undelivered in its own mailbox. False if it was noted before, or never sent."""
    noted = ReportMail.objects.filter(pk=mail.pk, sent_at__isnull=False, came_back_at__isnull=True)
    if noted.update(came_back_at=timezone.now()) != 1:
        return False
    audit.record(by, "found undelivered", mail.link, after={"email": mail.link.email})
    return True


@transaction.atomic
def revoke_link(link: ReportLink, *, by: Any) -> bool:
    """Close a link for good. False if it was closed before."""
    closed = ReportLink.objects.filter(pk=link.pk, revoked_at__isnull=True).update(revoked_at=timezone.now()) == 1
    if closed:
        link.refresh_from_db()
        audit.record(by, "closed", link, after={"recipient": link.recipient})
        for mail in link.mails.all():
            mail.cancel()
    return closed


def draw_extracts_for_links(report: Report) -> None:
    """See to it that every cut of the report that an open link gives is drawn, or about to be."""
    wanted = set(report.visit.links.open().exclude(kind=Kind.FULL).values_list("kind", flat=True))
    for kind in sorted(wanted):
        extract, is_new = ReportExtract.objects.get_or_create(report=report, kind=kind)
        if is_new:
            ring(extract)
