from django import forms
from django.utils.translation import gettext_lazy as _

from firm.web.forms import NoColon


class WishForm(NoColon, forms.Form):
    words = forms.CharField(
        label=_("When would suit you?"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say which days or hours would suit you.")},
    )


class AcceptForm(NoColon, forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(
        label=_("Your name"),
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={"required": _("Write your name.")},
    )
    is_accepted = forms.BooleanField(
        label=_("I have read the agreement and accept it."),
        error_messages={"required": _("Tick this if you accept the agreement.")},
    )

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if not any(c.isalpha() for c in name):
            raise forms.ValidationError(_("A name has letters in it."))
        return name


class AgreementForm(NoColon, forms.Form):
    text = forms.CharField(
        label="Text of the agreement",
        required=False,
        max_length=20000,
        strip=True,
        widget=forms.Textarea(attrs={"rows": 20}),
        help_text="Empty: clients are not asked to accept anything.",
    )
