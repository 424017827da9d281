"""The lists of the day, kept ones, and the same as CSV."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from firm.people.capabilities import Capability, needs
from firm.web.sheets import csv_answer
from inspections.visits.lists import HEADS, LISTS, ListForm, SaveForm, VisitList, csv_row, order_of
from inspections.visits.models import SavedList, Visit

A_PAGE = 100
MOST_KEPT = 30


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
def visit_lists(request: HttpRequest, which: str = "today") -> HttpResponse:
    this = _list(which)
    mine = Visit.objects.known_to(request.user)
    form, order = ListForm(request.GET), order_of(this, request.GET)
    page = Paginator(order.put(form.rows(this, mine.whole())), A_PAGE).get_page(request.GET.get("page"))
    context = {
        "this": this,
        "lists": [(one, one.narrow(mine).count()) for one in LISTS.values()],
        "form": form,
        "page": page,
        "order": order,
        "kept": order.kept,
        "saved": [(one, f"{reverse('visit-lists', args=[one.which])}?{one.query}") for one in _saved(request)],
        "save_form": SaveForm(),
    }
    return render(request, "inspections/visits/lists.html", context)


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_safe
def visit_lists_csv(request: HttpRequest, which: str) -> HttpResponse:
    """Every row of the list, not only those of one page."""
    this = _list(which)
    rows = ListForm(request.GET).rows(this, Visit.objects.known_to(request.user).whole())
    rows = order_of(this, request.GET).put(rows)
    return csv_answer(f"visits-{this.key}.csv", HEADS, (csv_row(visit) for visit in rows.iterator(chunk_size=2000)))


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_POST
def saved_list_add(request: HttpRequest, which: str) -> HttpResponse:
    """Keep the list as it is narrowed and ordered; under a name that is there already it takes the other's place."""
    this, query = _list(which), _kept(request.GET)
    form = SaveForm(request.POST)
    if not form.is_valid() or len(query) > SavedList._meta.get_field("query").max_length:
        messages.error(request, "Not kept: give it a name of up to 60 letters.", extra_tags="problem")
    elif request.user.saved_lists.count() >= MOST_KEPT:
        messages.error(request, f"Not kept: {MOST_KEPT} are the most. Take one away first.", extra_tags="problem")
    else:
        name = form.cleaned_data["name"]
        request.user.saved_lists.update_or_create(name=name, defaults={"which": this.key, "query": query})
        messages.success(request, f"Kept as {name}.")
    return redirect(f"{reverse('visit-lists', args=[this.key])}?{query}")


@needs(Capability.BOOK, Capability.RELEASE, Capability.RECORD)
@require_POST
def saved_list_remove(request: HttpRequest, pk: int) -> HttpResponse:
    saved = get_object_or_404(_saved(request), pk=pk)
    saved.delete()
    messages.success(request, f"{saved.name} is no longer kept. The visits are not touched.")
    return redirect("visit-lists", saved.which)


def _list(key: str) -> VisitList:
    if key not in LISTS:
        raise Http404
    return LISTS[key]


def _saved(request: HttpRequest):
    return request.user.saved_lists.filter(which__in=LISTS)


def _kept(asked: QueryDict) -> str:
    """The filters and the order as they stand in the address, and nothing else of it."""
    return urlencode([(name, asked[name]) for name in ListForm.base_fields if asked.get(name)])
