from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import password_validation
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, UsernameField
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from firm.people import throttle
from firm.people.models import User
from firm.web.address import place
from firm.web.forms import NoColon


class SignInForm(NoColon, AuthenticationForm):
    username = UsernameField(label="User name", widget=forms.TextInput(attrs={"autofocus": True}))
    error_messages = {
        "invalid_login": "This user name and password do not belong together. Capitals count in the password.",
        "inactive": "This person no longer signs in here.",
    }
    is_throttled = False

    def clean(self) -> dict[str, Any]:
        username, address = self.cleaned_data.get("username") or "", place(self.request)
        if throttle.must_wait(username, address):  # before the password is looked at, which is the costly part
            self.is_throttled = True
            minutes = -(-settings.SIGN_IN_WAIT_S // 60)
            raise ValidationError(f"Too many wrong passwords. Wait {minutes} minutes, then try again.", code="wait")
        try:
            cleaned = super().clean()
        except ValidationError:
            throttle.count_wrong_password(username, address)
            raise
        throttle.forget_wrong_passwords(username, address)
        return cleaned


class CodeForm(NoColon, forms.Form):
    """Six digits of the app, or a recovery code."""

    code = forms.CharField(
        label="Code",
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "text", "autofocus": True}),
    )


class AgainForm(NoColon, forms.Form):
    """The password once more, before how one signs in is changed: a browser that was left open is not enough."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_password(self) -> str:
        return _own_password(self.request, self.cleaned_data["password"])


def _own_password(request: HttpRequest, password: str) -> str:
    """The password, if it is that of whoever is signed in. Raises ValidationError, after some tries without looking."""
    name, address = f"{request.user.username}\0again", place(request)
    if throttle.must_wait(name, address):
        raise ValidationError("Too many wrong passwords. Wait five minutes, then try again.")
    if not request.user.check_password(password):
        throttle.count_wrong_password(name, address)
        raise ValidationError("This is not your password.")
    throttle.forget_wrong_passwords(name, address)
    return password


class ChangePasswordForm(NoColon, PasswordChangeForm):
    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_old_password(self) -> str:
        return _own_password(self.request, self.cleaned_data["old_password"])


class AppForm(AgainForm, CodeForm):
    """The first code of an app, with the password: a stranger must not bind somebody else's sign-in to his app."""

    field_order = ["code", "password"]


class PasskeyForm(AgainForm):
    name = forms.CharField(label="What you call it", max_length=60, help_text="Such as “tablet in the van”.")
    field_order = ["name", "password"]


class ForgottenForm(NoColon, forms.Form):
    who = forms.CharField(label="User name or mail address", max_length=254)


class PersonForm(NoColon, forms.ModelForm):
    """A person of the firm, as the administrator sees them."""

    new_password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False, required=False
    )

    class Meta:
        model = User
        fields = [
            "username",
            "first_name",
            "last_name",
            "email",
            "phone",
            "licence_line",
            "is_office",
            "is_inspector",
            "is_manager",
            "is_administrator",
            "is_active",
        ]
        labels = {"username": "User name", "email": "Mail address", "is_active": "May sign in"}
        help_texts = {"username": "", "is_active": "Take the tick away instead of deleting: their records stay."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        is_new = self.instance.pk is None
        self.fields["new_password"].help_text = (
            "Leave empty: they get a mail and choose one." if is_new else "Leave empty to keep the one they have."
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        has_password = "new_password" not in cleaned or cleaned["new_password"]  # a refused one has its own words
        if self.instance.pk is None and not has_password and not cleaned.get("email"):
            self.add_error("new_password", "Give a password, or a mail address for the invitation.")
        return cleaned

    def clean_new_password(self) -> str:
        password = self.cleaned_data["new_password"]
        if password:
            password_validation.validate_password(password, self.instance)
        return password
