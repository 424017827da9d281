from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Count, F, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.audit.models import AuditEntry
from firm.clients.doubles import (
    NotTheSame,
    client_doubles,
    house_doubles,
    merge_clients,
    merge_houses,
    merged_into,
    numbers_of,
    twins_of,
    what_moves,
)
from firm.clients.forms import ClientForm, SearchForm
from firm.clients.models import Client
from firm.clients.search import find_clients
from firm.clients.services import save_client
from firm.people.capabilities import Capability, needs
from firm.properties.models import Property
from firm.web import wants_fragment
from firm.web.orders import Column, Order
from firm.web.sheets import csv_answer

A_PAGE = 40
ORDERS = {
    "name": Column("Name", ("name",)),
    "mail": Column("Mail", ("email", "name")),
    "since": Column("On file since", ("created_at",)),
}


@needs(Capability.BOOK)
@require_safe
@vary_on_headers("HX-Request")
def client_list(request: HttpRequest) -> HttpResponse:
    form = SearchForm(request.GET)
    words = form.words()
    order = Order(request.GET, ORDERS)
    page = Paginator(order.put(Client.objects.matching(words).best_first(words)), A_PAGE).get_page(
        request.GET.get("page")
    )
    # The visits of this page's clients only: counting those of everybody takes seconds where there are many.
    shown = order.put(Client.objects.filter(pk__in=[client.pk for client in page]).best_first(words))
    page.object_list = shown.prefetch_related("properties").annotate(visit_count=Count("visits"))
    found = find_clients(words) if words and not page.paginator.count else None
    context = {"form": form, "page": page, "words": words, "alike": found.alike if found else [], "order": order}
    template = "_list.html" if wants_fragment(request) else "list.html"
    return render(request, f"firm/clients/{template}", context)


@needs(Capability.BOOK)
@require_safe
def client_list_csv(request: HttpRequest) -> HttpResponse:
    """Every client that the search finds, not only those of one page."""
    words = SearchForm(request.GET).words()
    clients = Order(request.GET, ORDERS).put(Client.objects.matching(words).best_first(words))
    rows = clients.prefetch_related("properties").iterator(chunk_size=2000)
    heads = ("Name", "Telephone", "Mail", "Properties", "On file since")
    return csv_answer(
        "clients.csv",
        heads,
        (
            (
                client.name, client.phone, client.email,
                "; ".join(house.one_line for house in client.properties.all()),
                timezone.localtime(client.created_at).date(),
            )
            for client in rows
        ),
    )  # fmt: skip


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def client_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, Client())


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def client_edit(request: HttpRequest, pk: int) -> HttpResponse:
    if request.method != "POST":
        return _edit(request, get_object_or_404(Client, pk=pk))
    with transaction.atomic():
        return _edit(request, get_object_or_404(Client.objects.select_for_update(), pk=pk))


@needs(Capability.BOOK)
@require_safe
def client_detail(request: HttpRequest, pk: int) -> HttpResponse:
    client = Client.objects.filter(pk=pk).first()
    if client is None and (now := merged_into(Client, pk)):
        return redirect("client-detail", now)
    client = client or get_object_or_404(Client, pk=pk)
    properties = list(client.properties.all())
    about = Q(subject_type="clients.client", subject_id__in=numbers_of([client])) | Q(
        subject_type="properties.property", subject_id__in=numbers_of(properties)
    )
    context = {
        "client": client,
        "properties": properties,
        "visits": client.visits.select_related("property", "inspector").order_by(F("starts_at").desc(nulls_first=True))[
            :100
        ],
        "history": AuditEntry.objects.filter(about).select_related("by")[:30],
    }
    return render(request, "firm/clients/detail.html", context)


@needs(Capability.BOOK)
@require_POST
def client_twins(request: HttpRequest) -> HttpResponse:
    """Who on file may be the client that is being typed in: swapped in under the fields while they are filled."""
    prefix = "client-" if "client-name" in request.POST else ""
    typed = {
        name: request.POST.get(f"{prefix}{name}", "")[:254].replace("\x00", "") for name in ("name", "phone", "email")
    }
    but = request.GET.get("but", "")
    number = int(but) if but.isascii() and but.isdigit() and len(but) < 18 else None
    context = {"found": twins_of(**typed, but=number), "is_booking": bool(prefix)}
    return render(request, "firm/clients/_twins.html", context)


@needs(Capability.BOOK)
@require_safe
def doubles(request: HttpRequest) -> HttpResponse:
    """Clients and houses that look as if they were on file twice."""
    return render(request, "firm/clients/doubles.html", {"clients": client_doubles(), "houses": house_doubles()})


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def client_merge(request: HttpRequest, pk: int, other: int) -> HttpResponse:
    kept, gone = get_object_or_404(Client, pk=pk), get_object_or_404(Client, pk=other)
    return _merge(request, "client-merge", merge_clients, kept, gone, kept.pk)


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def house_merge(request: HttpRequest, pk: int, other: int) -> HttpResponse:
    kept, gone = get_object_or_404(Property, pk=pk), get_object_or_404(Property, pk=other)
    return _merge(request, "house-merge", merge_houses, kept, gone, kept.client_id)


def _merge(request: HttpRequest, name: str, merge: Callable, kept: Any, gone: Any, client: int) -> HttpResponse:
    problem = ""
    if request.method == "POST":
        try:
            merge(kept, gone, by=request.user)
        except NotTheSame as refusal:
            problem = str(refusal)
        else:
            messages.success(request, f"Now one: {kept}.")
            return redirect("client-detail", client)
    context = {
        "kept": kept, "gone": gone, "moves": what_moves(gone), "problem": problem, "client": client,
        "here": reverse(name, args=[kept.pk, gone.pk]), "other_way": reverse(name, args=[gone.pk, kept.pk]),
    }  # fmt: skip
    return render(request, "firm/clients/merge.html", context, status=422 if problem else 200)


def _edit(request: HttpRequest, client: Client) -> HttpResponse:
    is_new = client.pk is None
    form = ClientForm(request.POST if request.method == "POST" else None, instance=client)
    if request.method == "POST" and form.is_valid():
        save_client(form.save(commit=False), by=request.user)
        messages.success(request, f"{client.name} is {'on file' if is_new else 'saved'}.")
        return redirect("client-detail", client.pk)
    status = 422 if request.method == "POST" else 200
    return render(request, "firm/clients/edit.html", {"form": form, "is_new": is_new}, status=status)
