"""Records as inspectors hand them in, small enough to read in a test."""

from django.utils import timezone

from firm.jobs.work import run_job
from inspections.findings.models import Finding
from inspections.photos.models import RenditionJob
from inspections.photos.renditions import make_renditions
from inspections.photos.services import take_in_photo
from inspections.reports.drawing import draw_report
from inspections.reports.models import ReportBuild
from inspections.survey.services import add_part
from tests.inspections.photos.files import jpeg_bytes, upload
from tests.make import make_visit

JOISTS = {
    "size": "2x8", "species": "hem-fir", "grade": "No. 2", "is_incised": "no", "spacing_in": "16", "count": "10",
    "span_in": "13' 6", "overhang_in": "0",
}  # fmt: skip


def handed_in_visit(inspector, *, summary="Stay off it for now.", findings=True, photo=True, **fields):
    """A deck whose joists are far too long, with a finding that says keep off and one of upkeep."""
    visit = make_visit(inspector, state="under_way", summary=summary, begun_at=timezone.now(), **fields)
    add_part(
        visit,
        "level",
        by=inspector,
        readings={"height_in": "42", "width_in": "14'", "depth_in": "13' 6", "stands": "on a ledger"},
    )
    add_part(visit, "joist_field", by=inspector, readings=JOISTS)
    if findings:
        keep_off = add_finding(visit, "Joists span too far", "keep_off", how_soon="at_once", check_id="joist.bending")
        add_finding(visit, "Leaves between the boards", "look_after", link="surface", who="owner")
        if photo:
            add_photo(visit, inspector, finding=keep_off, caption="Underside, the long bay")
    type(visit).objects.filter(pk=visit.pk).update(state="handed_in", handed_in_at=timezone.now())
    visit.refresh_from_db()
    return visit


def add_finding(visit, title, action, *, link="joists", how_soon="no_date", who="contractor", **fields):
    fields = {"seen": "As measured.", "meaning": "It gives way.", "remedy": "Add a beam at mid-span.", **fields}
    return Finding.objects.create(
        visit=visit, title=title, action=action, link=link, how_soon=how_soon, who=who, by=visit.inspector, **fields
    )


def add_photo(visit, by, *, seed=1, finding=None, caption="", ready=True):
    photo = take_in_photo(visit, upload(jpeg_bytes(seed=seed)), by=by, finding=finding, caption=caption)
    if ready:
        run_job(RenditionJob, photo.rendition_job.pk, make_renditions)
        photo.refresh_from_db()
    return photo


def draw(report):
    """What the worker does with a report that was issued. The report comes back as it is stored."""
    run_job(ReportBuild, report.build.pk, draw_report)
    report.refresh_from_db()
    return report
