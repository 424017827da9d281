"""Issuing a report, and giving somebody a link to it."""

from datetime import timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm import audit
from firm.branding.models import Firm
from firm.jobs.bell import ring
from inspections.reports.gaps import gaps_before_release
from inspections.reports.models import Report, ReportBuild, ReportLink, ReportMail, hash_token, new_token
from inspections.reports.refusals import NoReportYet, NothingChanged, NotReady, WrongState
from inspections.reports.snapshot import freeze, keep_photos, sha256_of
from inspections.visits.models import Visit


def issue_report(visit: Visit, *, by: Any, what_changed: str = "", summary: str | None = None) -> Report:
    """Freeze the visit as the next version of its report and queue the drawing of the PDF.

    The first version wants a visit that was handed in, and releases it. On a released visit `what_changed` says what
    a corrected version corrects; without it, the newest version is given back: a second click makes no second report.
    `summary`, if given, replaces the words for the client.

    Raises WrongState; NotReady with the gaps; NothingChanged if a correction would equal the version before it.
    """
    # The files are copied before the lock is taken: sixty photos take a while, and every writer would wait for them.
    kept = keep_photos(visit)
    with transaction.atomic():
        # Two clicks must not make two versions.
        visit = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
        newest = visit.reports.order_by("-version").first()
        if visit.state == Visit.State.RELEASED and newest and not what_changed:
            return newest
        if visit.state not in (Visit.State.HANDED_IN, Visit.State.RELEASED):
            state = visit.get_state_display().lower()
            raise WrongState(f"This visit is {state}; a report is issued of one that was handed in.")
        if gaps := gaps_before_release(visit):
            raise NotReady(gaps)
        if summary is not None:
            _reword(visit, summary, by=by)
        snapshot = freeze(visit, keep_photos(visit, before=kept))
        digest = sha256_of(snapshot)
        if newest and newest.snapshot_sha256 == digest:
            if newest.what_changed == what_changed:
                return newest
            raise NothingChanged(f"Nothing in the record differs from version {newest.version}.")
        report = Report.objects.create(
            visit=visit,
            version=newest.version + 1 if newest else 1,
            supersedes=newest,
            what_changed=what_changed,
            snapshot=snapshot,
            snapshot_sha256=digest,
            issued_at=timezone.now(),
            issued_by=by,
        )
        if visit.state != Visit.State.RELEASED:
            visit.state = Visit.State.RELEASED
            visit.released_at = report.issued_at
            visit.save(update_fields=["state", "released_at"])
        audit.record(by, "issued", report, after={"version": report.version, "snapshot_sha256": digest})
        ring(ReportBuild.objects.create(report=report))
        return report


def _reword(visit: Visit, summary: str, *, by: Any) -> None:
    if visit.summary == summary:
        return
    before, visit.summary = visit.summary, summary
    visit.save(update_fields=["summary"])
    audit.record(by, "reworded", visit, {"summary": before}, {"summary": summary})


@transaction.atomic
def draw_again(report: Report, *, by: Any) -> bool:
    """Let a drawing that failed be tried again. False if it is not failed (any more)."""
    build = ReportBuild.objects.select_for_update().get(report=report)
    if not build.try_again():
        return False
    audit.record(by, "had drawn again", report)
    ring(build)
    return True


@transaction.atomic
def make_link(
    visit: Visit, *, recipient: str, email: str = "", by: Any, days: int | None = None
) -> tuple[ReportLink, str]:
    """A link for one recipient, and its token, which is shown once and stored nowhere.

    Raises NoReportYet if no report of the visit was issued.
    """
    token = new_token()
    link = _new_link(visit, recipient=recipient, email=email, by=by, days=days, token_hash=hash_token(token))
    return link, token


@transaction.atomic
def mail_link(visit: Visit, *, recipient: str, email: str, by: Any, days: int | None = None) -> ReportLink:
    """A link for one recipient, to be mailed: the worker makes the token as it writes the mail.

    Raises NoReportYet if no report of the visit was issued.
    """
    link = _new_link(visit, recipient=recipient, email=email, by=by, days=days, token_hash=None)
    ring(ReportMail.objects.create(link=link))
    return link


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


def _new_link(
    visit: Visit, *, recipient: str, email: str, by: Any, days: int | None, token_hash: str | None
) -> ReportLink:
    if not visit.reports.exists():
        raise NoReportYet("There is no report to link to before it is released.")
    expires_at = timezone.now() + timedelta(days=Firm.current().link_days if days is None else days)
    link = ReportLink.objects.create(
        visit=visit, recipient=recipient, email=email, created_by=by, expires_at=expires_at, token_hash=token_hash
    )
    audit.record(by, "made", link, after={"recipient": recipient, "email": email})
    return link
