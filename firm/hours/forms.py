from datetime import date, time
from typing import Any

import holidays
from django import forms
from django.core.exceptions import ValidationError

from firm.hours.models import Allowances, TimeOff, WorkingHours
from firm.hours.services import Week
from firm.people.models import User
from firm.web.forms import NoColon

_CLOCK = forms.TimeInput(format="%H:%M", attrs={"type": "time"})
_DAY = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
LONGEST_LEAVE_DAYS = 366


class WeekForm(NoColon, forms.Form):
    """From when to when somebody works, for each day of the week; a day that is left empty is free."""

    def __init__(self, *args: Any, week: Week, **kwargs: Any) -> None:
        initial = {}
        for weekday, (starts, ends) in week.items():
            initial |= {f"starts_{weekday}": starts, f"ends_{weekday}": ends}
        super().__init__(*args, initial=initial, **kwargs)
        for weekday, name in WorkingHours.Weekday.choices:
            for end in ("starts", "ends"):
                words = f"{name}, from" if end == "starts" else f"{name}, to"
                self.fields[f"{end}_{weekday}"] = forms.TimeField(
                    label=words, required=False, widget=_CLOCK,
                    error_messages={"invalid": "Write the time as 08:00."},
                )  # fmt: skip

    def days(self) -> list[tuple[str, forms.BoundField, forms.BoundField]]:
        return [
            (name, self[f"starts_{weekday}"], self[f"ends_{weekday}"]) for weekday, name in WorkingHours.Weekday.choices
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for weekday, name in WorkingHours.Weekday.choices:
            starts, ends = cleaned.get(f"starts_{weekday}"), cleaned.get(f"ends_{weekday}")
            if (starts is None) != (ends is None) and not {f"starts_{weekday}", f"ends_{weekday}"} & set(self.errors):
                missing = f"ends_{weekday}" if ends is None else f"starts_{weekday}"
                self.add_error(missing, f"{name}: both times, or neither for a free day.")
            elif starts is not None and ends is not None and ends <= starts:
                self.add_error(f"ends_{weekday}", f"{name} would end before it begins.")
        if not self.errors and not self.week():
            raise ValidationError("At least one day of the week, please. For a longer absence put days off on file.")
        return cleaned

    def week(self) -> dict[int, tuple[time, time]]:
        both = {
            weekday: (self.cleaned_data.get(f"starts_{weekday}"), self.cleaned_data.get(f"ends_{weekday}"))
            for weekday in WorkingHours.Weekday.values
        }
        return {weekday: (starts, ends) for weekday, (starts, ends) in both.items() if starts and ends}


class TimeOffForm(NoColon, forms.ModelForm):
    class Meta:
        model = TimeOff
        fields = ["person", "first_day", "last_day", "because"]
        widgets = {"first_day": _DAY, "last_day": _DAY}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = User.objects.filter(is_active=True, is_inspector=True)
        self.fields["person"].empty_label = "The whole firm"
        self.fields["last_day"].required = False
        self.fields["last_day"].help_text = "Empty: that one day."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        first, last = cleaned.get("first_day"), cleaned.get("last_day")
        if first and not last and "last_day" not in self.errors:
            last = cleaned["last_day"] = self.instance.last_day = first
        if first and not 1990 <= first.year <= 2200:
            self.add_error("first_day", "Check the year.")
        elif first and last and last < first:
            self.add_error("last_day", "The last day lies before the first.")
        elif first and last and (last - first).days > LONGEST_LEAVE_DAYS:
            self.add_error("last_day", "That is more than a year. Check the dates.")
        return cleaned


class AllowancesForm(NoColon, forms.ModelForm):
    class Meta:
        model = Allowances
        fields = ["detour", "gap_minutes", "country", "state"]

    def clean_country(self) -> str:
        return self.cleaned_data["country"].strip().upper()

    def clean_state(self) -> str:
        return self.cleaned_data["state"].strip().upper()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        states = holidays.list_supported_countries(include_aliases=True)
        country, state = cleaned.get("country"), cleaned.get("state")
        if country and country not in states:
            self.add_error("country", f"No public holidays are known for {country}. Write two letters, such as US.")
        elif state and state not in (name.upper() for name in states[country]):
            self.add_error("state", f"{state} is not known for {country}. Leave it empty for the whole country.")
        return cleaned


class YearForm(NoColon, forms.Form):
    year = forms.IntegerField(min_value=2000, max_value=2199)


def public_holidays(allowances: Allowances, year: int) -> list[tuple[date, str]]:
    """Day and name of the public holidays of that year where the firm is, as the library `holidays` has them."""
    known = holidays.country_holidays(allowances.country, subdiv=allowances.state or None, years=year)
    return sorted(known.items())
