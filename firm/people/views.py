from typing import Any

from django.contrib import messages
from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView, PasswordResetConfirmView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm import audit
from firm.people import devices, passkeys, second_factor, second_step, throttle
from firm.people.capabilities import Capability, needs, open_to_all, signed_in
from firm.people.forms import AppForm, ChangePasswordForm, CodeForm, ForgottenForm, PersonForm, SignInForm
from firm.people.models import User
from firm.people.passwords import forgotten, invite
from firm.people.services import LastAdministrator, save_person
from firm.web.address import place
from firm.web.going_back import page_of_ours

_METHODS = ["get", "head", "post"]  # Django's own pages would take a PUT for a POST


class SignIn(LoginView):
    http_method_names = _METHODS
    form_class = SignInForm
    template_name = "firm/people/sign_in.html"
    redirect_authenticated_user = True

    def get_redirect_url(self) -> str:
        return page_of_ours(self.request, super().get_redirect_url(), "")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(has_passkeys=passkeys.site_of(self.request) is not None, **kwargs)

    def form_valid(self, form: SignInForm) -> HttpResponse:
        person = form.get_user()
        if not second_factor.is_asked_of(person):
            return super().form_valid(form)
        second_step.remember(self.request, person, self.get_success_url())
        return redirect("second-step")

    def form_invalid(self, form: SignInForm) -> HttpResponse:
        response = super().form_invalid(form)
        if form.is_throttled:
            response.status_code = 429
        return response


class ChangePassword(PasswordChangeView):
    http_method_names = _METHODS
    form_class = ChangePasswordForm
    template_name = "firm/people/change_password.html"
    success_url = reverse_lazy("home")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "request": self.request}

    def form_valid(self, form: ChangePasswordForm) -> HttpResponse:
        messages.success(self.request, "Your password is changed. You are signed out everywhere else.")
        audit.record(self.request.user, "changed the password of", self.request.user)
        return super().form_valid(form)


class SetPassword(PasswordResetConfirmView):
    """Where the link of a mail leads. The token leaves the address at once: Django keeps it in the session."""

    http_method_names = _METHODS
    template_name = "firm/people/set_password.html"
    success_url = reverse_lazy("sign-in")

    def form_valid(self, form: Any) -> HttpResponse:
        messages.success(self.request, "Your password is set. Sign in with it.")
        audit.record(self.user, "set the password of", self.user)
        return super().form_valid(form)


sign_in = open_to_all(SignIn.as_view())


class SignOut(LogoutView):
    """On a machine that others use, too, the way back must not show the pages of whoever left."""

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        answer = super().post(request, *args, **kwargs)
        answer["Clear-Site-Data"] = '"cache"'  # and not "storage", where entries without signal wait to be sent
        return answer


sign_out = signed_in(SignOut.as_view())
change_password = signed_in(ChangePassword.as_view())
set_password = open_to_all(SetPassword.as_view())


@open_to_all
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def second_step_page(request: HttpRequest) -> HttpResponse:
    """The code after the password. Only who has just given the right password gets here."""
    waiting = second_step.recall(request)
    if waiting is None:
        return redirect("sign-in")
    person, goes_to = waiting
    form = CodeForm(request.POST or None)
    context = {
        "form": form,
        "has_app": second_factor.has_app(person),
        "is_locked": second_factor.app_is_locked(person),
        "passkeys": passkeys.of(person, site) if (site := passkeys.site_of(request)) else [],
    }
    name, address = f"{person.username}\0code", place(request)
    if request.method == "POST" and form.is_valid():
        if throttle.must_wait(name, address):
            form.add_error("code", "Too many wrong codes. Wait five minutes, then try again.")
            return render(request, "firm/people/second_step.html", context, status=429)
        if second_factor.is_right(person, form.cleaned_data["code"]):
            throttle.forget_wrong_passwords(name, address)
            let_in(request, person)
            return redirect(goes_to)
        throttle.count_wrong_password(name, address)
        form.add_error("code", "This code is not right, or it was used already. Wait for the next one.")
    return render(request, "firm/people/second_step.html", context)


def let_in(request: HttpRequest, person: User) -> None:
    """Sign in whoever has given all that is asked of them."""
    second_step.forget(request)
    login(request, person, backend="django.contrib.auth.backends.ModelBackend")


@open_to_all
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def password_forgotten(request: HttpRequest) -> HttpResponse:
    """The answer is the same whether anybody of that name is known."""
    form = ForgottenForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        name, address = "\0forgotten", place(request)
        if throttle.must_wait(name, address):
            form.add_error(None, "Too many requests from here. Wait five minutes, then try again.")
            return render(request, "firm/people/forgotten.html", {"form": form}, status=429)
        throttle.count_wrong_password(name, address)
        forgotten(form.cleaned_data["who"])
        return render(request, "firm/people/forgotten.html", {"is_done": True})
    return render(request, "firm/people/forgotten.html", {"form": form})


