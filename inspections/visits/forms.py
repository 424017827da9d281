from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from firm.people.capabilities import Capability
from firm.people.models import User
from firm.web.forms import LongChoice, NoColon
from inspections.visits.clock import firm_moment, firm_today
from inspections.visits.models import Visit
from inspections.visits.refusals import (
    InspectorBusy,
    NoSuchTime,
    NotAnInspector,
    OnDayOff,
    OutsideHours,
    Refused,
    StartsInThePast,
)
from inspections.visits.slots import DECK_SIZES

FURTHEST_DAYS = 3 * 366
# What only a visit with a time has.
WHEN = ("inspector", "day", "time", "travel_minutes", "despite")


class DayInput(forms.DateInput):
    input_type = "date"

    def __init__(self, **attrs: Any) -> None:
        super().__init__(attrs=attrs, format="%Y-%m-%d")


class ClockInput(forms.TimeInput):
    input_type = "time"

    def __init__(self, **attrs: Any) -> None:
        super().__init__(attrs=attrs, format="%H:%M")


def clean_booking_day(day: date) -> date:
    """Raises ValidationError for a day that is over, or so far off that the year was mistyped."""
    if day < firm_today():
        raise ValidationError("This day is over. Choose one that is still to come.")
    refuse_mistyped_year(day)
    return day


def refuse_mistyped_year(day: date) -> None:
    if day > firm_today() + timedelta(days=FURTHEST_DAYS):
        raise ValidationError("This day is more than three years away. Check the year.")


class WhenForm(NoColon, forms.Form):
    """Who comes when, and for how long.

    `cleaned_data["starts_at"]` is aware; `note` tells of an hour that comes twice.
    """

    inspector = LongChoice(User.objects.none())
    day = forms.DateField(widget=DayInput(), error_messages={"invalid": "Write the day as 2027-03-09."})
    time = forms.TimeField(
        label="Starts at", widget=ClockInput(), error_messages={"invalid": "Write the time as 14:30 or 2:30 PM."},
        input_formats=["%H:%M", "%H:%M:%S", "%I:%M %p", "%I %p", "%I:%M%p", "%I%p"],
    )  # fmt: skip
    length_minutes = forms.IntegerField(label="Length, minutes", min_value=15, max_value=600, initial=90)
    travel_minutes = forms.IntegerField(
        label="Travel before, minutes",
        min_value=0,
        max_value=300,
        initial=20,
        help_text="The inspector is kept free for the way there.",
    )
    despite = forms.CharField(
        label="Reason to go all the same",
        required=False,
        max_length=200,
        help_text="Outside the hours or on a day off a visit is booked only with a reason. It is kept with the visit.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.note = ""
        self.is_against_the_plan = False
        self.fields["inspector"].queryset = User.objects.who_may(Capability.RECORD)
        self.fields["inspector"].empty_label = "Choose"

    def clean_day(self) -> date:
        return clean_booking_day(self.cleaned_data["day"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("day") and cleaned.get("time") is not None:
            try:
                moment = firm_moment(cleaned["day"], cleaned["time"])
            except NoSuchTime as refusal:
                self.refuse(refusal)
            else:
                cleaned["starts_at"], self.note = moment.at, moment.note
        return cleaned

    def forget(self, names: Iterable[str]) -> None:
        """What stands in these fields does not count, whatever it is."""
        self.is_valid()
        for name in names:
            self.errors.pop(name, None)
            self.cleaned_data.pop(name, None)

    @property
    def asks_why_despite(self) -> bool:
        """Whether the field for the reason is shown: once it was refused for want of one, or something stands there."""
        return self.is_against_the_plan or bool(self["despite"].value())

    def refuse(self, refusal: Refused) -> None:
        """Put the refusal of a service beside the field that it is about."""
        self.is_against_the_plan = isinstance(refusal, (OnDayOff, OutsideHours))
        field = next((name for kind, name in _BESIDE.items() if isinstance(refusal, kind)), None)
        self.add_error(field, str(refusal))


_BESIDE: dict[type[Refused], str] = {
    NoSuchTime: "time",
    StartsInThePast: "time",
    InspectorBusy: "time",
    NotAnInspector: "inspector",
    OnDayOff: "day",
    OutsideHours: "time",
}


class MoveForm(WhenForm):
    """`version` is the state of the visit that the page showed; left out, whatever it is now."""

    version = forms.IntegerField(required=False, widget=forms.HiddenInput)


class BookForm(WhenForm):
    purpose = forms.ChoiceField(choices=Visit.Purpose.choices, initial=Visit.Purpose.WHOLE_DECK)
    deck_size = forms.ChoiceField(
        label="Size of the deck", choices=DECK_SIZES, required=False, help_text="The length is proposed from it."
    )
    notes = forms.CharField(
        label="For the inspector", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 3})
    )
    suits = forms.CharField(
        label="When it would suit",
        required=False,
        max_length=1000,
        help_text="In the caller's words, where no time is agreed yet.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


class DayForm(NoColon, forms.Form):
    """Which day, and which inspector comes first. Whatever cannot be read is left out: it is only a look."""

    day = forms.DateField(required=False, widget=DayInput())
    inspector = LongChoice(User.objects.none(), required=False, empty_label="Everybody")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["inspector"].queryset = User.objects.who_may(Capability.RECORD)

    def clean_day(self) -> date | None:
        day = self.cleaned_data["day"]
        if day and not date(2000, 1, 1) <= day <= firm_today() + timedelta(days=FURTHEST_DAYS):
            raise ValidationError("Choose a day of these years.")
        return day


class GiveUpForm(NoColon, forms.Form):
    suits = forms.CharField(
        label="When it would suit",
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In the client's words. It stands in the list of visits without a time.",
    )


class CallOffForm(NoColon, forms.Form):
    kind = forms.ChoiceField(
        label="Why it is called off",
        choices=Visit.OffBecause.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what comes nearest."},
    )
    because = forms.CharField(
        label="In words",
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="For the firm only; the client is told that nobody will come.",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("kind") == Visit.OffBecause.OTHER and not (cleaned.get("because") or "").strip():
            self.add_error("because", "Say why; whoever looks it up later has only these words.")
        return cleaned


class SendBackForm(NoColon, forms.Form):
    because = forms.CharField(
        label="What is to be put right",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="The inspector reads these words on top of the record, and each comment at the thing it is about.",
        error_messages={"required": "Say what is to be put right; the inspector has only these words."},
    )


class HandInForm(NoColon, forms.Form):
    summary = forms.CharField(
        label="In a few words for the client",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Two or three plain sentences. They stand beside the answer on the first page of the report.",
    )
