"""What was released: how far its PDF is, and the PDF itself."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.reports.drawing import pdf_of
from inspections.reports.models import Report
from inspections.reports.services import draw_again, stop_drawing
from inspections.reports.troubles import what_to_do
from inspections.visits.models import Visit

READERS = (Capability.BOOK, Capability.RECORD, Capability.RELEASE)


@needs(*READERS)
@require_safe
@never_cache
@vary_on_headers("HX-Request")
def report_progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The page asks for its middle again every second until the PDF is there or has failed."""
    report = _report(request, pk)
    context = {"report": report, "build": report.build, "what_to_do": what_to_do(report.build)}
    template = "_progress.html" if wants_fragment(request) else "progress.html"
    return render(request, f"inspections/reports/{template}", context)


@needs(Capability.RELEASE)
@require_POST
def report_again(request: HttpRequest, pk: int) -> HttpResponse:
    report = _report(request, pk)
    draw_again(report, by=request.user)
    return redirect("report-progress", report.pk)


@needs(Capability.RELEASE)
@require_POST
def report_stop(request: HttpRequest, pk: int) -> HttpResponse:
    report = _report(request, pk)
    stop_drawing(report, by=request.user)
    return redirect("report-progress", report.pk)


@needs(*READERS)
@require_safe
def report_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    report = _report(request, pk)
    if not report.pdf:
        raise Http404
    return pdf_response(report)


def pdf_response(report: Report, drawn: Any = None) -> HttpResponse:
    """The stored PDF, or the extract `drawn`, under a name that tells reports apart in a download folder."""
    name = f"deck-report-{report.number}" if drawn in (None, report) else f"deck-{drawn.kind}-{report.number}"
    return HttpResponse(
        pdf_of(drawn or report),
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="{name}.pdf"',
            "Cache-Control": "private, no-store",
        },
    )


def _report(request: HttpRequest, pk: int) -> Report:
    visits = Visit.objects.visible_to(request.user)
    rows = Report.objects.defer("snapshot").filter(visit__in=visits)
    return get_object_or_404(rows.select_related("visit__property", "visit__client", "build", "supersedes"), pk=pk)
