"""Pages around passkeys. A script asks the browser and puts its answer into an ordinary form (js/passkeys.js)."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render, resolve_url
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from firm.people import passkeys, second_step, throttle
from firm.people.capabilities import open_to_all, signed_in
from firm.people.forms import AgainForm, PasskeyForm
from firm.people.models import Passkey
from firm.people.views import let_in
from firm.web.address import place
from firm.web.going_back import page_of_ours

QUESTIONS = 60  # from one address in five minutes: each makes a session, and an office sits behind one address
NO_SITE = "Passkeys need an encrypted address (https) with a name."


@open_to_all
@never_cache
@require_POST
def question(request: HttpRequest) -> HttpResponse:
    """What the browser asks the device, before signing in with it or after the password."""
    site = passkeys.site_of(request)
    if site is None:
        return _cannot(NO_SITE)
    name, address = "\0passkey", place(request)
    if throttle.must_wait(name, address, QUESTIONS):
        return _cannot("Too many tries from here. Wait five minutes, then try again.", 429)
    throttle.count_wrong_password(name, address)
    if "after_password" not in request.POST:
        return _as_json(passkeys.ask_for(request, site))
    if (waiting := second_step.recall(request)) is None:
        return _cannot("That took too long. Open the page again and give your password.")
    return _as_json(passkeys.ask_for(request, site, waiting[0]))


@open_to_all
@never_cache
@require_POST
def sign_in(request: HttpRequest) -> HttpResponse:
    """The device's answer, instead of name and password or after them."""
    after_password = "after_password" in request.POST
    waiting = second_step.recall(request) if after_password else None
    if after_password and waiting is None:
        return redirect("sign-in")
    goes_to = waiting[1] if waiting else _goes_to(request)
    try:
        if (site := passkeys.site_of(request)) is None:
            raise passkeys.Refused(NO_SITE)
        person = passkeys.whose(request, site, request.POST.get("credential", ""), waiting[0] if waiting else None)
    except passkeys.Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
        return redirect("second-step" if waiting else "sign-in")
    let_in(request, person)
    return redirect(goes_to)


@signed_in
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    site = passkeys.site_of(request)
    if site is None:
        messages.error(request, NO_SITE, extra_tags="problem")
        return redirect("my-sign-in")
    if request.method == "POST":
        try:
            passkey, codes = passkeys.keep(request, site, request.POST.get("credential", ""))
        except passkeys.Refused as refusal:
            messages.error(request, str(refusal), extra_tags="problem")
            return redirect("passkey-add")
        messages.success(request, f"“{passkey.name}” is kept. You can sign in with it.")
        if codes:
            return render(request, "firm/people/recovery_codes.html", {"codes": codes})
        return redirect("my-sign-in")
    return render(request, "firm/people/passkey_add.html", {"form": PasskeyForm(request=request), "site": site})


@signed_in
@never_cache
@require_POST
def question_to_make(request: HttpRequest) -> HttpResponse:
    """What the browser asks the device to make. The password is asked here, before there is anything to keep."""
    site = passkeys.site_of(request)
    form = PasskeyForm(request.POST, request=request)
    if site is None:
        return _cannot(NO_SITE)
    if not form.is_valid():
        return JsonResponse({"faults": {name: list(said) for name, said in form.errors.items()}}, status=422)
    return _as_json(passkeys.ask_to_make(request, site, form.cleaned_data["name"]))


@signed_in
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    passkey = get_object_or_404(Passkey, pk=pk, person=request.user)
    form = AgainForm(request.POST if request.method == "POST" else None, request=request)
    if form.is_valid():
        passkeys.remove(passkey, request.user)
        messages.success(request, f"“{passkey.name}” is removed.")
        return redirect("my-sign-in")
    context = {"form": form, "passkey": passkey}
    return render(request, "firm/people/passkey_remove.html", context, status=422 if form.is_bound else 200)


def _goes_to(request: HttpRequest) -> str:
    """The page that was wanted, if it is one of ours."""
    return page_of_ours(request, request.POST.get("next", ""), resolve_url(settings.LOGIN_REDIRECT_URL))


def _as_json(options: str) -> HttpResponse:
    return HttpResponse(options, content_type="application/json")


def _cannot(why: str, status: int = 422) -> HttpResponse:
    return JsonResponse({"error": why}, status=status)
