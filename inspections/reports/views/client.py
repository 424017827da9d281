"""What a client sees: the newest report of the visit behind a link, without an account and without scripts.

A wrong token, one that has run out and one that was closed get the same answer, so that nothing can be told from it.
"""

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from firm.people.capabilities import open_to_all
from firm.web.address import client_address
from inspections.reports.answer import answer_of
from inspections.reports.digest import Digest
from inspections.reports.load_path import load_path_svg
from inspections.reports.media import FrozenFileDamaged, read_file
from inspections.reports.models import LinkOpening, Report, ReportLink
from inspections.reports.plan import plan_of
from inspections.reports.views.issued import pdf_response

WRONG_TRIES = 30  # wrong addresses from one place before it has to wait; a client mistypes once or twice
WAIT_S = 600

View = Callable[..., HttpResponse]


def for_holder_of_link(view: View) -> View:
    """Give the view the open link and its newest report; anything else gets the one page that says no."""

    @wraps(view)
    @require_safe
    def opened(request: HttpRequest, token: str, **kwargs: Any) -> HttpResponse:
        return _private(_open(request, view, token, kwargs))

    return open_to_all(opened)


def _open(request: HttpRequest, view: View, token: str, kwargs: dict[str, Any]) -> HttpResponse:
    key = "wrong-link-" + hashlib.sha256(client_address(request).encode()).hexdigest()
    if cache.get(key, 0) >= WRONG_TRIES:
        response = render(request, "inspections/reports/client/gone.html", {"must_wait": True}, status=429)
        response["Retry-After"] = str(WAIT_S)
        return response
    link = ReportLink.objects.for_token(token)
    report = link and Report.objects.filter(visit=link.visit_id).order_by("-version").first()
    if link is None or report is None:
        if not cache.add(key, 1, timeout=WAIT_S):
            try:
                cache.incr(key)
            except ValueError:  # it ran out between the two lines
                cache.set(key, 1, timeout=WAIT_S)
        return gone(request)
    return view(request, link, report, token=token, **kwargs)


def gone(request: HttpRequest) -> HttpResponse:
    return render(request, "inspections/reports/client/gone.html", status=404)


def _private(response: HttpResponse) -> HttpResponse:
    """The address is the key: it must reach no other site, no search engine, no shared cache."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    response["Cache-Control"] = "private, no-store"
    return response


@for_holder_of_link
def client_report(request: HttpRequest, link: ReportLink, report: Report, *, token: str) -> HttpResponse:
    if request.method == "GET":  # a mail program that only asks whether the page is there has not read it
        LinkOpening.objects.create(link=link, what=LinkOpening.What.PAGE)
    digest = Digest(report.snapshot)
    context = {
        "token": token,
        "link": link,
        "report": report,
        "digest": digest,
        "answer": answer_of(digest),
        "load_path": load_path_svg(digest.standings),
        "plan": plan_of(digest),
    }
    return render(request, "inspections/reports/client/report.html", context)


@for_holder_of_link
def client_report_pdf(request: HttpRequest, link: ReportLink, report: Report, *, token: str) -> HttpResponse:
    if not report.pdf:
        return render(
            request, "inspections/reports/client/not_drawn.html", {"token": token, "report": report}, status=404
        )
    if request.method == "GET":
        LinkOpening.objects.create(link=link, what=LinkOpening.What.PDF)
    return pdf_response(report)


@for_holder_of_link
def client_report_photo(
    request: HttpRequest, link: ReportLink, report: Report, *, token: str, photo: UUID, rendition: str
) -> HttpResponse:
    """A frozen photo of this very report."""
    files = next((each["files"] for each in report.snapshot["photos"] if each["id"] == str(photo)), {})
    return _frozen(request, files.get(rendition))


@for_holder_of_link
def client_report_logo(request: HttpRequest, link: ReportLink, report: Report, *, token: str) -> HttpResponse:
    return _frozen(request, report.snapshot["firm"]["logo"])


def _frozen(request: HttpRequest, kept: dict[str, Any] | None) -> HttpResponse:
    if not kept:
        return gone(request)
    try:
        content = read_file(kept)
    except FrozenFileDamaged:
        return gone(request)
    kind = {"png": "image/png", "webp": "image/webp"}.get(kept["path"].rpartition(".")[2], "image/jpeg")
    return HttpResponse(content, content_type=kind, headers={"Content-Disposition": "inline"})
