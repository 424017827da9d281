from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from firm.clients.models import Client
from firm.people.capabilities import Capability, needs
from firm.properties.forms import HouseFilter, PropertyForm
from firm.properties.models import Property
from firm.properties.services import save_property, take_rule_set
from firm.rules.services import VALUES, find_rule_set
from firm.web.orders import Column, Order
from firm.web.sheets import csv_answer

A_PAGE = 50
ORDERS = {
    "street": Column("Street", ("street", "town")),
    "town": Column("Town", ("town", "street")),
    "county": Column("County", ("county", "town", "street")),
    "client": Column("Client", ("client__name", "town", "street")),
    "edition": Column("Code edition", ("edition", "town", "street")),
    "rules": Column("Rules from", ("rules_source", "town", "street")),
    "deck": Column("Deck of", ("deck_year_built", "town", "street")),
}
HEADS = (
    "Street", "Town", "County", "State", "Postal code", "Client", "Code edition", "Live load, psf",
    "Ground snow, psf", "Frost depth, in", "Soil bearing, psf", "Near salt water", "Rules from", "House of", "Deck of",
    "Latitude", "Longitude",
)  # fmt: skip


@needs(Capability.BOOK)
@require_safe
def property_list(request: HttpRequest) -> HttpResponse:
    """Every house on file, with the rules that apply there."""
    form, order = HouseFilter(request.GET), Order(request.GET, ORDERS, "town")
    page = Paginator(order.put(form.rows()), A_PAGE).get_page(request.GET.get("page"))
    return render(request, "firm/properties/list.html", {"form": form, "order": order, "page": page})


@needs(Capability.BOOK)
@require_safe
def property_list_csv(request: HttpRequest) -> HttpResponse:
    """Every house that the filters leave, not only those of one page."""
    rows = Order(request.GET, ORDERS, "town").put(HouseFilter(request.GET).rows()).iterator(chunk_size=2000)
    return csv_answer("houses.csv", HEADS, (_row(house) for house in rows))


def _row(house: Property) -> tuple[object, ...]:
    return (
        house.street, house.town, house.county, house.region, house.postcode, house.client.name,
        house.get_edition_display(), house.live_psf, house.ground_snow_psf, house.frost_depth_in, house.soil_psf,
        "yes" if house.is_near_salt_water else "no", house.rules_source, house.year_built, house.deck_year_built,
        house.latitude, house.longitude,
    )  # fmt: skip


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def property_new(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, Property(client=get_object_or_404(Client, pk=pk)))


@needs(Capability.BOOK)
@require_http_methods(["GET", "HEAD", "POST"])
def property_edit(request: HttpRequest, pk: int) -> HttpResponse:
    houses = Property.objects.select_related("client")
    if request.method != "POST":
        return _edit(request, get_object_or_404(houses, pk=pk))
    with transaction.atomic():
        return _edit(request, get_object_or_404(houses.select_for_update(of=("self",)), pk=pk))


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
