from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.audit.models import AuditEntry
from firm.clients.forms import ClientForm, SearchForm
from firm.clients.models import Client
from firm.clients.search import find_clients
from firm.clients.services import save_client
from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment

A_PAGE = 40


@needs(Capability.BOOK)
@require_safe
@vary_on_headers("HX-Request")
def client_list(request: HttpRequest) -> HttpResponse:
    form = SearchForm(request.GET)
    words = form.words()
    page = Paginator(Client.objects.matching(words).best_first(words), A_PAGE).get_page(request.GET.get("page"))
    # The visits of this page's clients only: counting those of everybody takes seconds where there are many.
    shown = Client.objects.filter(pk__in=[client.pk for client in page]).best_first(words)
    page.object_list = shown.prefetch_related("properties").annotate(visit_count=Count("visits"))
    found = find_clients(words) if words and not page.paginator.count else None
    context = {"form": form, "page": page, "words": words, "alike": found.alike if found else []}
    template = "_list.html" if wants_fragment(request) else "list.html"
    return render(request, f"firm/clients/{template}", context)


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def client_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, Client())


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def client_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(Client, pk=pk))


@needs(Capability.BOOK)
@require_safe
def client_detail(request: HttpRequest, pk: int) -> HttpResponse:
    client = get_object_or_404(Client, pk=pk)
    properties = list(client.properties.all())
    about = Q(subject_type="clients.client", subject_id=str(client.pk)) | Q(
        subject_type="properties.property", subject_id__in=[str(house.pk) for house in properties]
    )
    context = {
        "client": client,
        "properties": properties,
        "visits": client.visits.select_related("property", "inspector").order_by("-starts_at")[:100],
        "history": AuditEntry.objects.filter(about).select_related("by")[:30],
    }
    return render(request, "firm/clients/detail.html", context)


def _edit(request: HttpRequest, client: Client) -> HttpResponse:
    is_new = client.pk is None
    form = ClientForm(request.POST if request.method == "POST" else None, instance=client)
    if request.method == "POST" and form.is_valid():
        save_client(form.save(commit=False), by=request.user)
        messages.success(request, f"{client.name} is {'on file' if is_new else 'saved'}.")
        return redirect("client-detail", client.pk)
    status = 422 if request.method == "POST" else 200
    return render(request, "firm/clients/edit.html", {"form": form, "is_new": is_new}, status=status)
