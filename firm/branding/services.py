from django.core.files.base import ContentFile
from django.db import transaction

from firm import audit
from firm.branding.models import Firm
from firm.people.models import User

AUDITED = [
    "name",
    "strapline",
    "licence_line",
    "address",
    "phone",
    "email",
    "ink_colour",
    "accent_colour",
    "paper",
    "units",
    "link_days",
    "travel_mph",
    "cautions",
    "logo",
]


@transaction.atomic
def save_firm(firm: Firm, *, by: User | None, new_logo: ContentFile | None = None, remove_logo: bool = False) -> Firm:
    """Store who the firm is, with an audit line that names only what changed.

    An old logo stays in its file: reports that were issued with it are not changed.
    """
    stored = Firm.objects.select_for_update().get(pk=firm.pk)
    before = {name: str(getattr(stored, name)) for name in AUDITED}
    if new_logo:
        firm.logo.save(new_logo.name, new_logo, save=False)
    elif remove_logo:
        firm.logo = ""
    firm.save()
    after = {name: str(getattr(firm, name)) for name in AUDITED}
    changed = [name for name in AUDITED if after[name] != before[name]]
    if changed:
        audit.record(
            by, "changed", firm, {name: before[name] for name in changed}, {name: after[name] for name in changed}
        )
    return firm
