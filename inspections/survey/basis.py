"""The building rules that a visit is judged by: those of its property until it begins, then those of that moment."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils import timezone

from engine import tables
from engine.codes.rules import NOT_READ
from firm import audit
from firm.people.models import User
from firm.properties.models import Property
from firm.rules.keys import Known
from firm.rules.services import amendments_of, confirmations
from inspections.visits.models import Visit
from inspections.visits.refusals import WrongState

# Tables that are the engine's own arrangement, not pages of a code that one could compare.
_NOT_PUBLISHED = {"editions", "rules", "remedy_sizes", "flashing_states", "moisture_levels", "table_group_members"}


def basis_json(place: Property) -> dict[str, object]:
    """The building rules of a property as the engine's basis, with local amendments and the firm's confirmations."""
    basis: dict[str, object] = {
        "edition": place.edition,
        "live_psf": float(place.live_psf),
        "ground_snow_psf": float(place.ground_snow_psf),
        "soil_psf": float(place.soil_psf),
        "is_near_salt_water": place.is_near_salt_water,
    }
    if place.frost_depth_in is not None:
        basis["frost_depth_in"] = float(place.frost_depth_in)
    if amended := amendments_of(place.rule_set_id):
        basis["amendments"] = amended
    if confirmed := confirmations():
        basis["confirmations"] = confirmed
    return basis


def basis_of(visit: Visit) -> dict[str, object]:
    """What the visit is judged by: frozen when it began, or the property's rules as they stand now."""
    return visit.basis["basis"] if visit.basis else basis_json(visit.property)


def rules_applied(visit: Visit) -> dict[str, Any]:
    """The same in the words of a property's fields, with where the rules are from: for pages and reports."""
    basis = basis_of(visit)
    names = ("edition", "live_psf", "ground_snow_psf", "frost_depth_in", "soil_psf", "is_near_salt_water")
    source = visit.basis["source"] if visit.basis else visit.property.rules_source
    found = {**{name: basis.get(name) for name in names}, "rules_source": source}
    if amended := basis.get("amendments"):
        found["amendments"] = amended
    return found


def freeze_basis(visit: Visit) -> None:
    """Set `visit.basis` to the rules of its property as they stand; the caller saves."""
    place = Property.objects.get(pk=visit.property_id)
    visit.basis = {
        "basis": basis_json(place),
        "source": place.rules_source,
        "at": timezone.now().isoformat(timespec="seconds"),
    }


def is_out_of_date(visit: Visit) -> bool:
    """Whether the rules of the property have been changed since the visit froze them."""
    if not visit.basis:
        return False
    now = basis_json(visit.property)
    return now != visit.basis["basis"] or visit.property.rules_source != visit.basis["source"]


@transaction.atomic
def take_rules_anew(visit: Visit, *, by: User) -> Visit:
    """Judge a visit that is still open by the rules as they stand on the property now. Raises WrongState otherwise."""
    locked = Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
    if not locked.is_open_for_record or not locked.basis:
        raise WrongState("Only a visit that has begun and is not handed in takes the rules anew.")
    was = locked.basis
    freeze_basis(locked)
    locked.save(update_fields=["basis"])
    if was["basis"] != locked.basis["basis"] or was["source"] != locked.basis["source"]:
        audit.record(by, "took the rules anew for", locked, _flat(was), _flat(locked.basis))
    return locked


def tell_what_can_be_amended() -> Mapping[str, Known]:
    """Every rule of the engine that is a number or from memory, and every table that a code book can be laid beside."""
    known = {}
    for row in tables.load("rules").rows:
        if isinstance(row["value"], (int, float)):
            key, unit = str(row["key"]), str(row["unit"])
            known[key] = Known(
                key, str(row["rule"]), f"{row['value']:g}", unit, str(row["citation"]), is_read=key not in NOT_READ
            )
        elif row["confirmed"] == "memory":  # in words: there is nothing to amend, but something to compare
            key = str(row["key"])
            known[key] = Known(key, f"{row['rule']}: {row['value']}", citation=str(row["citation"]), is_table=True)
    for number, row in enumerate(tables.load("editions").rows, start=1):
        if row["confirmed"] == "memory":
            words = f"{row['edition']} prints the numbers of the table {row['table']}"
            known[f"editions.{number}"] = Known(
                f"editions.{number}", words, citation=str(row["citation"]), is_table=True
            )
    for name in tables.names():
        if name not in _NOT_PUBLISHED:
            table = tables.load(name)
            known[name] = Known(name, table.title, citation=table.source, is_table=True)
    return known


def _flat(frozen: Mapping[str, Any]) -> dict[str, Any]:
    return {**frozen["basis"], "source": frozen["source"]}
