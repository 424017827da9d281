"""The client's page of a visit, without an account; the calendar feed; and what the firm sets about them.

A wrong token and one whose visit is over get the same answer. The forms of the client's page carry no token against
cross-site posting, for the reason given in `inspections.reports.views.client`.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.people.capabilities import Capability, needs, open_to_all
from firm.web.address import client_address
from firm.web.secret_links import WAIT_S, count_wrong, must_wait, private
from inspections.outside import services
from inspections.outside.feed import calendar_of
from inspections.outside.forms import AcceptForm, AgreementForm, WishForm
from inspections.outside.models import Agreement, CalendarFeed, TimeWish, VisitLink
from inspections.reports.languages import LOCALES
from inspections.reports.models import Language
from inspections.spanish import is_spanish
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused

View = Callable[..., HttpResponse]


def _for_holder(view: View) -> View:
    @wraps(view)
    def answered(request: HttpRequest, token: str) -> HttpResponse:
        link = VisitLink.objects.for_token(token)
        if link is None:
            return private(_refused(request))
        with translation.override(LOCALES[link.language]):
            return private(view(request, link.visit, token))

    return answered


def _refused(request: HttpRequest) -> HttpResponse:
    if must_wait(request):
        return _wait(request)
    count_wrong(request)
    return _gone(request)


def _gone(request: HttpRequest) -> HttpResponse:
    return render(request, "inspections/outside/gone.html", status=404)


def _wait(request: HttpRequest) -> HttpResponse:
    response = render(request, "inspections/outside/gone.html", {"must_wait": True}, status=429)
    response["Retry-After"] = str(WAIT_S)
    return response


@open_to_all
@require_safe
@_for_holder
def client_visit(request: HttpRequest, visit: Visit, token: str) -> HttpResponse:
    """When who comes, what to prepare, and what the client may do about it."""
    return _page(request, visit, token)


@open_to_all
@csrf_exempt
@require_POST
@_for_holder
def client_visit_confirm(request: HttpRequest, visit: Visit, token: str) -> HttpResponse:
    # The time that the page showed: confirming must not be about another one that the office set meanwhile.
    if request.POST.get("seen") != str(visit.calendar_version):
        return _page(request, visit, token, problem=_("The visit has been changed. Please look at the new time first."))
    return _done(request, visit, token, lambda: services.confirm_by_client(visit))


@open_to_all
@csrf_exempt
@require_POST
@_for_holder
def client_visit_ask(request: HttpRequest, visit: Visit, token: str) -> HttpResponse:
    form = WishForm(request.POST)
    if not form.is_valid():
        return _page(request, visit, token, wish_form=form)
    return _done(request, visit, token, lambda: services.ask_for_another_time(visit, form.cleaned_data["words"]))


@open_to_all
@csrf_exempt
@require_POST
@_for_holder
def client_visit_language(request: HttpRequest, visit: Visit, token: str) -> HttpResponse:
    services.choose_language(visit, request.POST.get("language", ""))
    return redirect("client-visit", token)


@open_to_all
@csrf_exempt
@require_POST
@_for_holder
def client_visit_accept(request: HttpRequest, visit: Visit, token: str) -> HttpResponse:
    form = AcceptForm(request.POST)
    if not form.is_valid():
        return _page(request, visit, token, accept_form=form)

    def accept() -> None:
        services.accept(
            visit,
            version=form.cleaned_data["version"],
            name=form.cleaned_data["name"],
            address=client_address(request),
            browser=request.headers.get("User-Agent", ""),
        )

    return _done(request, visit, token, accept)


def _done(request: HttpRequest, visit: Visit, token: str, do: Callable[[], Any]) -> HttpResponse:
    try:
        do()
    except Refused as refusal:
        return _page(request, visit, token, problem=str(refusal))
    return redirect("client-visit", token)


def _page(request: HttpRequest, visit: Visit, token: str, problem: str = "", **forms: Any) -> HttpResponse:
    agreement = Agreement.current()
    accepted = visit.acceptances.filter(agreement=agreement).first() if agreement else None
    wish = visit.time_wishes.unanswered().last()
    is_open = visit.state == Visit.State.BOOKED and visit.ends_at > timezone.now()
    context = {
        "visit": visit,
        "token": token,
        "problem": problem,
        "is_open": is_open,
        "is_waiting": visit.state == Visit.State.ASKED_FOR,
        "language": Language.SPANISH if is_spanish() else Language.ENGLISH,
        "wish": wish,
        "agreement": agreement,
        "accepted": accepted,
        "wish_form": WishForm(),
        "accept_form": AcceptForm(initial={"version": agreement.version} if agreement else None),
        **forms,
    }
    status = 422 if problem or forms else 200
    return render(request, "inspections/outside/visit.html", context, status=status)


@open_to_all
@require_safe
def calendar_feed_read(request: HttpRequest, token: str) -> HttpResponse:
    feed = services.feed_for_token(token)
    if feed is None:
        return private(_refused(request))
    CalendarFeed.objects.filter(pk=feed.pk).update(read_at=timezone.now())
    return private(HttpResponse(calendar_of(feed.person), content_type="text/calendar; charset=utf-8"))


@needs(Capability.RECORD)
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def calendar_feed(request: HttpRequest) -> HttpResponse:
    """My calendar for the telephone: the address is shown once, made anew, or closed."""
    address = ""
    if request.method == "POST" and "close" in request.POST:
        services.close_feed(request.user)
        messages.success(request, "Closed. The address opens nothing any more.")
        return redirect("calendar-feed")
    if request.method == "POST":
        address = services.make_feed(request.user)
    context = {"feed": CalendarFeed.objects.filter(person=request.user).first(), "address": address}
    return render(request, "inspections/outside/feed.html", context)


@needs(Capability.BOOK)
@require_POST
def time_wish_put_aside(request: HttpRequest, pk: int) -> HttpResponse:
    wish = get_object_or_404(TimeWish.objects.select_related("visit__property"), pk=pk)
    services.put_aside(wish, by=request.user)
    messages.success(request, "Put aside. The visit stays as it is.")
    return redirect("visit-detail", wish.visit_id)


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def agreement_edit(request: HttpRequest) -> HttpResponse:
    """The text that clients accept. Storing a changed one makes the next version."""
    newest = Agreement.objects.first()
    form = AgreementForm(
        request.POST if request.method == "POST" else None, initial={"text": newest.text if newest else ""}
    )
    if request.method == "POST" and form.is_valid():
        made = services.write_agreement(form.cleaned_data["text"], by=request.user)
        messages.success(request, f"Stored as version {made.version}." if made else "Nothing was changed.")
        return redirect("agreement-edit")
    context = {"form": form, "versions": Agreement.objects.select_related("made_by")}
    status = 422 if request.method == "POST" else 200
    return render(request, "inspections/outside/agreement.html", context, status=status)
