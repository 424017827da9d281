"""The release desk: what was handed in, read as the client will read it, then sent back or released."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from engine.errors import DeckFaults
from firm.people.capabilities import Capability, needs
from inspections.comments.services import reason_to_send_back, with_open_comments
from inspections.reports.answer import answer_of
from inspections.reports.changes import changes_between
from inspections.reports.digest import Digest
from inspections.reports.forms import CorrectionForm, ReleaseForm, ReopenForm
from inspections.reports.gaps import gaps_before_release
from inspections.reports.load_path import load_path_svg
from inspections.reports.models import Report
from inspections.reports.plan import plan_of
from inspections.reports.refusals import NotReady, Refused
from inspections.reports.second_look import second_look
from inspections.reports.services import issue_report, reopen
from inspections.reports.snapshot import freeze
from inspections.visits.forms import SendBackForm
from inspections.visits.models import Visit

_LATELY = 20  # reports that were released last


@needs(Capability.RELEASE)
@require_safe
def review_list(request: HttpRequest) -> HttpResponse:
    visits = Visit.objects.visible_to(request.user).whole()
    context = {
        "waiting": list(with_open_comments(visits.filter(state=Visit.State.HANDED_IN)).order_by("handed_in_at", "pk")),
        "sent_back": list(with_open_comments(visits.filter(state=Visit.State.SENT_BACK)).order_by("starts_at", "pk")),
        "released": list(
            Report.objects.defer("snapshot")
            .filter(superseded_by__isnull=True)
            .select_related("visit__client", "visit__property", "visit__inspector", "build")
            .order_by("-issued_at")[:_LATELY]
        ),
    }
    return render(request, "inspections/reports/review_list.html", context)


@needs(Capability.RELEASE)
@require_safe
def review_detail(request: HttpRequest, pk: int) -> HttpResponse:
    return _review(request, _visit(request, pk))


@needs(Capability.RELEASE)
@require_POST
def report_release(request: HttpRequest, pk: int) -> HttpResponse:
    """Release the report of a visit that was handed in."""
    visit = _visit(request, pk)
    form = _release_form(visit)(request.POST)
    if not form.is_valid():
        return _review(request, visit, form=form, status=422)
    before = visit.reports.order_by("-version").values_list("pk", flat=True).first()
    asked = {name: form.cleaned_data[name] for name in ("summary", "what_changed") if name in form.cleaned_data}
    try:
        report = issue_report(visit, by=request.user, **asked)
    except NotReady:
        return _review(request, visit, form=form, status=422)
    except Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
        return redirect("review-detail", visit.pk)
    if report.pk == before:
        messages.success(request, f"Nothing differs from {report.number}, so it stands. No new version was made.")
        return redirect("review-detail", visit.pk)
    return redirect("report-progress", report.pk)


@needs(Capability.RELEASE)
@require_POST
def report_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Issue a corrected version of a report that was released."""
    visit = _visit(request, pk)
    form = CorrectionForm(request.POST)
    if form.is_valid():
        try:
            report = issue_report(
                visit,
                by=request.user,
                what_changed=form.cleaned_data["what_changed"],
                summary=form.cleaned_data["summary"],
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("report-progress", report.pk)
    return _review(request, visit, form=form, status=422)


@needs(Capability.RELEASE)
@require_POST
def report_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a released record to its inspector, so that data and photos can be corrected."""
    visit = _visit(request, pk)
    form = ReopenForm(request.POST)
    if form.is_valid():
        try:
            reopen(visit, because=form.cleaned_data["because"], by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Reopened. {visit.inspector.display_name} can correct it and hand it in again.")
            return redirect("review-detail", visit.pk)
    return _review(request, visit, reopen_form=form, status=422)


def _release_form(visit: Visit) -> type[ReleaseForm]:
    """A record that was released before says what its new version corrects."""
    return CorrectionForm if visit.reports.exists() else ReleaseForm


def _visit(request: HttpRequest, pk: int) -> Visit:
    return get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=pk)


def _review(
    request: HttpRequest, visit: Visit, *, form: Any = None, reopen_form: Any = None, status: int = 200
) -> HttpResponse:
    reports = list(visit.reports.select_related("build", "issued_by").order_by("-version"))
    is_released = visit.state == Visit.State.RELEASED and bool(reports)
    context: dict[str, Any] = {
        "visit": visit,
        "reports": reports,
        "links": list(visit.links.prefetch_related("openings", "mails")),
        "may_send_back": visit.state == Visit.State.HANDED_IN,
        "gaps": [] if is_released else gaps_before_release(visit),
        "form": form or (CorrectionForm if reports else ReleaseForm)(initial=_as_it_stands(visit, is_released)),
        "reopen_form": reopen_form or ReopenForm(auto_id="reopen-%s"),
        "send_back_form": SendBackForm(auto_id="send-back-%s", initial={"because": reason_to_send_back(visit)}),
        "is_released": is_released,
    }
    try:
        snapshot = reports[0].snapshot if is_released else freeze(visit)
        read_from = reports[0].issued_at if is_released else timezone.now()
        digest = Digest(snapshot, timezone.localtime(read_from).date())
    except DeckFaults:
        digest = None  # the gaps say where the record contradicts itself; nothing can be judged until then
    if digest and reports and not is_released:
        # Without the frozen files, which are copied when it is issued.
        context["changes"] = changes_between(reports[0].snapshot, snapshot)
    if digest:
        context |= {
            "digest": digest,
            "answer": answer_of(digest),
            "remarks": [] if is_released else second_look(digest),
            "load_path": load_path_svg(digest.standings),
            "plan": plan_of(digest),
        }
    return render(request, "inspections/reports/review_detail.html", context, status=status)


def _as_it_stands(visit: Visit, is_released: bool) -> dict[str, str]:
    return {"summary": visit.summary} | ({} if is_released else {"what_changed": visit.sent_back_because})
