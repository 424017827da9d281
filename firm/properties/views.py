from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from firm.clients.models import Client
from firm.people.capabilities import Capability, needs
from firm.properties.forms import PropertyForm
from firm.properties.models import Property
from firm.properties.services import save_property, take_rule_set
from firm.rules.services import VALUES, find_rule_set


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
    if request.method == "POST" and "take_rules" in request.POST:
        return _with_rules_of_the_place(request, house)
    form = PropertyForm(request.POST if request.method == "POST" else None, instance=house)
    if request.method == "POST" and form.is_valid():
        save_property(form.save(commit=False), by=request.user)
        messages.success(request, f"{house.one_line} is {'on file' if is_new else 'saved'}.")
        return redirect("client-detail", house.client_id)
    status = 422 if request.method == "POST" else 200
    return _page(request, form, house, status)


def _with_rules_of_the_place(request: HttpRequest, house: Property) -> HttpResponse:
    """The form as it was typed, with the rules of its place put in: to be looked at, nothing is stored yet."""
    typed = PropertyForm(request.POST, instance=house)
    is_new = house.pk is None
    place = {name: request.POST.get(name, "") for name in ("region", "county", "town")}
    rule_set = find_rule_set(**place)
    words = "No rule set is on file for this county or town. Whoever looks after settings can add one."
    data = request.POST.copy()
    if rule_set is not None:
        probe = Property(county=place["county"])
        take_rule_set(probe, rule_set)
        for name in (*VALUES, "rules_source", "county"):
            value = getattr(probe, name)
            data[name] = "" if value is None else str(value)
        data["rule_set"] = str(rule_set.pk)
        if not rule_set.is_near_salt_water:
            del data["is_near_salt_water"]
        words = f"The rules of {rule_set.place} are filled in below. Look them over, then save."
    initial = {name: data.get(name, "") for name in typed.fields}
    form = PropertyForm(instance=Property(client=house.client, pk=house.pk), initial=initial)
    return _page(request, form, house, 200, words, is_new)


def _page(
    request: HttpRequest, form: PropertyForm, house: Property, status: int, words: str = "", is_new: bool | None = None
) -> HttpResponse:
    is_new = house.pk is None if is_new is None else is_new
    context = {"form": form, "house": house, "is_new": is_new, "words": words}
    return render(request, "firm/properties/edit.html", context, status=status)
