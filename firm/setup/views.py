"""A new firm is led through what it needs before its first visit. Each step can be skipped, and all of it left."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.branding.models import Firm
from firm.branding.services import save_firm
from firm.hours.forms import AllowancesForm
from firm.hours.models import Allowances
from firm.hours.services import USUAL_WORDS, save_allowances
from firm.people.capabilities import Capability, needs
from firm.people.models import User
from firm.people.passwords import invite
from firm.people.services import save_person
from firm.rules.forms import RuleSetForm
from firm.rules.models import RuleSet
from firm.rules.services import save_rule_set
from firm.setup.forms import NewPersonForm, WhoForm
from firm.setup.models import SetUp
from firm.setup.services import STEPS, next_step, pass_step

LEFT = "set-up-left"  # in the session: who leaves it is not sent back until the next signing in


@needs(Capability.ADMINISTER)
@never_cache
@require_safe
def set_up(request: HttpRequest) -> HttpResponse:
    """On with the step that comes next; after the last one, what the firm can do now."""
    step = next_step(SetUp.current())
    return redirect("set-up-step", step) if step else render(request, "firm/setup/done.html")


@needs(Capability.ADMINISTER)
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def set_up_step(request: HttpRequest, step: str) -> HttpResponse:
    if step not in STEPS:
        raise Http404
    if request.method == "POST" and "skip" in request.POST:
        return _on(request, step)
    form = _form(step, request)
    if request.method == "POST" and (form is None or form.is_valid()):
        if form is not None:
            _SAVE[step](form, request)
        # Several people are added one after the other; "go on" is a press of its own there.
        return redirect("set-up-step", step) if step == "people" else _on(request, step)
    context = {
        "step": step,
        "title": STEPS[step],
        "steps": [(name, label, name in SetUp.current().passed) for name, label in STEPS.items()],
        "number": list(STEPS).index(step) + 1,
        "form": form,
        "people": User.objects.filter(is_active=True).order_by("pk"),
        "usual": USUAL_WORDS,
        "zone": settings.TIME_ZONE,
        "now": timezone.localtime(),
    }
    return render(request, f"firm/setup/{step}.html", context, status=422 if request.method == "POST" else 200)


@needs(Capability.ADMINISTER)
@require_POST
def set_up_leave(request: HttpRequest) -> HttpResponse:
    """Go to work; at the next signing in it goes on where it was left."""
    request.session[LEFT] = True
    messages.success(request, "Left for now. It goes on when you sign in again, or under The firm.")
    return redirect("home")


def _on(request: HttpRequest, step: str) -> HttpResponse:
    following = pass_step(step, by=request.user)
    return redirect("set-up-step", following) if following else redirect("set-up")


def _form(step: str, request: HttpRequest) -> forms.BaseForm | None:
    data = request.POST if request.method == "POST" else None
    if step == "firm":
        return WhoForm(data, request.FILES or None, instance=Firm.current())
    if step == "people":
        return NewPersonForm(data, instance=User())
    if step == "hours":
        return AllowancesForm(data, instance=Allowances.current())
    return RuleSetForm(data, instance=RuleSet()) if step == "rules" else None


def _save_firm(form: Any, request: HttpRequest) -> None:
    save_firm(form.save(commit=False), by=request.user, new_logo=form.cleaned_data["new_logo"])


def _save_person(form: Any, request: HttpRequest) -> None:
    password = form.cleaned_data["new_password"]
    person = save_person(form.save(commit=False), by=request.user, new_password=password)
    if not password:
        invite(person, request.user)
    told = "" if password else f" A link to set a password goes to {person.email}."
    messages.success(request, f"{person.display_name} is added.{told}")


_SAVE: dict[str, Callable[[Any, HttpRequest], None]] = {
    "firm": _save_firm,
    "people": _save_person,
    "hours": lambda form, request: save_allowances(form.save(commit=False), by=request.user) and None,
    "rules": lambda form, request: save_rule_set(form.save(commit=False), by=request.user) and None,
}
