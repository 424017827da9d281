from django import forms

from firm.branding.models import Firm
from inspections.reports.giving import CODE_DIGITS
from inspections.reports.models import Kind, Language


class _Form(forms.Form):
    def __init__(self, *args, **kwargs) -> None:
        kwargs.setdefault("label_suffix", "")  # labels stand above their fields here
        super().__init__(*args, **kwargs)


class ReleaseForm(_Form):
    """The manager's last look: the words for the client may still be bettered."""

    summary = forms.CharField(
        label="In a few words for the client",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Stands on the first page, under the answer.",
    )


class CorrectionForm(ReleaseForm):
    what_changed = forms.CharField(
        label="What this version corrects",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="The client reads this. Earlier versions stay on file and say that they are replaced.",
        error_messages={"required": "Say what is corrected: the client has the earlier version and will compare."},
    )


class ReopenForm(_Form):
    because = forms.CharField(
        label="What is to be corrected",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="The inspector reads it on top of the record, the client beside the list of what changed.",
        error_messages={"required": "Say what is to be corrected: the inspector and the client read it."},
    )


class LinkForm(_Form):
    recipient = forms.CharField(label="For whom", max_length=120, help_text="The client, a contractor, an engineer.")
    kind = forms.ChoiceField(
        label="What they get",
        choices=Kind.choices,
        initial=Kind.FULL,
        required=False,
        help_text="The schedule names neither the client nor the calculations; the engineer's has every step.",
    )
    email = forms.EmailField(
        label="Mail address", required=False, help_text="Left empty, the link is shown once, for you to pass on."
    )
    language = forms.ChoiceField(
        label="Language of the fixed words", choices=Language.choices, initial=Language.ENGLISH, required=False
    )
    with_code = forms.BooleanField(
        label=f"Ask for a code of {CODE_DIGITS} digits too",
        required=False,
        help_text="Shown to you once, here. Tell it by telephone; it is never mailed.",
    )
    days = forms.IntegerField(
        label="Open for, days",
        min_value=1,
        max_value=1825,
        help_text="After that it leads nowhere. It can be closed at any time.",
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["days"].initial = Firm.current().link_days

    def clean_recipient(self) -> str:
        return " ".join(self.cleaned_data["recipient"].split())

    def clean_kind(self) -> str:
        return self.cleaned_data["kind"] or Kind.FULL

    def clean_language(self) -> str:
        return self.cleaned_data["language"] or Language.ENGLISH
