"""What the holder of a link sees: the newest report of a visit, or the cut of it that he was given. No account.

A wrong token, one that has run out, one that was closed, one whose access code is not known here, and a wrong code get
the same answer, so that nothing can be told from it.

The forms carry no token against cross-site posting: `no-referrer` makes browsers send an Origin of "null" with them,
and whoever posts to the address from elsewhere would have to know it, which is all that the form itself knows.
"""

from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.people.capabilities import open_to_all
from firm.web import wants_fragment
from firm.web.secret_links import WAIT_S, count_wrong, must_wait, private
from inspections.reports import codes
from inspections.reports.answer import answer_of
from inspections.reports.digest import Digest
from inspections.reports.languages import LOCALES
from inspections.reports.load_path import load_path_svg
from inspections.reports.media import FrozenFileDamaged, read_file
from inspections.reports.models import ActionTick, Kind, Language, LinkOpening, Report, ReportLink
from inspections.reports.pieces import ReportPhoto
from inspections.reports.plan import plan_of
from inspections.reports.views.issued import pdf_response
from inspections.visits.models import Visit

View = Callable[..., HttpResponse]


def for_holder_of_link(view: View) -> View:
    """Give the view the open link and its newest report, or the `version` asked for; all else gets one page: no."""
    return open_to_all(_kept_private(require_safe(_answered(view))))


def posted_by_holder(view: View) -> View:
    return open_to_all(csrf_exempt(_kept_private(require_POST(_answered(view)))))


def _answered(view: View) -> View:
    @wraps(view)
    def answered(request: HttpRequest, token: str, **kwargs: Any) -> HttpResponse:
        return _open(request, view, token, kwargs)

    return answered


