from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from firm.audit.finding import HEADS, TrailForm, kind_words, rows
from firm.people.capabilities import Capability, needs
from firm.web.sheets import csv_answer

A_PAGE = 50
MOST_IN_A_SHEET = 50_000


@needs(Capability.RELEASE, Capability.ADMINISTER)
@require_safe
def trail(request: HttpRequest) -> HttpResponse:
    """Who did what to which record, newest first."""
    form = TrailForm(request.GET)
    page = Paginator(form.lines(), A_PAGE).get_page(request.GET.get("page"))
    kept = request.GET.copy()
    kept.pop("page", None)
    lines = [(line, kind_words(line.subject_type)) for line in page]
    context = {"form": form, "page": page, "lines": lines, "kept": kept.urlencode()}
    return render(request, "firm/audit/trail.html", context)


@needs(Capability.RELEASE, Capability.ADMINISTER)
@require_safe
def trail_csv(request: HttpRequest) -> HttpResponse:
    """The lines that the filters let through, with their digests; at most 50,000, the newest."""
    return csv_answer("history.csv", HEADS, rows(TrailForm(request.GET).lines()[:MOST_IN_A_SHEET]))
