"""Looking at visits: the list, and one of them."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from firm.audit.models import AuditEntry
from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from firm.web.orders import Order
from firm.web.sheets import csv_answer
from inspections.visits.listing import VisitFilter, Week, by_week
from inspections.visits.lists import COLUMNS, HEADS, csv_row
from inspections.visits.models import Visit
from inspections.visits.next_steps import next_steps

A_PAGE = 50
ORDERS = {name: COLUMNS[name] for name in ("when", "client", "place", "inspector", "state")}


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
@vary_on_headers("HX-Request")
def visit_list(request: HttpRequest) -> HttpResponse:
    form = VisitFilter(request.GET)
    order = Order(request.GET, ORDERS)
    visits = order.put(form.narrow(Visit.objects.known_to(request.user).for_rows()))
    page = Paginator(visits, A_PAGE).get_page(request.GET.get("page"))
    label = next((head.label for head in order.heads if head.order != "none"), "")
    weeks = [Week(None, list(page), f"By {label.lower()}")] if label and page.object_list else by_week(page.object_list)
    context = {"form": form, "page": page, "weeks": weeks, "order": order, "kept": order.kept}
    template = "_list.html" if wants_fragment(request) else "list.html"
    return render(request, f"inspections/visits/{template}", context)


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
def visit_list_csv(request: HttpRequest) -> HttpResponse:
    """Every visit that the filters leave, not only those of one page."""
    visits = VisitFilter(request.GET).narrow(Visit.objects.known_to(request.user).whole())
    rows = Order(request.GET, ORDERS).put(visits).iterator(chunk_size=2000)
    return csv_answer("visits.csv", HEADS, (csv_row(visit) for visit in rows))


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
def visit_detail(request: HttpRequest, pk: int) -> HttpResponse:
    visits = Visit.objects.known_to(request.user).whole()
    visit = get_object_or_404(visits.select_related("follows__property", "booked_by"), pk=pk)
    # The survey knows visits, so this room knows the survey only here, when it is asked.
    from inspections.outside.models import Agreement
    from inspections.survey.basis import is_out_of_date, rules_applied

    may_book = request.user.may(Capability.BOOK)
    sees_links = request.user.may(Capability.BOOK) or request.user.may(Capability.RELEASE)
    context = {
        "visit": visit,
        "links": visit.links.prefetch_related("openings", "mails") if sees_links else None,
        "rules": rules_applied(visit),
        "rules_changed": is_out_of_date(visit),
        "wishes": visit.time_wishes.unanswered().select_related("visit__client") if may_book else (),
        "acceptances": visit.acceptances.select_related("agreement"),
        "is_agreement_asked": Agreement.current() is not None,
        "next": next_steps(visit, request.user),
        "followers": visit.followed_by.whole(),
        "reports": visit.reports.defer("snapshot").order_by("-version"),
        "history": AuditEntry.objects.about(visit).select_related("by")[:50],
    }
    return render(request, "inspections/visits/detail.html", context)
