"""Looking at visits: the list, and one of them."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from firm.audit.models import AuditEntry
from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.visits.listing import VisitFilter, by_week
from inspections.visits.models import Visit
from inspections.visits.next_steps import next_steps

A_PAGE = 50


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
@vary_on_headers("HX-Request")
def visit_list(request: HttpRequest) -> HttpResponse:
    form = VisitFilter(request.GET)
    visits = form.narrow(Visit.objects.visible_to(request.user).whole())
    page = Paginator(visits, A_PAGE).get_page(request.GET.get("page"))
    kept = request.GET.copy()
    kept.pop("page", None)
    context = {"form": form, "page": page, "weeks": by_week(page.object_list), "kept": kept.urlencode()}
    template = "_list.html" if wants_fragment(request) else "list.html"
    return render(request, f"inspections/visits/{template}", context)


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
def visit_detail(request: HttpRequest, pk: int) -> HttpResponse:
    visits = Visit.objects.visible_to(request.user).whole()
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