@signed_in
@never_cache
@require_safe
def my_sign_in(request: HttpRequest) -> HttpResponse:
    """How I sign in, and where I am signed in."""
    return render(request, "firm/people/my_sign_in.html", _my_sign_in(request))


@signed_in
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def second_factor_set_up(request: HttpRequest) -> HttpResponse:
    if second_factor.has_app(request.user) and not second_factor.app_is_locked(request.user):
        return redirect("my-sign-in")
    form = AppForm(request.POST or None, request=request)
    if request.method == "POST" and form.is_valid():
        codes = second_factor.confirm(request.user, form.cleaned_data["code"])
        if codes:
            return render(request, "firm/people/recovery_codes.html", {"codes": codes})
        form.add_error("code", "This code does not fit. Is the clock of the telephone right? Wait for the next one.")
    factor = second_factor.begin(request.user)
    context = {"form": form, "factor": factor, "picture": second_factor.picture(factor)}
    return render(request, "firm/people/second_factor.html", context)


@signed_in
@require_POST
def second_factor_off(request: HttpRequest) -> HttpResponse:
    """Taken away only with a code: a browser that was left open is not enough."""
    form = CodeForm(request.POST)
    name, address = f"{request.user.username}\0code", place(request)
    must_wait = throttle.must_wait(name, address)
    if not must_wait and form.is_valid():
        if second_factor.is_right(request.user, form.cleaned_data["code"]):
            throttle.forget_wrong_passwords(name, address)
            second_factor.take_app_away(request.user, request.user)
            messages.success(request, "The authenticator app is taken away.")
            return redirect("my-sign-in")
        throttle.count_wrong_password(name, address)
    if must_wait:
        form.add_error("code", "Too many wrong codes. Wait five minutes, then try again.")
    else:
        form.add_error("code", "This code is not right, or it was used already.")
    page = _my_sign_in(request, form)
    return render(request, "firm/people/my_sign_in.html", page, status=429 if must_wait else 200)


@signed_in
@require_POST
def sign_out_devices(request: HttpRequest) -> HttpResponse:
    """Sign one device out, or all but this one."""
    only = request.POST.get("device", "")
    here = request.session.session_key
    count = devices.sign_out(request.user, request.user, only=int(only) if only.isdecimal() else None, but=here)
    messages.success(request, f"Signed out: {count} device{'' if count == 1 else 's'}.")
    return redirect("my-sign-in")


@needs(Capability.ADMINISTER)
@require_safe
def people(request: HttpRequest) -> HttpResponse:
    everybody = User.objects.order_by("-is_active", "last_name", "first_name", "username")
    return render(request, "firm/people/people.html", {"people": everybody})


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def person_add(request: HttpRequest) -> HttpResponse:
    return _edit(request, User())


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def person_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(User, pk=pk))


@needs(Capability.ADMINISTER)
@require_POST
def person_invite(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    if person.email and person.is_active:
        invite(person, request.user)
        messages.success(request, f"A link to set a password goes to {person.email}.")
    else:
        messages.error(request, "Without a mail address, and for one who has left, there is no invitation.")
    return redirect("person-edit", pk)


@needs(Capability.ADMINISTER)
@require_POST
def person_shut_out(request: HttpRequest, pk: int) -> HttpResponse:
    """For a lost telephone or tablet: the second factor is taken away and every device signed out."""
    person = get_object_or_404(User, pk=pk)
    had_one = second_factor.take_away(person, request.user)
    count = devices.sign_out(person, request.user)
    messages.success(
        request,
        f"{person.display_name} is signed out of {count} device{'' if count == 1 else 's'}"
        f"{' and has no second factor any more' if had_one else ''}.",
    )
    return redirect("person-edit", pk)


def _my_sign_in(request: HttpRequest, form: CodeForm | None = None) -> dict[str, Any]:
    return {
        "form": form or CodeForm(),
        "has_app": second_factor.has_app(request.user),
        "is_locked": second_factor.app_is_locked(request.user),
        "passkeys": passkeys.of(request.user),
        "site": passkeys.site_of(request),
        "codes_left": second_factor.codes_left(request.user),
        "devices": devices.of(request.user),
        "here": request.session.session_key,
    }


def _edit(request: HttpRequest, person: User) -> HttpResponse:
    is_new = person.pk is None
    form = PersonForm(request.POST or None, instance=person)
    if request.method == "POST" and form.is_valid():
        password = form.cleaned_data["new_password"]
        try:
            save_person(form.save(commit=False), by=request.user, new_password=password)
        except LastAdministrator as refusal:
            form.add_error("is_administrator", str(refusal))
        else:
            if password and person == request.user:
                update_session_auth_hash(request, person)
            said = f"{person.display_name} is {'added' if is_new else 'saved'}."
            if is_new and not password:
                invite(person, request.user)
                said += f" A link to set a password goes to {person.email}."
            messages.success(request, said)
            return redirect("people")
    return render(request, "firm/people/edit.html", {"form": form, "is_new": is_new})
