from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from firm.clients.models import Client
from firm.people.capabilities import Capability, needs
from firm.properties.forms import PropertyForm
from firm.properties.models import Property
from firm.properties.services import save_property


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def property_new(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, Property(client=get_object_or_404(Client, pk=pk)))


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def property_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(Property.objects.select_related("client"), pk=pk))


def _edit(request: HttpRequest, house: Property) -> HttpResponse:
    is_new = house.pk is None
    form = PropertyForm(request.POST if request.method == "POST" else None, instance=house)
    if request.method == "POST" and form.is_valid():
        save_property(form.save(commit=False), by=request.user)
        messages.success(request, f"{house.one_line} is {'on file' if is_new else 'saved'}.")
        return redirect("client-detail", house.client_id)
    status = 422 if request.method == "POST" else 200
    context = {"form": form, "house": house, "is_new": is_new}
    return render(request, "firm/properties/edit.html", context, status=status)
