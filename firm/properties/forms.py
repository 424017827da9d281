from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from firm.properties.models import Property
from firm.web.forms import NoColon

ADDRESS = ["street", "town", "county", "region", "postcode"]
HOUSE = ["year_built", "deck_year_built", "deck_builder", "access_notes"]
RULES = [
    "edition",
    "live_psf",
    "ground_snow_psf",
    "frost_depth_in",
    "soil_psf",
    "is_near_salt_water",
    "rules_source",
]


class _AddressForm(NoColon, forms.ModelForm):
    def clean_street(self) -> str:
        return _with_a_letter(self.cleaned_data["street"], "A street and number, please: 4 Mill Lane.")

    def clean_town(self) -> str:
        return _with_a_letter(self.cleaned_data["town"], "The name of a town has letters in it.")

    def clean_region(self) -> str:
        return _with_a_letter(self.cleaned_data["region"], "The name of a state has letters in it.")


class PropertyForm(_AddressForm):
    """All about a house: where it is, what is known of its deck, and the building rules that apply there."""

    class Meta:
        model = Property
        fields = [*ADDRESS, *HOUSE, *RULES]
        widgets = {
            "access_notes": forms.Textarea(attrs={"rows": 3}),
            **{name: forms.TextInput(attrs={"autocomplete": "off"}) for name in ADDRESS},
        }
        help_texts = {
            "edition": "The edition that the local building office has adopted; not always the newest.",
            "live_psf": "People and furniture. 40 psf unless the local rule says more.",
            "ground_snow_psf": "From the local building office or its snow map. 0 where none is asked for.",
            "frost_depth_in": "How deep a footing must reach. Empty where not known: footings then read Find out.",
            "soil_psf": "What the ground carries. 1500 psf is the least that the code presumes without a soil test.",
            "is_near_salt_water": "Connectors and fasteners then have to stand up to salt.",
        }

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


def _not_in_the_future(year: int | None) -> int | None:
    if year is not None and year > timezone.localdate().year:
        raise ValidationError(f"{year} is still to come. Check the year.")
    return year


def _with_a_letter(text: Any, words: str) -> str:
    text = " ".join(text.split())
    if not any(c.isalpha() for c in text):
        raise ValidationError(words)
    return text
