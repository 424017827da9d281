from django import forms

from firm.branding.models import Firm


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


class LinkForm(_Form):
    recipient = forms.CharField(label="For whom", max_length=120, help_text="The client, a contractor, a buyer.")
    email = forms.EmailField(
        label="Mail address", required=False, help_text="Left empty, the link is shown once, for you to pass on."
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
