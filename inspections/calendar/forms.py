from typing import Any

from django import forms

from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.visits.clock import firm_moment
from inspections.visits.forms import clean_booking_day
from inspections.visits.refusals import NoSuchTime


class ShiftForm(forms.Form):
    """Where a visit was put in the calendar: a day and an hour of the firm's clock, a length, perhaps a person."""

    visit = forms.IntegerField(min_value=1, max_value=2**62)
    day = forms.DateField(input_formats=["%Y-%m-%d"])
    time = forms.TimeField(input_formats=["%H:%M"])
    length_minutes = forms.IntegerField(min_value=15, max_value=600)
    inspector = forms.ModelChoiceField(User.objects.none(), required=False)
    version = forms.IntegerField(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.note = ""
        self.fields["inspector"].queryset = User.objects.who_may(Capability.RECORD)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("day") and cleaned.get("time") is not None:
            try:
                clean_booking_day(cleaned["day"])
                moment = firm_moment(cleaned["day"], cleaned["time"])
            except NoSuchTime as refusal:
                self.add_error("time", str(refusal))
            except forms.ValidationError as error:
                self.add_error("day", error)
            else:
                cleaned["starts_at"], self.note = moment.at, moment.note
        return cleaned

    @property
    def words(self) -> str:
        """Every message, as one text: the calendar has no field to set one beside."""
        return " ".join(str(message) for messages in self.errors.values() for message in messages)
