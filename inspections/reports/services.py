"""Issuing a report, reopening it for a correction, and having its PDF drawn. Links are in `giving`."""

from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm import audit
from firm.branding.models import Firm
from firm.jobs.bell import ring
from inspections.reports.changes import changes_between
from inspections.reports.gaps import gaps_before_release
from inspections.reports.giving import draw_extracts_for_links
from inspections.reports.models import Report, ReportBuild
from inspections.reports.refusals import NothingChanged, NotReady, ReasonMissing, WrongState
from inspections.reports.snapshot import freeze, keep_photos, sha256_of
from inspections.visits.models import Visit


def issue_report(visit: Visit, *, by: Any, what_changed: str = "", summary: str | None = None) -> Report:
    """Freeze the visit as the next version of its report and queue the drawing of the PDF.

    It wants a visit that was handed in, and releases it. One that was reopened gets a corrected version, which lists
    what changed; where nothing did, the version before stands and is given back. On a released visit `what_changed`
    says what a new version corrects in the words for the client; without it, the newest version is given back: a
    second click makes no second report. `summary`, if given, replaces the words for the client.

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
        changes = changes_between(newest.snapshot, snapshot) if newest else []
        if newest and not changes:
            if visit.state == Visit.State.HANDED_IN:
                return _let_it_stand(visit, newest, by=by)
            if newest.what_changed == what_changed:
                return newest
            raise NothingChanged(f"Nothing in the record differs from version {newest.version}.")
        issued_at = timezone.now()
        report = Report.objects.create(
            visit=visit,
            version=newest.version + 1 if newest else 1,
            supersedes=newest,
            what_changed=what_changed or (visit.sent_back_because if newest else ""),
            changes=changes,
            snapshot=snapshot,
            snapshot_sha256=digest,
            issued_at=issued_at,
            issued_by=by,
            kept_until=_in_years(timezone.localdate(issued_at), Firm.current().retention_years),
        )
        if visit.state != Visit.State.RELEASED:
            visit.state = Visit.State.RELEASED
            visit.released_at = report.issued_at
            visit.save(update_fields=["state", "released_at"])
        audit.record(by, "issued", report, after={"version": report.version, "snapshot_sha256": digest})
        ring(ReportBuild.objects.create(report=report))
        draw_extracts_for_links(report)
        return report


@transaction.atomic
def reopen(visit: Visit, *, because: str, by: Any) -> Visit:
    """Open a released record to its inspector again, for a correction. What was issued stays as it is, and readable.

    Raises ReasonMissing, and WrongState unless the visit is released.
    """
    because = because.strip()
    if not because:
        raise ReasonMissing("Say what is to be corrected: the inspector and the client read it.")
    visit = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if visit.state != Visit.State.RELEASED:
        raise WrongState(f"Only a released visit is reopened; this one is {visit.get_state_display().lower()}.")
    visit.state, visit.sent_back_because = Visit.State.SENT_BACK, because
    visit.save(update_fields=["state", "sent_back_because"])
    audit.record(by, "reopened", visit, {"state": Visit.State.RELEASED}, {"state": visit.state, "because": because})
    return visit


def _let_it_stand(visit: Visit, newest: Report, *, by: Any) -> Report:
    """A reopened record in which nothing was changed goes back to where it was."""
    visit.state = Visit.State.RELEASED
    visit.save(update_fields=["state"])
    audit.record(by, "left as it was", visit, {"state": Visit.State.HANDED_IN}, {"state": visit.state})
    return newest


def _in_years(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # the 29th of February
        return day.replace(year=day.year + years, day=28)


def _reword(visit: Visit, summary: str, *, by: Any) -> None:
    if visit.summary == summary:
        return
    before, visit.summary = visit.summary, summary
    visit.save(update_fields=["summary"])
    audit.record(by, "reworded", visit, {"summary": before}, {"summary": summary})


@transaction.atomic
def draw_again(report: Report, *, by: Any) -> bool:
    """Let a drawing that failed or was stopped be tried again. False if it is neither (any more)."""
    build = ReportBuild.objects.select_for_update().get(report=report)
    because = build.error
    if not build.try_again():
        return False
    audit.record(by, "had drawn again", report, before={"error": because})
    ring(build)
    return True


@transaction.atomic
def stop_drawing(report: Report, *, by: Any) -> bool:
    """Stop a drawing that waits or runs. False if it is over. The report stays issued; only its PDF is missing."""
    build = ReportBuild.objects.select_for_update().get(report=report)
    if not build.cancel():
        return False
    audit.record(by, "stopped the drawing of", report)
    return True
