from django.db import transaction

from firm import audit
from firm.people.models import User
from firm.properties.forms import ADDRESS, HOUSE, RULES
from firm.properties.models import Property

AUDITED = [*ADDRESS, *HOUSE, *RULES]


# What holds for a whole town. Soil and salt water are a matter of the single house.
OF_THE_TOWN = ["edition", "live_psf", "ground_snow_psf", "frost_depth_in"]


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
    source = neighbour.rules_source
    house.rules_source = (source if source.startswith("As for ") else f"As for {neighbour.street}: {source}")[:200]
    return neighbour


@transaction.atomic
def save_property(house: Property, *, by: User | None) -> Property:
    """Add the property, or store what was changed, with an audit line that names only the changed fields.

    A report that was issued keeps the rules it was made under; a visit that is still open takes the new ones.
    """
    stored = Property.objects.select_for_update().filter(pk=house.pk).first() if house.pk else None
    before = {name: getattr(stored, name) for name in AUDITED} if stored else {}
    changed = {name: getattr(house, name) for name in AUDITED if before.get(name) != getattr(house, name)}
    house.save()
    if changed:
        was = {name: before[name] for name in changed if name in before}
        audit.record(by, "changed" if stored else "added", house, was or None, changed)
    return house
