"""What is done to one visit: moved, called off, begun, handed in, sent back."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.visits import services
from inspections.visits.clock import clock_words, day_words
from inspections.visits.forms import CallOffForm, GiveUpForm, HandInForm, SendBackForm
from inspections.visits.hours import outside_hours
from inspections.visits.models import Visit
from inspections.visits.moving import MovingDesk
from inspections.visits.refusals import NotReady, Refused
from inspections.visits.views.book import day_in_form, told


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
@vary_on_headers("HX-Request")
def visit_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Another time for a booked visit, or the first one for a visit that is asked for."""
    visit = _visit(request, pk)
    if not request.POST.keys().isdisjoint(("propose", "take")):
        return _look_for_another_time(request, MovingDesk(visit, request.POST))
    desk = MovingDesk(visit, request.POST, is_checked=request.method == "POST")
    moved = desk.store(request.user) if desk.is_checked else None
    if moved is None:
        return _move_page(request, desk, status=_status(request))
    at = f"{day_words(moved.starts_at)}, {clock_words(moved.starts_at)}"
    told_words = "" if visit.has_time else f" {told(moved)}"
    messages.success(request, f"Now booked for {moved.inspector.display_name}: {at}.{told_words}")
    for note in (desk.form.note, outside_hours(moved)):
        if note:
            messages.warning(request, note)
    return redirect("visit-detail", visit.pk)


def _look_for_another_time(request: HttpRequest, desk: MovingDesk) -> HttpResponse:
    if not wants_fragment(request):
        return _move_page(request, desk)
    if request.htmx.target == "slots":
        return render(request, "inspections/visits/_slots.html", {"desk": desk})
    context = {"desk": desk, "form": desk.form} | day_in_form(desk.data, desk.visit)
    return render(request, "inspections/visits/_when_and_day.html", context)


def _move_page(request: HttpRequest, desk: MovingDesk, status: int = 200) -> HttpResponse:
    context = {"visit": desk.visit, "desk": desk, "form": desk.form} | day_in_form(desk.data, desk.visit)
    return render(request, "inspections/visits/move.html", context, status=status)


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def visit_give_up(request: HttpRequest, pk: int) -> HttpResponse:
    """The booked time does not suit, and no other is agreed yet."""
    # The outside page knows visits, so this room knows it only here, when it is asked.
    from inspections.outside.models import TimeWish

    visit = _visit(request, pk)
    wish = TimeWish.objects.unanswered().filter(visit=visit).last()
    form = GiveUpForm(request.POST if request.method == "POST" else None, initial={"suits": wish.words if wish else ""})
    if request.method == "POST" and form.is_valid():
        try:
            services.give_time_up(visit, by=request.user, suits=form.cleaned_data["suits"])
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The time is free again. The visit is asked for, and waits for another.")
            return redirect("visit-detail", visit.pk)
    context = {"visit": visit, "form": form}
    return render(request, "inspections/visits/give_up.html", context, status=_status(request))


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
            messages.success(
                request, "The visit is called off." + (" Its time is free again." if visit.has_time else "")
            )
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
        words = "Asked for again. It waits for a time."
        if again.has_time:
            at = f"{day_words(again.starts_at)}, {clock_words(again.starts_at)}"
            words = f"Booked again, at its old time: {at}. {told(again)}"
        messages.success(request, words)
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
    return get_object_or_404(Visit.objects.known_to(request.user).whole(), pk=pk)


def _status(request: HttpRequest) -> int:
    return 422 if request.method == "POST" else 200
