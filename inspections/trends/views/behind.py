"""From a number to the visits behind it, as a list and as CSV."""

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from firm.people.capabilities import Capability, needs
from inspections.findings.models import Action, Finding
from inspections.trends.bitmaps import Bitmaps, Want, positions_of
from inspections.trends.choices import BehindForm
from inspections.trends.export import figures_csv, rows_csv
from inspections.trends.judging import STRATA, like_bitmap, twice_bitmap
from inspections.trends.repairing import pressing_wants, spells_behind
from inspections.trends.views.pages import PAGES
from inspections.visits.models import Visit

A_PAGE = 50


def visits_behind(form: BehindForm) -> tuple[int, int]:
    """The visits behind a figure, and those that it is of."""
    is_like = form.asked.get("like")
    bitmaps = Bitmaps([*form.wants(), *pressing_wants(form), *(map(Want, (*STRATA, "inspector")) if is_like else ())])
    base = form.base(bitmaps)
    if is_like:
        anybody = form.base(bitmaps, of_anybody=True)
        base &= like_bitmap(bitmaps, anybody, form.asked.get("inspector") or "")
    if (found := spells_behind(form, bitmaps, base)) is not None:
        return found, base
    if twice := form.asked.get("twice"):
        return twice_bitmap(base, twice), base
    return form.behind(bitmaps, base), base


@needs(Capability.SEE_TRENDS)
@require_safe
def trend_visits(request: HttpRequest) -> HttpResponse:
    """The visits behind one number: the same choices, narrowed to the figure that was opened."""
    form = BehindForm(request.GET)
    found, base = visits_behind(form)
    positions = positions_of(found)[::-1]
    page = Paginator(positions, A_PAGE).get_page(request.GET.get("page"))
    visits = (
        Visit.objects.filter(counted__position__in=list(page))
        .whole()
        .prefetch_related(Prefetch("findings", _counted_findings(form)))
        .order_by("-starts_at", "-pk")
    )
    kept = request.GET.copy()
    kept.pop("page", None)
    context = {
        "form": form,
        "page": page,
        "visits": visits,
        "visit_count": base.bit_count(),
        "kept": kept.urlencode(),
        "back": form.choices_query(),
    }
    return render(request, "inspections/trends/visits.html", context)


def _counted_findings(form: BehindForm):
    """The findings that made the visit count, to be shown with it."""
    asked = form.asked
    found = Finding.objects.filter(removed_at__isnull=True).select_related("defect").order_by("link", "created_at")
    if asked.get("action"):
        found = found.filter(action=asked["action"])
    elif not asked.get("every"):
        found = found.exclude(action=Action.SOUND)
    if slugs := [slug for slug in (asked.get("defect"), asked.get("also")) if slug]:
        found = found.filter(defect__slug__in=slugs)
    elif own := asked.get("own"):
        found = found.filter(link=own, defect__isnull=True)
    elif link := asked.get("link"):
        found = found.filter(link=link)
    return found


@needs(Capability.SEE_TRENDS)
@require_safe
def trend_figures(request: HttpRequest) -> HttpResponse:
    """The figures of one page as CSV, with the same choices."""
    page = PAGES.get(request.GET.get("page", "trends"))
    if page is None:
        raise Http404("no such page of figures")
    form = page.form(request.GET)
    return _csv(figures_csv(page.name, page.numbers(form)), f"{page.name}.csv")


@needs(Capability.SEE_TRENDS)
@require_safe
def trend_rows(request: HttpRequest) -> HttpResponse:
    """The visits that are counted, one a row, without anything that names a person or a place of their own."""
    form = BehindForm(request.GET)
    bitmaps = Bitmaps(form.wants())
    return _csv(rows_csv(positions_of(form.base(bitmaps))), "visits.csv")


def _csv(lines, name: str) -> StreamingHttpResponse:
    return StreamingHttpResponse(
        lines,
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"},
    )
