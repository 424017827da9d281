from django.db import transaction

from firm import audit
from firm.people.models import User
from firm.properties.forms import ADDRESS, HOUSE, RULES
from firm.properties.models import Property

AUDITED = [*ADDRESS, *HOUSE, *RULES]


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
