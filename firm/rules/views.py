"""Local rule sets and confirmations. Whoever books may look; whoever looks after settings may change."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.people.capabilities import Capability, needs
from firm.rules import services
from firm.rules.forms import AmendmentForm, ConfirmationForm, RuleSetForm
from firm.rules.keys import known_keys, known_rules
from firm.rules.models import Amendment, Confirmation, RuleSet
from firm.web.orders import Column, Order
from firm.web.sheets import csv_answer

ORDERS = {
    "place": Column("Place", ("region", "county", "town")),
    "town": Column("Town", ("town", "county", "region")),
    "edition": Column("Code edition", ("edition", "region", "county", "town")),
    "since": Column("Adopted", ("holds_from",)),
}
HEADS = (
    "State", "County", "Town", "Code edition", "Live load, psf", "Ground snow, psf", "Frost depth, in",
    "Soil bearing, psf", "Near salt water", "Where it stands", "Adopted", "Amendments",
)  # fmt: skip


@needs(Capability.BOOK, Capability.RELEASE)
@require_safe
def rule_sets(request: HttpRequest) -> HttpResponse:
    order = Order(request.GET, ORDERS, "place")
    context = {
        "rule_sets": order.put(RuleSet.objects.prefetch_related("amendments")),
        "order": order,
        "confirmations": _with_words(),
        "form": ConfirmationForm(),
        "known": known_keys(),
    }
    return render(request, "firm/rules/rule_sets.html", context)


@needs(Capability.BOOK, Capability.RELEASE)
@require_safe
def rule_sets_csv(request: HttpRequest) -> HttpResponse:
    rows = Order(request.GET, ORDERS, "place").put(RuleSet.objects.prefetch_related("amendments"))
    return csv_answer("local-rules.csv", HEADS, (_row(one) for one in rows))


def _row(rule_set: RuleSet) -> tuple[object, ...]:
    amended = (f"{one.key} {one.value:g} {one.unit} ({one.citation})" for one in rule_set.amendments.all())
    return (
        rule_set.region, rule_set.county, rule_set.town, rule_set.get_edition_display(), rule_set.live_psf,
        rule_set.ground_snow_psf, rule_set.frost_depth_in, rule_set.soil_psf,
        "yes" if rule_set.is_near_salt_water else "no", rule_set.citation, rule_set.holds_from, "; ".join(amended),
    )  # fmt: skip


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def rule_set_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, RuleSet())


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def rule_set_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(RuleSet, pk=pk))


@needs(Capability.ADMINISTER)
@require_POST
def amendment_add(request: HttpRequest, pk: int) -> HttpResponse:
    rule_set = get_object_or_404(RuleSet, pk=pk)
    form = AmendmentForm(request.POST, instance=Amendment(rule_set=rule_set))
    if form.is_valid():
        amendment = services.amend(form.save(commit=False), by=request.user)
        messages.success(request, f"{amendment.key} is {amendment.value:g} {amendment.unit} in {rule_set.place}.")
        return redirect("rule-set-edit", rule_set.pk)
    return _page(request, rule_set, RuleSetForm(instance=rule_set), form, 422)


@needs(Capability.ADMINISTER)
@require_POST
def amendment_remove(request: HttpRequest, pk: int) -> HttpResponse:
    amendment = get_object_or_404(Amendment.objects.select_related("rule_set"), pk=pk)
    services.drop_amendment(amendment, by=request.user)
    messages.success(request, f"{amendment.key} follows the code again in {amendment.rule_set.place}.")
    return redirect("rule-set-edit", amendment.rule_set_id)


@needs(Capability.ADMINISTER)
@require_POST
def confirmation_add(request: HttpRequest) -> HttpResponse:
    form = ConfirmationForm(request.POST)
    if form.is_valid():
        confirmed = services.confirm(form.save(commit=False), by=request.user)
        messages.success(request, f"{confirmed.key} is confirmed against your own copy.")
        return redirect("rule-sets")
    context = {
        "rule_sets": RuleSet.objects.prefetch_related("amendments"),
        "confirmations": _with_words(),
        "form": form,
        "known": known_keys(),
    }
    return render(request, "firm/rules/rule_sets.html", context, status=422)


@needs(Capability.ADMINISTER)
@require_POST
def confirmation_remove(request: HttpRequest, pk: int) -> HttpResponse:
    confirmation = get_object_or_404(Confirmation, pk=pk)
    services.take_confirmation_back(confirmation, by=request.user)
    messages.success(request, f"{confirmation.key} counts as not compared again.")
    return redirect("rule-sets")


def _edit(request: HttpRequest, rule_set: RuleSet) -> HttpResponse:
    is_new = rule_set.pk is None
    form = RuleSetForm(request.POST if request.method == "POST" else None, instance=rule_set)
    if request.method == "POST" and form.is_valid():
        saved = services.save_rule_set(form.save(commit=False), by=request.user)
        messages.success(request, f"The rules of {saved.place} are {'on file' if is_new else 'saved'}.")
        return redirect("rule-set-edit", saved.pk)
    return _page(request, rule_set, form, AmendmentForm(), 422 if request.method == "POST" else 200)


def _page(
    request: HttpRequest, rule_set: RuleSet, form: RuleSetForm, amendment_form: AmendmentForm, status: int
) -> HttpResponse:
    known = known_rules()
    stored = rule_set.amendments.all() if rule_set.pk else []
    context = {
        "rule_set": rule_set,
        "form": form,
        "amendment_form": amendment_form,
        "amendments": [(one, known.get(one.key)) for one in stored],
        "known": known,
        "houses": rule_set.properties.count() if rule_set.pk else 0,
    }
    return render(request, "firm/rules/edit.html", context, status=status)


def _with_words() -> list[tuple[Confirmation, str]]:
    known = known_keys()
    rows = Confirmation.objects.select_related("by")
    return [(one, known[one.key].words if one.key in known else "no longer in the tables") for one in rows]
