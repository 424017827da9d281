from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from engine import CAUTION
from engine.errors import DeckFaults
from engine.results import Check
from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.findings.forms import FindingForm, fill_from_catalogue
from inspections.findings.models import Finding
from inspections.findings.pages import SEES_RECORDS, back_to, may_record, why_not
from inspections.findings.proposals import find_check, propose_from_check
from inspections.findings.services import open_findings, record_finding, remove_finding
from inspections.findings.words import link_named
from inspections.photos.models import Photo
from inspections.photos.services import PhotoRefused, take_in_photo
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused


@needs(*SEES_RECORDS)
@require_safe
def finding_list(request: HttpRequest, visit_pk: int) -> HttpResponse:
    visit = _visit(request, visit_pk)
    context = {
        "visit": visit,
        "findings": open_findings(visit),
        "loose_photos": Photo.objects.standing().filter(visit=visit, finding=None),
        "may_record": may_record(request.user, visit),
        "caution": CAUTION,
    }
    return render(request, "inspections/findings/list.html", context)


@needs(Capability.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
@vary_on_headers("HX-Request")
def finding_new(request: HttpRequest, visit_pk: int) -> HttpResponse:
    visit = _visit(request, visit_pk)
    link = link_named(request.GET.get("link", ""))
    finding = Finding(visit=visit, link=link)
    check = _named_check(request, visit)
    if check is not None:
        finding = propose_from_check(visit, check)
        link = finding.link
    return _edit(request, finding, link=link, check=check)


@needs(Capability.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
@vary_on_headers("HX-Request")
def finding_edit(request: HttpRequest, visit_pk: int, pk: UUID) -> HttpResponse:
    return _edit(request, _finding(request, visit_pk, pk))


@needs(Capability.RECORD)
@require_POST
def finding_remove(request: HttpRequest, visit_pk: int, pk: UUID) -> HttpResponse:
    finding = _finding(request, visit_pk, pk)
    try:
        remove_finding(finding, by=request.user)
    except Refused as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(request, f"“{finding.title}” is taken out of the record.")
    return redirect(back_to(request, finding.visit))


def _edit(request: HttpRequest, finding: Finding, link: str = "", check: Check | None = None) -> HttpResponse:
    visit, is_new = finding.visit, finding._state.adding
    if not may_record(request.user, visit):
        messages.warning(request, why_not(visit))
        return redirect("finding-list", visit.pk)
    if request.method == "POST" and "fill" in request.POST:
        form = _filled_form(request, finding, link)
    else:
        form = FindingForm(request.POST or None, request.FILES or None, instance=finding, link=link or finding.link)
        if request.method == "POST" and form.is_valid() and _saved(request, form):
            return redirect(back_to(request, visit))
    context = {
        "form": form,
        "finding": finding,
        "visit": visit,
        "is_new": is_new,
        "link": link,
        "check": check,
        "caution": CAUTION,
        "back": back_to(request, visit),
        "photos": [] if is_new else Photo.objects.standing().filter(finding=finding),
    }
    if wants_fragment(request):
        return render(request, "inspections/findings/_form.html", context, status=422 if form.errors else 200)
    return render(request, "inspections/findings/edit.html", context)


def _filled_form(request: HttpRequest, finding: Finding, link: str) -> FindingForm:
    """The form as it was sent, unsaved, with the words of the catalogue entry that was chosen."""
    unbound = FindingForm(instance=finding, link=link or finding.link)
    data = fill_from_catalogue(request.POST, unbound.fields["defect"].queryset)
    initial = {name: data.get(name) for name in unbound.fields if name in data and name != "photos"}
    return FindingForm(instance=finding, link=link or finding.link, initial=initial)


def _saved(request: HttpRequest, form: FindingForm) -> bool:
    """Keep the finding, then its photos one by one: those that are good stay even where others are refused."""
    finding = form.save(commit=False)
    try:
        record_finding(finding, by=request.user)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    messages.success(request, f"“{finding.title}” is recorded.")
    for upload in form.cleaned_data["photos"]:
        try:
            take_in_photo(finding.visit, upload, by=request.user, finding=finding)
        except PhotoRefused as refusal:
            messages.warning(request, f"A photo was not taken in. {refusal.reason}")
    return True


def _named_check(request: HttpRequest, visit: Visit) -> Check | None:
    """The check that the address names, as it comes out now; None if it names none or the record cannot be judged."""
    check_id = request.GET.get("check", "")
    if not check_id or request.method == "POST":
        return None
    try:
        return find_check(visit, check_id, request.GET.get("subject", ""))
    except DeckFaults:
        messages.warning(request, "The measurements contradict each other, so nothing could be worked out from them.")
        return None


def _visit(request: HttpRequest, pk: int) -> Visit:
    return get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=pk)


def _finding(request: HttpRequest, visit_pk: int, pk: UUID) -> Finding:
    found = Finding.objects.visible_to(request.user).select_related(
        "visit__property", "visit__client", "visit__inspector", "defect", "part"
    )
    return get_object_or_404(found, pk=pk, visit_id=visit_pk)
