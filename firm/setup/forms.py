from typing import Any

from django import forms

from firm.branding.forms import FirmForm
from firm.people.forms import PersonForm


class WhoForm(FirmForm):
    """Who the firm is; how it looks can wait."""

    remove_logo = None

    class Meta(FirmForm.Meta):
        fields = ["name", "address", "phone", "email", "licence_line"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        forms.ModelForm.__init__(self, *args, **kwargs)


class NewPersonForm(PersonForm):
    class Meta(PersonForm.Meta):
        fields = [
            "first_name", "last_name", "username", "email", "phone", "is_office", "is_inspector", "is_manager",
            "is_administrator",
        ]  # fmt: skip
