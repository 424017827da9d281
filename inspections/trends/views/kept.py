"""What is kept of the trends: saved views, notices, summaries."""

from django.contrib import messages
from django.db import transaction
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from firm import audit
from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.trends.choices import TrendForm
from inspections.trends.models import ChangeNotice, SavedView, SummaryBuild
from inspections.trends.summary import ask_for_summary
from inspections.trends.views.pages import PAGES
from inspections.trends.watching import put_aside


def _page_of(request: HttpRequest):
    page = PAGES.get(request.POST.get("page", ""))
    if page is None:
        raise Http404("no such page of figures")
    return page


def _address(name: str, query: str) -> str:
    return f"{reverse(name)}?{query}" if query else reverse(name)


@needs(Capability.SEE_TRENDS)
@require_POST
def trend_view_save(request: HttpRequest) -> HttpResponse:
    """Keep the page with its choices under a name."""
    page = _page_of(request)
    query = page.form(QueryDict(request.POST.get("query", "")[:1000])).query()
    name = " ".join(request.POST.get("name", "").split())[:80]
    if not name:
        messages.error(request, "Give the view a name, so that it is found again.")
    else:
        with transaction.atomic():
            view = SavedView.objects.create(name=name, page=page.name, query=query, by=request.user)
            audit.record(request.user, "saved", view, after={"page": page.name, "query": query})
        messages.success(request, f"Saved as “{name}”.")
    return redirect(_address(page.name, query))


@needs(Capability.SEE_TRENDS)
@require_POST
def trend_view_remove(request: HttpRequest, pk: int) -> HttpResponse:
    view = get_object_or_404(SavedView, pk=pk)
    with transaction.atomic():
        audit.record(request.user, "removed", view, before={"page": view.page, "query": view.query})
        view.delete()
    messages.success(request, f"“{view.name}” is no longer saved.")
    return redirect(view.page if view.page in PAGES else "trends")


@needs(Capability.SEE_TRENDS)
@require_POST
def trend_notice_read(request: HttpRequest, pk: int) -> HttpResponse:
    put_aside(get_object_or_404(ChangeNotice, pk=pk), by=request.user)
    return redirect("trends")


@needs(Capability.SEE_TRENDS)
@require_POST
def trend_summary_ask(request: HttpRequest) -> HttpResponse:
    """Have the page of rates drawn as one sheet of paper."""
    form = TrendForm(QueryDict(request.POST.get("query", "")[:1000]))
    return redirect("trend-summary", ask_for_summary(form, by=request.user).pk)


@needs(Capability.SEE_TRENDS)
@require_safe
def trend_summary(request: HttpRequest, pk: int) -> HttpResponse:
    build = get_object_or_404(SummaryBuild, pk=pk)
    template = "_summary.html" if wants_fragment(request) else "summary.html"
    return render(request, f"inspections/trends/{template}", {"build": build})


@needs(Capability.SEE_TRENDS)
@require_safe
def trend_summary_pdf(request: HttpRequest, pk: int) -> FileResponse:
    build = get_object_or_404(SummaryBuild, pk=pk)
    if not build.pdf:
        raise Http404("the summary is not drawn yet")
    return FileResponse(build.pdf.open("rb"), content_type="application/pdf", filename=f"summary-{build.pk}.pdf")
