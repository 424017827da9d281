"""Giving a report to somebody without an account, and taking it back."""

from typing import Any

import segno
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from firm.people.capabilities import Capability, needs
from inspections.reports.forms import LinkForm
from inspections.reports.giving import Wish, give, note_came_back, revoke_link, send_again
from inspections.reports.models import ReportLink, ReportMail
from inspections.reports.refusals import Refused
from inspections.visits.models import Visit

GIVERS = (Capability.BOOK, Capability.RELEASE)


@needs(*GIVERS)
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def link_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A link by mail, or a sheet with it that is shown once, to be printed or copied."""
    visit = get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=pk)
    as_usual = {"recipient": visit.client.name, "email": visit.client.email}
    form = LinkForm(request.POST if request.method == "POST" else None, initial=as_usual)
    shown = None
    if request.method == "POST" and form.is_valid():
        wish = Wish(**form.cleaned_data)
        try:
            given = give(visit, wish, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            if not given.token and not given.code:
                messages.success(request, f"The link for {wish.recipient} is on its way to {wish.email}.")
                return redirect(_back(request, visit))
            shown = _sheet(given)
    status = 422 if form.errors else 200
    context = {"visit": visit, "form": form, "shown": shown, "back": _back(request, visit)}
    return render(request, "inspections/reports/link_new.html", context, status=status)


def _sheet(given: Any) -> dict[str, Any]:
    """What is shown this once: the address with its QR code, unless a mail brings it, and the access code."""
    address = settings.PUBLIC_URL + reverse("client-report", args=[given.token]) if given.token else ""
    # Level M stands a crease in the paper; four modules of white around it is what readers ask for (ISO/IEC 18004).
    drawn = segno.make(address, error="m", micro=False).svg_data_uri(scale=4, border=4) if address else ""
    return {"link": given.link, "address": address, "code": given.code, "qr": drawn}


@needs(*GIVERS)
@require_POST
def link_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    link = _link(request, pk)
    if revoke_link(link, by=request.user):
        messages.success(request, f"The link for {link.recipient} is closed.")
    return redirect(_back(request, link.visit))


@needs(*GIVERS)
@require_POST
def link_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Mail it once more; the address in the earlier mail no longer opens."""
    link = _link(request, pk)
    try:
        send_again(link, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
    else:
        messages.success(request, f"A new mail is on its way to {link.email}. The address in the earlier one is void.")
    return redirect(_back(request, link.visit))


@needs(*GIVERS)
@require_POST
def link_came_back(request: HttpRequest, pk: int) -> HttpResponse:
    """The office found a mail undelivered in the firm's mailbox."""
    mails = ReportMail.objects.filter(link__visit__in=Visit.objects.visible_to(request.user))
    mail = get_object_or_404(mails.select_related("link__visit"), pk=pk)
    if note_came_back(mail, by=request.user):
        messages.success(request, f"Noted: the mail to {mail.link.email} came back.")
    return redirect(_back(request, mail.link.visit))


def _link(request: HttpRequest, pk: int) -> ReportLink:
    links = ReportLink.objects.filter(visit__in=Visit.objects.visible_to(request.user))
    return get_object_or_404(links.select_related("visit"), pk=pk)


def _back(request: HttpRequest, visit: Visit) -> str:
    page = "review-detail" if request.user.may(Capability.RELEASE) else "visit-detail"
    return reverse(page, args=[visit.pk])
