"""The calendar: looked at by everybody who works with visits, moved in by those who book."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.calendar.forms import ShiftForm
from inspections.calendar.grid import read_sheet
from inspections.calendar.look import VIEWS, Look
from inspections.visits.clock import clock_words, day_words
from inspections.visits.hours import outside_hours
from inspections.visits.models import Visit
from inspections.visits.refusals import OnDayOff, OutsideHours, Refused
from inspections.visits.services import move_visit
from inspections.visits.travel import Road


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
@vary_on_headers("HX-Request")
def calendar(request: HttpRequest) -> HttpResponse:
    template = "_calendar.html" if wants_fragment(request) else "calendar.html"
    return render(request, f"inspections/calendar/{template}", _context(request))


@needs(Capability.BOOK)
@require_POST
@vary_on_headers("HX-Request")
def calendar_shift(request: HttpRequest) -> HttpResponse:
    """A visit was put elsewhere in the calendar. Refused, it stands where it stood, and the words say why."""
    form = ShiftForm(request.POST)
    is_readable = form.is_valid()
    visit, done, refused = None, "", ""
    number = form.cleaned_data.get("visit")
    if number is not None:
        visit = get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=number)
    if not is_readable:
        refused = form.words
    else:
        try:
            done = _shift(visit, form, request)
        except (OnDayOff, OutsideHours) as refusal:
            refused = f"{refusal} To go there all the same, open the visit and choose Move: it asks for the reason."
        except Refused as refusal:
            refused = str(refusal)
    if wants_fragment(request):
        context = _context(request, done=done, refused=refused, focus=number)
        return render(request, "inspections/calendar/_calendar.html", context, status=422 if refused else 200)
    (messages.error if refused else messages.success)(request, refused or done, extra_tags="problem" if refused else "")
    return redirect(f"{reverse('calendar')}?{Look.read(request.GET).address}")


def _shift(visit: Visit, form: ShiftForm, request: HttpRequest) -> str:
    put = form.cleaned_data
    local = timezone.localtime(visit.starts_at)
    # Of an hour that comes twice a visit that is only made longer keeps the one it had.
    stays = (put["day"], put["time"]) == (local.date(), local.time().replace(second=0, microsecond=0))
    moved = move_visit(
        visit,
        starts_at=visit.starts_at if stays else put["starts_at"],
        length_minutes=put["length_minutes"],
        inspector=put["inspector"],
        seen_version=put["version"],
        by=request.user,
    )
    when = f"{day_words(moved.starts_at)}, {clock_words(moved.starts_at)} to {clock_words(moved.ends_at)}"
    notes = [f"{moved.property.street} is now booked for {moved.inspector.display_name}: {when}."]
    if form.note and not stays:
        notes.append(form.note)
    if outside := outside_hours(moved):
        notes.append(outside)
    return " ".join(notes)


def _context(request: HttpRequest, **more: Any) -> dict[str, Any]:
    look = Look.read(request.GET)
    sheet = read_sheet(look, request.user, Road.current())
    return {
        "look": look,
        "sheet": sheet,
        "views": [(name, label, look.seen_as(name)) for name, label in VIEWS.items()],
        "may_shift": request.user.may(Capability.BOOK),
        **more,
    }
