import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from firm.clients.keys import digits
from firm.clients.models import Client
from firm.web.forms import KnowsWhatStood, NoColon

_PHONE = re.compile(r"[0-9+().\-/ ]*(?:(?:x|ext\.?|extension) ?[0-9]{1,6})?", re.I)


def clean_phone(phone: str) -> str:
    """The number as typed, with single spaces. Raises ValidationError for what no telephone can dial."""
    phone = " ".join(phone.split())
    if phone and not _PHONE.fullmatch(phone):
        raise ValidationError("Write the number with digits, spaces and + ( ) - only; an extension as x12.")
    if phone and not 7 <= len(digits(phone)) <= 20:
        raise ValidationError("A telephone number has 7 digits or more. Check whether one is missing.")
    return phone


class SearchForm(NoColon, forms.Form):
    q = forms.CharField(
        label="Name, telephone, mail or address",
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off", "spellcheck": "false"}),
    )

    def words(self) -> str:
        """What to look for; nothing if it was refused."""
        return self.cleaned_data["q"] if self.is_valid() else ""


class ClientForm(NoColon, KnowsWhatStood):
    """A client. Somebody with the same mail address or number is pointed out once, and added if that is meant."""

    is_another = forms.BooleanField(label="This is somebody else: add them", required=False)

    class Meta:
        model = Client
        fields = ["name", "phone", "email", "notes"]
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off"}),
            "phone": forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
            "email": forms.EmailInput(attrs={"autocomplete": "off"}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {"phone": "Telephone"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.twins: list[Client] = []

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if not any(c.isalpha() for c in name):
            raise ValidationError("A name has letters in it.")
        return name

    def clean_phone(self) -> str:
        return clean_phone(self.cleaned_data["phone"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if not cleaned.get("is_another"):
            self.twins = self._find_twins(cleaned)
        if self.twins:
            twin = self.twins[0]
            reached = ", ".join(text for text in (twin.phone, twin.email) if text)
            self.add_error(None, f"{twin.name} is on file with the same number or mail address ({reached}).")
        return cleaned

    @property
    def asks_whether_another(self) -> bool:
        return bool(self.twins) or bool(self.data.get(self.add_prefix("is_another")))

    def _find_twins(self, cleaned: dict[str, Any]) -> list[Client]:
        others = Client.objects.exclude(pk=self.instance.pk)
        changed = set(self.changed_data)  # an old pair that is known about is not asked about at every edit
        email, phone = cleaned.get("email"), cleaned.get("phone")
        if email and "email" in changed and (same := others.filter(email__iexact=email)[:3]):
            return list(same)
        if phone and "phone" in changed:
            return [one for one in others.matching(digits(phone))[:20] if digits(one.phone) == digits(phone)][:3]
        return []
