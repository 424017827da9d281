from django.db import transaction

from firm import audit
from firm.clients.models import Client
from firm.people.models import User

AUDITED = ["name", "email", "phone", "notes"]


@transaction.atomic
def save_client(client: Client, *, by: User | None) -> Client:
    """Add the client, or store what was changed, with an audit line that names only the changed fields."""
    stored = Client.objects.select_for_update().filter(pk=client.pk).first() if client.pk else None
    before = {name: getattr(stored, name) for name in AUDITED} if stored else {}
    changed = {name: getattr(client, name) for name in AUDITED if before.get(name) != getattr(client, name)}
    client.save()
    if changed:
        was = {name: before[name] for name in changed if name in before}
        audit.record(by, "changed" if stored else "added", client, was or None, changed)
    return client
