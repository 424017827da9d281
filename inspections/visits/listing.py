"""The list of visits: which are asked for in the address, and under which week each stands."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone

from firm.clients.models import Client, asked_words
from firm.people.models import User
from firm.properties.models import Property
from firm.web.forms import LongChoice, NoColon
from inspections.visits.clock import firm_day, firm_today
from inspections.visits.forms import DayInput
from inspections.visits.models import Visit, VisitQuerySet


class Period:
    COMING, PAST, ALL = "coming", "past", "all"
    CHOICES = [(COMING, "From this week"), (PAST, "Before, latest first"), (ALL, "All, latest first")]


class VisitFilter(NoColon, forms.Form):
    """Every field may be empty; what cannot be read is named beside its field and does not narrow the list."""

    state = forms.ChoiceField(choices=[("", "Any state"), *Visit.State.choices], required=False)
    inspector = LongChoice(User.objects.none(), required=False, empty_label="Everybody")
    period = forms.ChoiceField(label="When", choices=Period.CHOICES, required=False)
    from_day = forms.DateField(label="From", required=False, widget=DayInput())
    to_day = forms.DateField(label="To", required=False, widget=DayInput())
    q = forms.CharField(
        label="Client or address", required=False, max_length=120, widget=forms.TextInput(attrs={"type": "search"})
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        # Also those who left: their visits are still there.
        self.fields["inspector"].queryset = User.objects.filter(
            Q(is_inspector=True) | Q(pk__in=Visit.objects.values("inspector"))
        )

    def clean_from_day(self) -> date | None:
        return plausible_day(self.cleaned_data["from_day"])

    def clean_to_day(self) -> date | None:
        return plausible_day(self.cleaned_data["to_day"])

    def clean(self):
        cleaned = super().clean()
        if (start := cleaned.get("from_day")) and (end := cleaned.get("to_day")) and end < start:
            self.add_error("to_day", "The last day lies before the first.")
        return cleaned

    def narrow(self, visits: VisitQuerySet) -> VisitQuerySet:
        """The visits that are asked for, in the order to show them."""
        self.is_valid()
        asked = self.cleaned_data
        if asked.get("state"):
            visits = visits.filter(state=asked["state"])
        if asked.get("inspector"):
            visits = visits.filter(inspector=asked["inspector"])
        visits = said_in(visits, asked.get("q") or "")
        if asked.get("state") == Visit.State.ASKED_FOR:
            return visits.order_by("asked_at", "pk")  # without a time no period narrows them
        start, end = asked.get("from_day"), asked.get("to_day")
        if start or end:
            visits = visits.filter(starts_at__gte=firm_day(start)[0]) if start else visits
            visits = visits.filter(starts_at__lt=firm_day(end)[1]) if end else visits
            return visits.order_by("starts_at", "pk")
        period, monday = asked.get("period") or Period.COMING, firm_day(monday_of(firm_today()))[0]
        if period == Period.COMING:
            return visits.filter(starts_at__gte=monday).order_by("starts_at", "pk")
        if period == Period.PAST:
            visits = visits.filter(starts_at__lt=monday)
        return visits.order_by("-starts_at", "-pk")


def said_in(visits: VisitQuerySet, text: str) -> VisitQuerySet:
    """The visits in whose client or address every word occurs."""
    for word in asked_words(text):
        visits = visits.filter(
            Q(client__in=Client.objects.filter(search_text__contains=word))
            | Q(property__in=Property.objects.filter(search_text__contains=word))
        )
    return visits


def plausible_day(day: date | None) -> date | None:
    """Raises ValidationError for a year in which there were no such visits; the clock of some years overflows."""
    if day and not 1990 <= day.year <= 2200:
        raise ValidationError("Check the year.")
    return day


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


@dataclass
class Week:
    monday: date | None  # None: these have no time, or come in another order
    visits: list[Visit] = field(default_factory=list)
    label: str = "Without a time"

    @property
    def sunday(self) -> date | None:
        return self.monday and self.monday + timedelta(days=6)

    @property
    def words(self) -> str:
        """`This week`, `Next week`, `Last week`, or nothing: then the dates say enough."""
        if self.monday is None:
            return self.label
        weeks_off = (self.monday - monday_of(firm_today())).days // 7
        return {0: "This week", 1: "Next week", -1: "Last week"}.get(weeks_off, "")


def by_week(visits: Iterable[Visit]) -> list[Week]:
    """The visits under their weeks, in the order in which they come."""
    weeks: list[Week] = []
    for visit in visits:
        monday = monday_of(timezone.localtime(visit.starts_at).date()) if visit.has_time else None
        if not weeks or weeks[-1].monday != monday:
            weeks.append(Week(monday))
        weeks[-1].visits.append(visit)
    return weeks
