"""Who works when: hours of the week, days off, public holidays, and what is allowed for the way."""

from datetime import date, datetime, time, timedelta

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.hours.forms import AllowancesForm, TimeOffForm, WeekForm, YearForm, public_holidays
from firm.hours.models import Allowances, TimeOff
from firm.hours.services import (
    USUAL,
    USUAL_WORDS,
    drop_time_off,
    save_allowances,
    set_hours,
    take_time_off,
)
from firm.people.capabilities import Capability, needs
from firm.people.models import User


@needs(Capability.BOOK)
@require_safe
def hours(request: HttpRequest) -> HttpResponse:
    return _page(request, TimeOffForm(), AllowancesForm(instance=Allowances.current()))


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def hours_edit(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User.objects.who_may(Capability.RECORD), pk=pk)
    if request.method == "POST" and "usual" in request.POST:
        set_hours(person, {}, by=request.user)
        messages.success(request, f"{person.display_name} works the usual hours: {USUAL_WORDS}.")
        return redirect("hours")
    own = {row.weekday: (row.starts, row.ends) for row in person.working_hours.all()}
    form = WeekForm(request.POST if request.method == "POST" else None, week=own or USUAL)
    if request.method == "POST" and form.is_valid():
        set_hours(person, form.week(), by=request.user)
        messages.success(request, f"The hours of {person.display_name} are stored. Visits that are booked stay.")
        return redirect("hours")
    status = 422 if request.method == "POST" else 200
    return render(request, "firm/hours/edit.html", {"person": person, "form": form}, status=status)


@needs(Capability.BOOK)
@require_POST
def time_off_add(request: HttpRequest) -> HttpResponse:
    form = TimeOffForm(request.POST)
    if not form.is_valid():
        return _page(request, form, AllowancesForm(instance=Allowances.current()), status=422)
    off = take_time_off(form.save(commit=False), by=request.user)
    messages.success(request, f"On file: {off.because}.")
    if in_the_way := _booked_on(off):
        messages.warning(request, f"{in_the_way} booked on these days stay as they are: move them in the calendar.")
    return redirect("hours")


@needs(Capability.BOOK)
@require_POST
def time_off_remove(request: HttpRequest, pk: int) -> HttpResponse:
    off = get_object_or_404(TimeOff, pk=pk)
    drop_time_off(off, by=request.user)
    messages.success(request, f"Taken off the file: {off.because}.")
    return redirect("hours")


@needs(Capability.BOOK)
@require_POST
def allowances_save(request: HttpRequest) -> HttpResponse:
    form = AllowancesForm(request.POST, instance=Allowances.current())
    if not form.is_valid():
        return _page(request, TimeOffForm(), form, status=422)
    save_allowances(form.save(commit=False), by=request.user)
    messages.success(request, "Stored. Slots are proposed and ways are warned of by these from now on.")
    return redirect("hours")


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def public_holidays_page(request: HttpRequest) -> HttpResponse:
    """The public holidays of one year, to be ticked: those that are ticked become days off of the whole firm."""
    asked = YearForm(request.POST if request.method == "POST" else request.GET)
    year = asked.cleaned_data["year"] if asked.is_valid() else timezone.localdate().year
    allowances = Allowances.current()
    known = public_holidays(allowances, year)
    kept = set(TimeOff.objects.filter(person=None, first_day__year=year).values_list("first_day", flat=True))
    if request.method == "POST":
        ticked = set(request.POST.getlist("day"))
        added = [(day, name) for day, name in known if day.isoformat() in ticked and day not in kept]
        with transaction.atomic():
            for day, name in added:
                take_time_off(TimeOff(first_day=day, last_day=day, because=name[:80]), by=request.user)
        messages.success(request, f"{len(added)} day{'' if len(added) == 1 else 's'} put on file for the whole firm.")
        return redirect("hours")
    rows = [(day, name, day in kept) for day, name in known]
    context = {"rows": rows, "year": year, "allowances": allowances}
    return render(request, "firm/hours/holidays.html", context)


def _page(
    request: HttpRequest, off_form: TimeOffForm, allowances_form: AllowancesForm, status: int = 200
) -> HttpResponse:
    people = User.objects.who_may(Capability.RECORD).prefetch_related("working_hours")
    context = {
        "people": people,
        "usual": USUAL_WORDS,
        "days_off": TimeOff.objects.filter(last_day__gte=timezone.localdate()).select_related("person"),
        "off_form": off_form,
        "allowances_form": allowances_form,
        "year": timezone.localdate().year,
    }
    return render(request, "firm/hours/hours.html", context, status=status)


def _booked_on(off: TimeOff) -> str:
    """`3 visits`; empty if nothing is booked on the days off."""
    visits = User.objects.filter(
        visits__state="booked",
        visits__starts_at__gte=_midnight(off.first_day),
        visits__starts_at__lt=_midnight(off.last_day + timedelta(days=1)),
    )
    count = (visits.filter(pk=off.person_id) if off.person_id else visits).count()
    return f"{count} visit{'' if count == 1 else 's'}" if count else ""


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))
