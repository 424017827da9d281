"""The pages of numbers. Each reads the choices, the bitmaps it needs in one query, and shows what they say."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.trends import changing, judging, measuring, recurring, repairing, together
from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.choices import TrendForm, presets
from inspections.trends.models import ChangeNotice, CountingJob, SavedView


@dataclass(frozen=True)
class Page:
    """A page of numbers: its url name, what the tab says, and what it is made of."""

    name: str
    tab: str
    part: str  # template of the numbers
    form: type[TrendForm]
    wants: Callable[[Any], list[Want]]
    look: Callable[[Any, Bitmaps], dict[str, Any]]
    has_cut: bool = False

    def numbers(self, form: TrendForm) -> dict[str, Any]:
        return self.look(form, Bitmaps(self.wants(form)))


PAGES = {
    page.name: page
    for page in (
        Page("trends", "What recurs", "_recurring", TrendForm, recurring.wants, recurring.recurring, has_cut=True),
        Page("trends-changed", "What changed", "_changing", TrendForm, changing.wants, changing.changing),
        Page("trends-together", "What comes together", "_together", TrendForm, together.wants, together.together),
        Page("trends-repaired", "Until repaired", "_repairing", TrendForm, repairing.wants, repairing.repairing),
        Page(
            "trends-measured", "Measured", "_measuring", measuring.MeasureForm, measuring.wants, measuring.measuring,
            has_cut=True,
        ),
        Page("trends-alike", "Do we judge alike?", "_judging", TrendForm, judging.wants, judging.judging),
    )
}  # fmt: skip


def _show(request: HttpRequest, name: str) -> HttpResponse:
    page = PAGES[name]
    form = page.form(request.GET)
    context = {
        "page": page,
        "part": f"inspections/trends/{page.part}.html",
        "form": form,
        "query": form.query(),
        **page.numbers(form),
    }
    if wants_fragment(request):
        return render(request, "inspections/trends/_numbers.html", context)
    context |= {
        "pages": PAGES.values(),
        "presets": presets(form),
        "saved": SavedView.objects.all(),
        "notices": ChangeNotice.objects.filter(read_at__isnull=True),
        "not_yet_counted": CountingJob.objects.filter(state__in=("waiting", "running"))
        .values("visit")
        .distinct()
        .count(),
    }
    return render(request, "inspections/trends/page.html", context)


@needs(Capability.SEE_TRENDS)
@require_safe
@vary_on_headers("HX-Request")
def trends(request: HttpRequest) -> HttpResponse:
    return _show(request, "trends")


@needs(Capability.SEE_TRENDS)
@require_safe
@vary_on_headers("HX-Request")
def trends_changed(request: HttpRequest) -> HttpResponse:
    return _show(request, "trends-changed")


@needs(Capability.SEE_TRENDS)
@require_safe
@vary_on_headers("HX-Request")
def trends_together(request: HttpRequest) -> HttpResponse:
    return _show(request, "trends-together")


@needs(Capability.SEE_TRENDS)
@require_safe
@vary_on_headers("HX-Request")
def trends_repaired(request: HttpRequest) -> HttpResponse:
    return _show(request, "trends-repaired")


@needs(Capability.SEE_TRENDS)
@require_safe
@vary_on_headers("HX-Request")
def trends_measured(request: HttpRequest) -> HttpResponse:
    return _show(request, "trends-measured")


@needs(Capability.SEE_TRENDS)
@require_safe
@vary_on_headers("HX-Request")
def trends_alike(request: HttpRequest) -> HttpResponse:
    return _show(request, "trends-alike")
