from django.contrib.auth.hashers import make_password
from django.db import transaction

from firm import audit
from firm.people.models import User

# A password is named in the audit trail as changed, never with its value or hash.
AUDITED = [
    "username",
    "first_name",
    "last_name",
    "email",
    "phone",
    "licence_line",
    "is_office",
    "is_inspector",
    "is_manager",
    "is_administrator",
    "is_active",
]


class LastAdministrator(Exception):
    """The change would leave nobody who can look after people and settings."""


@transaction.atomic
def save_person(person: User, *, by: User | None, new_password: str = "") -> User:
    """Add the person, or store what was changed about them, with an audit line.

    Raises LastAdministrator if nobody who may sign in would be an administrator any more.
    """
    stored = User.objects.select_for_update().filter(pk=person.pk).first() if person.pk else None
    before = {name: getattr(stored, name) for name in AUDITED} if stored else {}
    after = {name: getattr(person, name) for name in AUDITED}
    if new_password:
        person.password = make_password(new_password)
        after["password"] = "changed"  # noqa: S105  a word, not a password
    elif stored is None:
        person.set_unusable_password()
    person.save()
    if stored and not User.objects.filter(is_administrator=True, is_active=True).exists():
        raise LastAdministrator("Somebody who may sign in must stay administrator.")
    changed = {name: value for name, value in after.items() if before.get(name) != value}
    if changed:
        was = {name: before[name] for name in changed if name in before}
        audit.record(by, "changed" if stored else "added", person, was or None, changed)
    return person


@transaction.atomic
def found_first_administrator(username: str, password: str) -> bool:
    """Make the first person of an empty firm. False, and nothing done, if there is anybody already."""
    if User.objects.exists():
        return False
    save_person(User(username=username, is_administrator=True), by=None, new_password=password)
    return True
