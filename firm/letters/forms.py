from typing import Any

from django import forms

from firm.letters.filling import faults, missing
from firm.letters.kinds import PLACEHOLDERS, Kind
from firm.letters.models import Reminders
from firm.letters.services import Words
from firm.web.forms import NoColon


class LetterForm(NoColon, forms.Form):
    subject = forms.CharField(max_length=150)
    body = forms.CharField(label="Text", max_length=6000, strip=False, widget=forms.Textarea(attrs={"rows": 18}))

    def __init__(self, *args: Any, kind: Kind, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for name in ("subject", "body"):
            for sentence in faults(cleaned.get(name, ""), self.kind):
                self.add_error(name, sentence)
        for name in missing(cleaned.get("body", ""), self.kind) if "body" in cleaned else ():
            self.add_error("body", f"{{{name}}} is missing: without it the mail does not say {PLACEHOLDERS[name][0]}.")
        return cleaned

    def words(self) -> Words:
        body = self.cleaned_data["body"].replace("\r\n", "\n").replace("\r", "\n").strip()
        return Words(" ".join(self.cleaned_data["subject"].split()), body)


class RemindersForm(NoColon, forms.ModelForm):
    class Meta:
        model = Reminders
        fields = ["hours_before"]
