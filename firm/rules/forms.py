from difflib import get_close_matches
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from firm.rules.keys import known_keys, known_rules
from firm.rules.models import Amendment, Confirmation, RuleSet, key_of_place
from firm.web.forms import NoColon


def day_input() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def not_in_the_future(day: Any) -> Any:
    if day > timezone.localdate():
        raise ValidationError("This day is still to come. Say when it was adopted, asked or compared.")
    return day


class RuleSetForm(NoColon, forms.ModelForm):
    class Meta:
        model = RuleSet
        fields = [
            "region", "county", "town", "edition", "live_psf", "ground_snow_psf", "frost_depth_in", "soil_psf",
            "is_near_salt_water", "citation", "holds_from",
        ]  # fmt: skip
        widgets = {"holds_from": day_input()}
        help_texts = {
            "edition": "The edition that the building office has adopted; not always the newest.",
            "ground_snow_psf": "0 where none is asked for.",
            "frost_depth_in": "Empty where not known: footings then read Find out.",
            "soil_psf": "1500 psf is the least that the code presumes without a soil test.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk is None:
            self.initial["ground_snow_psf"] = None  # a proposed 0 would be stored unread, and snow forgotten

    def clean_holds_from(self) -> Any:
        return not_in_the_future(self.cleaned_data["holds_from"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        region, county, town = (" ".join(cleaned.get(name, "").split()) for name in ("region", "county", "town"))
        if not county and not town:
            self.add_error("county", "Name a county, or a town that has rules of its own.")
        elif RuleSet.objects.filter(place_key=key_of_place(region, county, town)).exclude(pk=self.instance.pk).exists():
            self.add_error("county", "This place has a rule set already. Edit that one.")
        return cleaned


class AmendmentForm(NoColon, forms.ModelForm):
    """One local rule. What is not a rule of the code is refused, with the names that come nearest."""

    class Meta:
        model = Amendment
        fields = ["key", "value", "unit", "citation"]
        widgets = {"key": forms.TextInput(attrs={"list": "rule-keys", "autocomplete": "off", "spellcheck": "false"})}
        help_texts = {"unit": "As in the code: in, psf, lb."}

    def clean_key(self) -> str:
        known = known_keys().get(self.cleaned_data["key"].strip())
        if known and not known.is_read:
            raise ValidationError("No check reads this rule: another number in its place would change no verdict.")
        return _among(self.cleaned_data["key"], known_rules(), "rule")

    def clean_value(self) -> float:
        value = self.cleaned_data["value"]
        if not 0 <= value <= 100_000:
            raise ValidationError("From 0 to 100,000.")
        return value

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        rule = known_rules().get(cleaned.get("key", ""))
        if rule and cleaned.get("unit") and cleaned["unit"] != rule.unit:
            self.add_error("unit", f"The code has {rule.key} in {rule.unit}. Give the value in {rule.unit}.")
        return cleaned


class ConfirmationForm(NoColon, forms.ModelForm):
    class Meta:
        model = Confirmation
        fields = ["key", "on", "copy"]
        widgets = {
            "key": forms.TextInput(attrs={"list": "all-keys", "autocomplete": "off", "spellcheck": "false"}),
            "on": day_input(),
        }
        labels = {"on": "Compared on"}

    def clean_key(self) -> str:
        return _among(self.cleaned_data["key"], known_keys(), "rule or table")

    def clean_on(self) -> Any:
        return not_in_the_future(self.cleaned_data["on"])

    def validate_unique(self) -> None:
        """A later comparison takes the place of the earlier one."""


def _among(key: str, known: dict[str, Any], what: str) -> str:
    key = key.strip()
    if known and key not in known:
        near = get_close_matches(key, known, n=3, cutoff=0.5)
        instead = f" Perhaps {' or '.join(near)}?" if near else ""
        raise ValidationError(f"There is no {what} under this name.{instead}")
    return key
