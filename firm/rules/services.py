"""The rule sets of places, what they amend, and what the firm has compared with its own copy of the code."""

from typing import Any

from django.db import transaction

from firm import audit
from firm.clients.keys import search_key
from firm.people.models import User
from firm.rules.models import Amendment, Confirmation, RuleSet, key_of_place

AUDITED = [
    "region", "county", "town", "edition", "live_psf", "ground_snow_psf", "frost_depth_in", "soil_psf",
    "is_near_salt_water", "citation", "holds_from",
]  # fmt: skip
# What a property takes over.
VALUES = ["edition", "live_psf", "ground_snow_psf", "frost_depth_in", "soil_psf", "is_near_salt_water"]


def find_rule_set(*, region: str, county: str = "", town: str = "") -> RuleSet | None:
    """The set of the town if it has one, else that of the county; None where neither is on file.

    A place is told by its county where both say one; a town of the same name in another county is another town.
    """
    county_key = key_of_place("", county, "").split("|")[1]
    town_key = search_key(town)
    of_the_county = None
    for rule_set in RuleSet.objects.filter(place_key__startswith=f"{search_key(region)}|"):
        _, set_county, set_town = rule_set.place_key.split("|")
        if set_town and set_town == town_key and (not set_county or not county_key or set_county == county_key):
            return rule_set
        if not set_town and county_key and set_county == county_key:
            of_the_county = rule_set
    return of_the_county


@transaction.atomic
def save_rule_set(rule_set: RuleSet, *, by: User | None) -> RuleSet:
    """Add or store a set. Houses that took it keep what they took, and visits that have begun what they froze."""
    stored = RuleSet.objects.select_for_update().filter(pk=rule_set.pk).first() if rule_set.pk else None
    before = _values(stored) if stored else {}
    rule_set.save()
    after = _values(rule_set)
    changed = [name for name in AUDITED if before.get(name) != after[name]]
    if changed:
        was = {name: before[name] for name in changed} if stored else None
        audit.record(by, "changed" if stored else "added", rule_set, was, {name: after[name] for name in changed})
    return rule_set


@transaction.atomic
def amend(amendment: Amendment, *, by: User | None) -> Amendment:
    """Put a local rule on file, in place of an earlier one under the same key."""
    earlier = Amendment.objects.filter(rule_set=amendment.rule_set, key=amendment.key).first()
    before = {earlier.key: f"{earlier.value:g} {earlier.unit}, {earlier.citation}"} if earlier else None
    if earlier:
        amendment.pk = earlier.pk
        amendment._state.adding = False
    amendment.save()
    after = {amendment.key: f"{amendment.value:g} {amendment.unit}, {amendment.citation}"}
    audit.record(by, "amended", amendment.rule_set, before, after)
    return amendment


@transaction.atomic
def drop_amendment(amendment: Amendment, *, by: User | None) -> None:
    before = {amendment.key: f"{amendment.value:g} {amendment.unit}, {amendment.citation}"}
    audit.record(by, "took an amendment from", amendment.rule_set, before, None)
    amendment.delete()


@transaction.atomic
def confirm(confirmation: Confirmation, *, by: User) -> Confirmation:
    """Note that this person compared the rule or table with the firm's own copy; a later comparison takes its place."""
    Confirmation.objects.filter(key=confirmation.key).delete()
    confirmation.by = by
    confirmation.save()
    audit.record(by, "confirmed", confirmation, None, {"on": confirmation.on, "copy": confirmation.copy})
    return confirmation


@transaction.atomic
def take_confirmation_back(confirmation: Confirmation, *, by: User | None) -> None:
    audit.record(by, "took back", confirmation, {"on": confirmation.on, "copy": confirmation.copy}, None)
    confirmation.delete()


def amendments_of(rule_set_id: int | None) -> list[dict[str, Any]]:
    """As the engine's deck file has them: key, value, unit, citation."""
    if rule_set_id is None:
        return []
    return [
        {"key": one.key, "value": one.value, "unit": one.unit, "citation": f"{one.rule_set.place}: {one.citation}"}
        for one in Amendment.objects.filter(rule_set=rule_set_id).select_related("rule_set")
    ]


def confirmations() -> list[dict[str, Any]]:
    """As the engine's deck file has them: key, by, on."""
    return [
        {"key": one.key, "by": one.by.display_name, "on": one.on.isoformat()}
        for one in Confirmation.objects.select_related("by")
    ]


def _values(rule_set: RuleSet) -> dict[str, Any]:
    return {name: getattr(rule_set, name) for name in AUDITED}
