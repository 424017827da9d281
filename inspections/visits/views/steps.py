"""What is done to one visit: moved, called off, begun, handed in, sent back."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from firm.people.capabilities import Capability, needs
from inspections.visits import services
from inspections.visits.clock import clock_words, day_words
from inspections.visits.forms import CallOffForm, HandInForm, MoveForm, SendBackForm
from inspections.visits.hours import outside_hours
from inspections.visits.models import Visit
from inspections.visits.refusals import NotReady, Refused
from inspections.visits.views.book import day_context, told


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def visit_move(request: HttpRequest, pk: int) -> HttpResponse:
    visit = _visit(request, pk)
    local = timezone.localtime(visit.starts_at)
    as_it_is = {
        "inspector": visit.inspector_id,
        "day": local.date(),
        "time": local.time(),
        "length_minutes": visit.length_minutes,
        "travel_minutes": visit.travel_minutes,
        "version": visit.calendar_version,
    }
    form = MoveForm(request.POST if request.method == "POST" else None, initial=as_it_is)
    if request.method == "POST" and form.is_valid():
        when = form.cleaned_data
        names = ("starts_at", "length_minutes", "travel_minutes", "inspector", "despite")
        fields = {name: when[name] for name in names}
        try:
            moved = services.move_visit(visit, by=request.user, seen_version=when["version"], **fields)
        except Refused as refusal:
            form.refuse(refusal)
        else:
            at = f"{day_words(moved.starts_at)}, {clock_words(moved.starts_at)}"
            messages.success(request, f"Now booked for {moved.inspector.display_name}: {at}.")
            for note in (form.note, outside_hours(moved)):
                if note:
                    messages.warning(request, note)
            return redirect("visit-detail", visit.pk)
    context = {"visit": visit, "form": form}
    cleaned = getattr(form, "cleaned_data", {})
    context |= day_context(cleaned.get("day") or local.date(), cleaned.get("inspector") or visit.inspector)
    return render(request, "inspections/visits/move.html", context, status=_status(request))


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def visit_call_off(request: HttpRequest, pk: int) -> HttpResponse:
    visit = _visit(request, pk)
    form = CallOffForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            services.call_off(visit, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The visit is called off. Its time is free again.")
            return redirect("visit-detail", visit.pk)
    context = {"visit": visit, "form": form}
    return render(request, "inspections/visits/call_off.html", context, status=_status(request))


@needs(Capability.BOOK)
@require_POST
def visit_book_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo calling off."""
    visit = _visit(request, pk)
    try:
        again = services.book_again(visit, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
    else:
        at = f"{day_words(again.starts_at)}, {clock_words(again.starts_at)}"
        messages.success(request, f"Booked again, at its old time: {at}. {told(again)}")
    return redirect("visit-detail", visit.pk)


@needs(Capability.BOOK)
@require_POST
def visit_confirm(request: HttpRequest, pk: int) -> HttpResponse:
    """The client has confirmed the time, or (`undo`) has not after all."""
    try:
        services.confirm(_visit(request, pk), by=request.user, is_confirmed="undo" not in request.POST)
    except Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
    return redirect("visit-detail", pk)


@needs(Capability.RECORD)
@require_POST
def visit_not_begun(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo beginning: harmless while nothing is recorded."""
    try:
        services.put_back(_visit(request, pk), by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
    else:
        messages.success(request, "Put back: the visit is booked, and has not begun.")
    return redirect("visit-detail", pk)


@needs(Capability.RECORD)
@require_POST
def visit_begin(request: HttpRequest, pk: int) -> HttpResponse:
    visit = _visit(request, pk)
    try:
        services.begin(visit, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
        return redirect("visit-detail", visit.pk)
    try:
        return redirect(reverse("walk", args=[visit.pk]))
    except NoReverseMatch:
        return redirect("visit-detail", visit.pk)


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_POST
def visit_take_rules(request: HttpRequest, pk: int) -> HttpResponse:
    """Judge the open record by the rules as they stand on the house now."""
    from inspections.survey.basis import take_rules_anew

    visit = _visit(request, pk)
    try:
        take_rules_anew(visit, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
    else:
        messages.success(request, "The record is judged by the rules as they stand now.")
    return redirect("visit-detail", visit.pk)


@needs(Capability.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
def visit_hand_in(request: HttpRequest, pk: int) -> HttpResponse:
    """The gaps that are left, the words for the client, and the button."""
    visit = _visit(request, pk)
    form = HandInForm(request.POST if request.method == "POST" else None, initial={"summary": visit.summary})
    gaps, problem = services.find_gaps(visit) if visit.is_open_for_record else [], ""
    if request.method == "POST" and form.is_valid():
        try:
            services.hand_in(visit, by=request.user, summary=form.cleaned_data["summary"])
        except NotReady as refusal:
            gaps = refusal.gaps
        except Refused as refusal:
            problem = str(refusal)
        else:
            messages.success(request, "Handed in. It is at the release desk now, and closed for writing.")
            return redirect("visit-detail", visit.pk)
    context = {"visit": visit, "form": form, "gaps": gaps, "problem": problem}
    return render(request, "inspections/visits/hand_in.html", context, status=_status(request))


@needs(Capability.RELEASE)
@require_http_methods(["GET", "HEAD", "POST"])
def visit_send_back(request: HttpRequest, pk: int) -> HttpResponse:
    visit = _visit(request, pk)
    form = SendBackForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            services.send_back(visit, because=form.cleaned_data["because"], by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Sent back to {visit.inspector.display_name}.")
            return redirect("visit-detail", visit.pk)
    context = {"visit": visit, "form": form}
    return render(request, "inspections/visits/send_back.html", context, status=_status(request))


def _visit(request: HttpRequest, pk: int) -> Visit:
    return get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=pk)


def _status(request: HttpRequest) -> int:
    return 422 if request.method == "POST" else 200
