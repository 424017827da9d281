"""Booking, and whose day looks how."""

from datetime import date, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.people.models import User
from firm.web import wants_fragment
from inspections.visits.busy import days_of_inspectors
from inspections.visits.clock import clock_words, day_words, firm_today
from inspections.visits.desk import Desk
from inspections.visits.forms import DayForm
from inspections.visits.hours import outside_hours
from inspections.visits.models import Visit
from inspections.visits.slots import read_slot


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
@vary_on_headers("HX-Request")
def visit_book(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, Desk(request.GET))
    if not request.POST.keys().isdisjoint(("find", "pick_client", "pick_property", "propose", "take")):
        return _change(request, Desk(request.POST))
    desk = Desk(request.POST, is_checked=True)
    visit = desk.book(request.user) if desk.is_complete() else None
    if visit is None:
        return _page(request, desk, status=422)
    if not visit.has_time:
        messages.success(request, "Kept as asked for. No mail goes out until it has a time.")
        return redirect("visit-detail", visit.pk)
    at = f"{day_words(visit.starts_at)}, {clock_words(visit.starts_at)}"
    messages.success(request, f"Booked: {visit.inspector.display_name}, {at}. {told(visit)}")
    for note in (desk.form.note, outside_hours(visit)):
        if note:
            messages.warning(request, note)
    return redirect("visit-detail", visit.pk)


def _change(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A part of the desk is about somebody or something else now: that part, and what depends on it."""
    if not wants_fragment(request):
        return _page(request, desk)
    part = {"found": "_found.html", "who": "_who_and_slots.html", "slots": "_slots.html"}.get(request.htmx.target)
    if part:
        return render(request, f"inspections/visits/{part}", {"desk": desk})
    context = {"desk": desk, "form": desk.form} | day_in_form(desk.data)
    return render(request, "inspections/visits/_when_and_day.html", context)


@needs(Capability.BOOK)
@require_safe
@vary_on_headers("HX-Request")
def visit_day(request: HttpRequest) -> HttpResponse:
    """Where every inspector is on one day."""
    form = DayForm(request.GET or None)
    form.is_valid()
    cleaned = getattr(form, "cleaned_data", {})
    context = day_context(cleaned.get("day"), cleaned.get("inspector"))
    if wants_fragment(request):
        return render(request, "inspections/visits/_day.html", context)
    step = timedelta(days=1)
    context |= {"form": form, "day_before": context["day"] - step, "day_after": context["day"] + step}
    return render(request, "inspections/visits/day.html", context)


def told(visit: Visit) -> str:
    """Whether the client is told of a booking, in words for whoever booked it."""
    if visit.client.email:
        return f"A confirmation goes to {visit.client.email}."
    return "There is no mail address on file: tell them yourself."


def day_context(day: date | None, first: User | None = None) -> dict:
    day = day or firm_today()
    return {"day": day, "chosen": first, "inspectors": days_of_inspectors(day, first)}


def day_in_form(data: QueryDict, visit: Visit | None = None) -> dict:
    """The day that the form of the page is about: that of the time that was taken, or typed, or of the visit."""
    look = DayForm({**data.dict(), **read_slot(data.get("take", ""))})
    look.is_valid()
    day, inspector = look.cleaned_data.get("day"), look.cleaned_data.get("inspector")
    if visit and visit.has_time:
        day, inspector = day or timezone.localtime(visit.starts_at).date(), inspector or visit.inspector
    return day_context(day, inspector)


def _page(request: HttpRequest, desk: Desk, status: int = 200) -> HttpResponse:
    context = {"desk": desk, "form": desk.form} | day_in_form(desk.data)
    return render(request, "inspections/visits/book.html", context, status=status)