def _kept_private(view: View) -> View:
    """Every answer at such an address, a refused method's too."""

    @wraps(view)
    def kept(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return private(view(request, *args, **kwargs))

    return kept


def _open(request: HttpRequest, view: View, token: str, kwargs: dict[str, Any]) -> HttpResponse:
    link = ReportLink.objects.for_token(token)
    report = link and _report(link, kwargs.pop("version", None))
    if link is None or report is None or not codes.is_known_here(request, link):
        return _refused(request)
    with translation.override(LOCALES[link.language]):
        return view(request, link, report, token=token, **kwargs)


def _report(link: ReportLink, version: int | None) -> Report | None:
    reports = Report.objects.filter(visit=link.visit_id).order_by("-version")
    return (reports if version is None else reports.filter(version=version)).first()


def _refused(request: HttpRequest) -> HttpResponse:
    if must_wait(request):
        return _wait(request)
    count_wrong(request)
    return gone(request)


def gone(request: HttpRequest) -> HttpResponse:
    at = request.resolver_match.url_name if request.resolver_match else ""
    may_type = at in ("client-report", "client-nowhere")
    return render(request, "inspections/reports/client/gone.html", {"may_type": may_type}, status=404)


def _wait(request: HttpRequest) -> HttpResponse:
    response = render(request, "inspections/reports/client/gone.html", {"must_wait": True}, status=429)
    response["Retry-After"] = str(WAIT_S)
    return response


@open_to_all
@csrf_exempt
@_kept_private
@require_http_methods(["GET", "HEAD", "POST"])
def client_report(request: HttpRequest, token: str) -> HttpResponse:
    """The report; or, posted to the same address, the access code of a link that asks for one."""
    if request.method == "POST":
        return _code_typed(request, token)
    return client_report_version(request, token)


def _code_typed(request: HttpRequest, token: str) -> HttpResponse:
    """What is wrong about a code is not said."""
    if must_wait(request):
        return _wait(request)
    link = ReportLink.objects.for_token(token)
    if not codes.is_right(link, request.POST.get("code", "").strip()[:20]):
        count_wrong(request)
        return gone(request)
    response = redirect("client-report", token)
    codes.remember(response, link, token)
    return response


@open_to_all
@csrf_exempt
@_kept_private
@require_http_methods(["GET", "HEAD", "POST"])
def client_nowhere(request: HttpRequest, token: str) -> HttpResponse:
    """An address that no link can have, such as one with a slash in its token: answered as every wrong one is."""
    return _refused(request)


@for_holder_of_link
@gzip_page  # nothing that is asked for comes back in it: its length tells nobody a secret
def client_report_version(request: HttpRequest, link: ReportLink, report: Report, *, token: str) -> HttpResponse:
    if request.method == "GET":  # a mail program that only asks whether the page is there has not read it
        LinkOpening.objects.create(link=link, what=LinkOpening.What.PAGE, version=report.version)
    digest = _digest(report)
    others = list(link.visit.reports.defer("snapshot").exclude(pk=report.pk).order_by("-version"))
    context = {
        "token": token,
        "link": link,
        "language": link.language,
        "report": report,
        "newer": [other for other in others if other.version > report.version],
        "earlier": [other for other in others if other.version < report.version],
        "is_reopened": link.visit.state != Visit.State.RELEASED,
        "digest": digest,
        "answer": answer_of(digest),
        "load_path": load_path_svg(digest.standings),
        "plan": plan_of(digest),
        "pdf": _pdf_of(report, link),
        "done": _done(link),
    }
    page = "schedule" if link.kind == Kind.SCHEDULE else "report"
    return render(request, f"inspections/reports/client/{page}.html", context)


def _digest(report: Report) -> Digest:
    return Digest(report.snapshot, timezone.localtime(report.issued_at).date())


def _done(link: ReportLink) -> set[str]:
    """The ids of the findings that the holder of the link ticked."""
    return {str(tick.finding) for tick in link.ticks.all() if tick.is_done}


def _pdf_of(report: Report, link: ReportLink) -> Any:
    """The drawn PDF that this link gives (a report or its extract), or None."""
    if link.kind == Kind.FULL:
        return report if report.pdf else None
    return report.extracts.filter(kind=link.kind).exclude(pdf="").first()


@for_holder_of_link
def client_report_pdf(request: HttpRequest, link: ReportLink, report: Report, *, token: str) -> HttpResponse:
    pdf = _pdf_of(report, link)
    if pdf is None:
        context = {"token": token, "report": report, "language": link.language}
        return render(request, "inspections/reports/client/not_drawn.html", context, status=404)
    if request.method == "GET":
        LinkOpening.objects.create(link=link, what=LinkOpening.What.PDF, version=report.version)
    return pdf_response(report, pdf)


@posted_by_holder
def client_report_done(
    request: HttpRequest, link: ReportLink, report: Report, *, token: str, finding: UUID
) -> HttpResponse:
    """The holder ticks one thing to do, or takes the tick away. What is set is said, not turned round."""
    wanted = next((each for each in _digest(report).repairs if each.id == str(finding)), None)
    if wanted is None or request.POST.get("done") not in ("yes", "no"):
        return gone(request)
    ActionTick.objects.update_or_create(link=link, finding=finding, defaults={"is_done": request.POST["done"] == "yes"})
    if wants_fragment(request):
        context = {"finding": wanted, "token": token, "done": _done(link), "link": link}
        return render(request, "inspections/reports/client/_do.html", context)
    return _back_to(token, f"do-{wanted.number}")


@posted_by_holder
def client_report_language(request: HttpRequest, link: ReportLink, report: Report, *, token: str) -> HttpResponse:
    """The language of the fixed words, kept for this link."""
    language = request.POST.get("language", "")
    if language in Language.values:
        ReportLink.objects.filter(pk=link.pk).update(language=language)
    return _back_to(token, "")


def _back_to(token: str, anchor: str) -> HttpResponse:
    response = redirect("client-report", token)
    if anchor:
        response["Location"] += f"#{anchor}"
    return response


@for_holder_of_link
def client_report_photo(
    request: HttpRequest, link: ReportLink, report: Report, *, token: str, photo: UUID, rendition: str
) -> HttpResponse:
    """A frozen photo of a report that this link gives."""
    found = _photo(link, photo)
    return _frozen(request, found and found.data["files"].get(rendition))


@for_holder_of_link
def client_report_picture(
    request: HttpRequest, link: ReportLink, report: Report, *, token: str, photo: UUID
) -> HttpResponse:
    """One photo as large as the screen, with what is drawn on it: where the page's script does not run."""
    found = _photo(link, photo)
    if found is None:
        return gone(request)
    context = {"token": token, "photo": found, "language": link.language}
    return render(request, "inspections/reports/client/photo.html", context)


def _photo(link: ReportLink, photo: UUID) -> ReportPhoto | None:
    """The photo, if it stands in what the link gives, in the newest version that has it."""
    for report in Report.objects.filter(visit=link.visit_id).order_by("-version"):
        for each in _photos(Digest(report.snapshot), link.kind):
            if each.id == str(photo):
                return each
    return None


def _photos(digest: Digest, kind: str) -> Iterable[ReportPhoto]:
    if kind != Kind.SCHEDULE:
        return digest.photos
    return (photo for finding in digest.repairs for photo in finding.photos)


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
