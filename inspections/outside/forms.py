from django import forms

from firm.web.forms import NoColon


class WishForm(NoColon, forms.Form):
    words = forms.CharField(
        label="When would suit you?",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say which days or hours would suit you."},
    )


class AcceptForm(NoColon, forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(
        label="Your name",
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={"required": "Write your name."},
    )
    is_accepted = forms.BooleanField(
        label="I have read the agreement and accept it.",
        error_messages={"required": "Tick this if you accept the agreement."},
    )

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if not any(c.isalpha() for c in name):
            raise forms.ValidationError("A name has letters in it.")
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
