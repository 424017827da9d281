from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from firm.branding.contrast import LEAST_FOR_TEXT, PAPER, contrast_ratio
from firm.branding.logo import LogoRefused, clean_logo
from firm.branding.models import Firm, hex_colour
from firm.clients.forms import clean_phone
from firm.web.forms import NoColon


class FirmForm(NoColon, forms.ModelForm):
    new_logo = forms.FileField(
        label="Logo",
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/png,image/jpeg,image/webp"}),
        help_text="PNG, JPEG or WebP, at most 2 MB. A wide one on a clear or white ground prints best.",
    )
    remove_logo = forms.BooleanField(label="Take the logo away", required=False)

    class Meta:
        model = Firm
        fields = [
            "name",
            "strapline",
            "licence_line",
            "address",
            "phone",
            "email",
            "ink_colour",
            "accent_colour",
            "paper",
            "units",
            "link_days",
            "retention_years",
            "travel_mph",
            "keeps_photo_location",
            "cautions",
        ]
        labels = {
            "name": "Name of the firm",
            "phone": "Telephone",
            "ink_colour": "Ink: headings and lines",
            "accent_colour": "Accent: what is over its limit",
            "paper": "Paper of the reports",
            "units": "Lengths are shown in",
            "cautions": "Cautions of your own",
        }
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "cautions": forms.Textarea(attrs={"rows": 5}),
            "ink_colour": forms.TextInput(attrs={"type": "color"}),
            "accent_colour": forms.TextInput(attrs={"type": "color"}),
        }

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if not any(c.isalpha() for c in name):
            raise ValidationError("The name of a firm has letters in it.")
        return name

    def clean_phone(self) -> str:
        return clean_phone(self.cleaned_data["phone"])

    def clean_ink_colour(self) -> str:
        return _readable(self.cleaned_data["ink_colour"])

    def clean_accent_colour(self) -> str:
        return _readable(self.cleaned_data["accent_colour"])

    def clean_link_days(self) -> int:
        days = self.cleaned_data["link_days"]
        if not 1 <= days <= 3650:
            raise ValidationError("From 1 day to 3650 days (ten years).")
        return days

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("travel_mph", "retention_years"):
            self.fields[name].required = False  # left empty it stays as it is

    def clean_travel_mph(self) -> int:
        mph = self.cleaned_data["travel_mph"]
        return self.initial["travel_mph"] if mph is None else mph

    def clean_retention_years(self) -> int:
        years = self.cleaned_data["retention_years"]
        return self.initial["retention_years"] if years is None else years

    def clean_new_logo(self) -> Any:
        upload = self.cleaned_data["new_logo"]
        if not upload:
            return None
        try:
            return clean_logo(upload)
        except LogoRefused as refusal:
            raise ValidationError(str(refusal)) from refusal


def _readable(colour: str) -> str:
    hex_colour(colour)  # the model would ask only after this
    ratio = contrast_ratio(colour, PAPER)
    if ratio < LEAST_FOR_TEXT:
        # Rounded down: "4.5 to 1" must not be the reason for a refusal below 4.5.
        raise ValidationError(
            f"{colour} is too pale to read on paper: its contrast is {int(ratio * 10) / 10} to 1, and text needs "
            f"{LEAST_FOR_TEXT} to 1. Choose a darker one."
        )
    return colour.lower()
