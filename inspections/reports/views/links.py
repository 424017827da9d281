"""Giving a report to somebody without an account, and taking it back."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from firm.people.capabilities import Capability, needs
from inspections.reports.forms import LinkForm
from inspections.reports.giving import mail_link, make_link, revoke_link
from inspections.reports.models import ReportLink
from inspections.reports.refusals import Refused
from inspections.visits.models import Visit

GIVERS = (Capability.BOOK, Capability.RELEASE)


@needs(*GIVERS)
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def link_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A link by mail, or shown once on the page that answers."""
    visit = get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=pk)
    as_usual = {"recipient": visit.client.name, "email": visit.client.email}
    form = LinkForm(request.POST if request.method == "POST" else None, initial=as_usual)
    shown = None
    if request.method == "POST" and form.is_valid():
        asked = form.cleaned_data
        try:
            if asked["email"]:
                mail_link(visit, by=request.user, **asked)
                messages.success(request, f"The link for {asked['recipient']} is on its way to {asked['email']}.")
                return redirect(_back(request, visit))
            link, token = make_link(visit, by=request.user, **asked)
            shown = {"link": link, "address": settings.PUBLIC_URL + reverse("client-report", args=[token])}
        except Refused as refusal:
            form.add_error(None, str(refusal))
    status = 422 if form.errors else 200
    context = {"visit": visit, "form": form, "shown": shown, "back": _back(request, visit)}
    return render(request, "inspections/reports/link_new.html", context, status=status)


@needs(*GIVERS)
@require_POST
def link_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    links = ReportLink.objects.filter(visit__in=Visit.objects.visible_to(request.user))
    link = get_object_or_404(links.select_related("visit"), pk=pk)
    revoke_link(link, by=request.user)
    messages.success(request, f"The link for {link.recipient} is closed. It now leads nowhere.")
    return redirect(_back(request, link.visit))


def _back(request: HttpRequest, visit: Visit) -> str:
    page = "review-detail" if request.user.may(Capability.RELEASE) else "visit-detail"
    return reverse(page, args=[visit.pk])
