from django.core.paginator import Paginator
from django.db.models import Max, Min, Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.trends.choices import NarrowForm, TrendForm, presets
from inspections.trends.counting import (
    count_by_decade,
    count_by_defect,
    count_by_inspector,
    count_by_link,
    count_by_town,
)

A_PAGE = 50


@needs(Capability.SEE_TRENDS)
@require_safe
@vary_on_headers("HX-Request")
def trends(request: HttpRequest) -> HttpResponse:
    form = TrendForm(request.GET)
    visits = form.visits()
    context = {"form": form, "presets": presets(form), "visit_count": visits.count()}
    if context["visit_count"]:
        context |= visits.aggregate(first=Min("starts_at"), last=Max("starts_at"))
        context["links"] = count_by_link(form, context["visit_count"])
        context["defects"] = count_by_defect(form, context["visit_count"])
        context["decades"], context["towns"] = count_by_decade(form), count_by_town(form)
        context["judges"] = count_by_inspector(form)
    template = "_numbers.html" if wants_fragment(request) else "trends.html"
    return render(request, f"inspections/trends/{template}", context)


@needs(Capability.SEE_TRENDS)
@require_safe
def trend_visits(request: HttpRequest) -> HttpResponse:
    """The visits behind one number: the same choices, narrowed to the row that was opened."""
    form = NarrowForm(request.GET)
    findings = form.findings()
    visits = (
        form.visits()
        .filter(pk__in=findings.values("visit"))
        .whole()
        .prefetch_related(Prefetch("findings", findings.select_related("defect").order_by("link", "created_at")))
        .order_by("-starts_at", "-pk")
    )
    page = Paginator(visits, A_PAGE).get_page(request.GET.get("page"))
    kept = request.GET.copy()
    kept.pop("page", None)
    back = TrendForm(request.GET).query()
    context = {"form": form, "page": page, "visit_count": form.visits().count(), "kept": kept.urlencode(), "back": back}
    return render(request, "inspections/trends/visits.html", context)
