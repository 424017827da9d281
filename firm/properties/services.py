from django.db import transaction

from firm import audit
from firm.people.models import User
from firm.properties.forms import ADDRESS, HOUSE, PLACE, RULES
from firm.properties.models import Property
from firm.rules.models import RuleSet
from firm.rules.services import VALUES, find_rule_set

AUDITED = [*ADDRESS, *PLACE, *HOUSE, *RULES]


# What holds for a whole town. Soil and salt water are a matter of the single house.
OF_THE_TOWN = ["edition", "live_psf", "ground_snow_psf", "frost_depth_in"]


def propose_rules(house: Property) -> None:
    """Give a new house the rules of its place: the rule set of its town or county, else those of a house nearby.

    The county, if it was not asked for, is that of another house in the same town. What is proposed can be edited.
    """
    if not house.county:
        house.county = (
            Property.objects.filter(town__iexact=house.town, region__iexact=house.region)
            .exclude(county="")
            .order_by("-pk")
            .values_list("county", flat=True)
            .first()
            or ""
        )
    rule_set = find_rule_set(region=house.region, county=house.county, town=house.town)
    if rule_set is not None:
        take_rule_set(house, rule_set)
    else:
        take_rules_of_the_town(house)


def take_rule_set(house: Property, rule_set: RuleSet) -> None:
    """Put the values of the set on the house, with where they are from; the caller saves."""
    for name in VALUES:
        setattr(house, name, getattr(rule_set, name))
    house.rule_set = rule_set
    house.rules_source = rule_set.source
    house.county = house.county or rule_set.county


def take_rules_of_the_town(house: Property) -> Property | None:
    """Give a new house the rules that were looked up last for a house in the same town, and say so in their source.

    Returns that other house, or None, and nothing changed, if none in this town has a source written down.
    """
    neighbour = (
        Property.objects.filter(town__iexact=house.town, region__iexact=house.region)
        .exclude(rules_source="")
        .exclude(pk=house.pk)
        .order_by("-pk")
        .first()
    )
    if neighbour is None:
        return None
    for name in OF_THE_TOWN:
        setattr(house, name, getattr(neighbour, name))
    house.rule_set_id = neighbour.rule_set_id
    source = neighbour.rules_source
    house.rules_source = (source if source.startswith("As for ") else f"As for {neighbour.street}: {source}")[:200]
    return neighbour


@transaction.atomic
def save_property(house: Property, *, by: User | None) -> Property:
    """Add the property, or store what was changed, with an audit line that names only the changed fields.

    A report that was issued keeps the rules it was made under, and a visit those of the moment it began.
    """
    stored = Property.objects.select_for_update().filter(pk=house.pk).first() if house.pk else None
    before = {name: _audited(stored, name) for name in AUDITED} if stored else {}
    changed = {name: now for name in AUDITED if before.get(name) != (now := _audited(house, name))}
    house.save()
    if changed:
        was = {name: before[name] for name in changed if name in before}
        audit.record(by, "changed" if stored else "added", house, was or None, changed)
    return house


def _audited(house: Property, name: str) -> object:
    value = getattr(house, name)
    return str(value) if isinstance(value, RuleSet) else value
