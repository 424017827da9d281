from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from firm.properties.models import Property, PropertyQuerySet
from firm.web.forms import KnowsWhatStood, NoColon

ADDRESS = ["street", "town", "county", "region", "postcode"]
PLACE = ["latitude", "longitude"]
HOUSE = ["year_built", "deck_year_built", "deck_builder", "access_notes"]
RULES = [
    "edition",
    "live_psf",
    "ground_snow_psf",
    "frost_depth_in",
    "soil_psf",
    "is_near_salt_water",
    "rules_source",
    "rule_set",
]


class _AddressForm(NoColon, forms.ModelForm):
    def clean_street(self) -> str:
        return _with_a_letter(self.cleaned_data["street"], "A street and number, please: 4 Mill Lane.")

    def clean_town(self) -> str:
        return _with_a_letter(self.cleaned_data["town"], "The name of a town has letters in it.")

    def clean_region(self) -> str:
        return _with_a_letter(self.cleaned_data["region"], "The name of a state has letters in it.")


class PropertyForm(_AddressForm, KnowsWhatStood):
    """All about a house: where it is, what is known of its deck, and the building rules that apply there."""

    class Meta:
        model = Property
        fields = [*ADDRESS, *PLACE, *HOUSE, *RULES]
        widgets = {
            "access_notes": forms.Textarea(attrs={"rows": 3}),
            **{name: forms.TextInput(attrs={"autocomplete": "off"}) for name in ADDRESS},
            **{name: forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}) for name in PLACE},
        }
        help_texts = {
            "edition": "The edition that the local building office has adopted; not always the newest.",
            "live_psf": "People and furniture. 40 psf unless the local rule says more.",
            "ground_snow_psf": "From the local building office or its snow map. 0 where none is asked for.",
            "frost_depth_in": "How deep a footing must reach. Empty where not known: footings then read Find out.",
            "soil_psf": "What the ground carries. 1500 psf is the least that the code presumes without a soil test.",
            "latitude": "For the time on the way between two visits. Read them from any map: 44.10250.",
            "longitude": "West of Greenwich with a minus: -70.21480.",
            "rule_set": "Its local amendments apply to this house.",
            "is_near_salt_water": "Connectors and fasteners then have to stand up to salt.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rule_set"].empty_label = "None"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        latitude, longitude = cleaned.get("latitude"), cleaned.get("longitude")
        if (latitude is None) != (longitude is None) and not {"latitude", "longitude"} & set(self.errors):
            self.add_error("latitude" if latitude is None else "longitude", "Both, or neither: one alone says nothing.")
        return cleaned

    def clean_year_built(self) -> int | None:
        return _not_in_the_future(self.cleaned_data["year_built"])

    def clean_deck_year_built(self) -> int | None:
        return _not_in_the_future(self.cleaned_data["deck_year_built"])


class ShortPropertyForm(_AddressForm):
    """What one asks while the caller waits; the rules that apply can be looked up afterwards."""

    class Meta:
        model = Property
        fields = ["street", "town", "region", "postcode", "access_notes"]
        widgets = {
            "access_notes": forms.Textarea(attrs={"rows": 2}),
            **{name: forms.TextInput(attrs={"autocomplete": "off"}) for name in ADDRESS},
        }


class HouseFilter(NoColon, forms.Form):
    """Which houses are listed, from the address. What cannot be read there does not narrow the list."""

    q = forms.CharField(
        label="Address", required=False, max_length=120, widget=forms.TextInput(attrs={"type": "search"})
    )
    rules = forms.ChoiceField(
        label="Building rules", required=False,
        choices=[("", "Any"), ("missing", "Not written down yet"), ("there", "Written down")],
    )  # fmt: skip

    def rows(self) -> PropertyQuerySet:
        self.is_valid()
        houses = Property.objects.matching(self.cleaned_data.get("q") or "").select_related("client")
        if rules := self.cleaned_data.get("rules"):
            houses = houses.filter(rules_source="") if rules == "missing" else houses.exclude(rules_source="")
        return houses


def _not_in_the_future(year: int | None) -> int | None:
    if year is not None and year > timezone.localdate().year:
        raise ValidationError(f"{year} is still to come. Check the year.")
    return year


def _with_a_letter(text: Any, words: str) -> str:
    text = " ".join(text.split())
    if not any(c.isalpha() for c in text):
        raise ValidationError(words)
    return text
