"""What the trends are asked for: everything in the address, so that a page of numbers can be sent to a colleague."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.db.models import Q

from firm.people.models import User
from firm.web.forms import NoColon
from inspections.findings.models import LINKS, Action, Defect, Finding
from inspections.visits.clock import firm_day, firm_today
from inspections.visits.forms import DayInput
from inspections.visits.listing import plausible_day
from inspections.visits.models import Visit

FINISHED = (Visit.State.HANDED_IN, Visit.State.RELEASED)


class TrendForm(NoColon, forms.Form):
    from_day = forms.DateField(label="Visits from", required=False, widget=DayInput())
    to_day = forms.DateField(label="to", required=False, widget=DayInput())
    action = forms.ChoiceField(label="Action word", required=False, choices=[("", "All but Sound"), *Action.choices])
    inspector = forms.ModelChoiceField(User.objects.none(), required=False, empty_label="Everybody")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["inspector"].queryset = User.objects.filter(
            Q(is_inspector=True) | Q(pk__in=Visit.objects.values("inspector"))
        )

    def clean_from_day(self) -> date | None:
        return plausible_day(self.cleaned_data["from_day"])

    def clean_to_day(self) -> date | None:
        return plausible_day(self.cleaned_data["to_day"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if (start := cleaned.get("from_day")) and (end := cleaned.get("to_day")) and end < start:
            self.add_error("to_day", "The last day lies before the first.")
        return cleaned

    def visits(self):
        """The finished visits that are counted: those of the period and the inspector."""
        asked, visits = self._asked, Visit.objects.filter(state__in=FINISHED)
        if asked.get("from_day"):
            visits = visits.filter(starts_at__gte=firm_day(asked["from_day"])[0])
        if asked.get("to_day"):
            visits = visits.filter(starts_at__lt=firm_day(asked["to_day"])[1])
        if asked.get("inspector"):
            visits = visits.filter(inspector=asked["inspector"])
        return visits

    def findings(self):
        """The findings that are counted in these visits: those of the action word, else all that are not Sound."""
        findings = Finding.objects.filter(visit__in=self.visits(), removed_at__isnull=True)
        if self._asked.get("action"):
            return findings.filter(action=self._asked["action"])
        return findings.exclude(action=Action.SOUND)

    def query(self, **more: object) -> str:
        """The choices as a query string, with `more` put in; what is empty is left out."""
        kept = {name: self[name].value() for name in self.fields}
        return urlencode({name: value for name, value in {**kept, **more}.items() if value not in (None, "")})

    @property
    def _asked(self) -> dict[str, Any]:
        self.is_valid()
        return self.cleaned_data


class NarrowForm(TrendForm):
    """The same choices, and the one row whose visits are asked for."""

    link = forms.ChoiceField(choices=[("", "Any"), *LINKS], required=False)
    defect = forms.ModelChoiceField(Defect.objects.all(), required=False, to_field_name="slug")
    is_own_words = forms.BooleanField(required=False)
    town = forms.CharField(required=False, max_length=80)
    decade = forms.IntegerField(required=False, min_value=0, max_value=2200)  # 1990: built 1990 to 1999; 0: not known

    def visits(self):
        asked, visits = self._asked, super().visits()
        if asked.get("town"):
            visits = visits.filter(property__town=asked["town"])
        if (decade := asked.get("decade")) is not None:
            built = Q(property__deck_year_built__range=(decade, decade + 9))
            visits = visits.filter(built if decade else Q(property__deck_year_built__isnull=True))
        return visits

    def findings(self):
        asked, findings = self._asked, super().findings()
        if asked.get("link"):
            findings = findings.filter(link=asked["link"])
        if asked.get("defect"):
            findings = findings.filter(defect=asked["defect"])
        if asked.get("is_own_words"):
            findings = findings.filter(defect__isnull=True)
        return findings


@dataclass(frozen=True)
class Preset:
    label: str
    query: str
    is_chosen: bool


def presets(form: TrendForm) -> list[Preset]:
    """Periods that one asks for again and again, as addresses that keep the other choices."""
    today = firm_today()
    january = today.replace(month=1, day=1)
    last_december = january - timedelta(days=1)
    periods = [
        ("All visits", "", ""),
        ("Last 90 days", today - timedelta(days=90), ""),
        ("This year", january, ""),
        ("Last year", last_december.replace(month=1, day=1), last_december),
    ]
    chosen = (form["from_day"].value() or "", form["to_day"].value() or "")
    return [
        Preset(label, form.query(from_day=start, to_day=end), (str(start), str(end)) == chosen)
        for label, start, end in periods
    ]
