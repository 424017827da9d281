"""Clients and houses that are on file twice: noticed, shown, and made one."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import models, transaction

from firm import audit
from firm.audit.models import AuditEntry
from firm.clients.keys import address_key, digits, words_key
from firm.clients.models import Client
from firm.clients.search import find_clients
from firm.people.models import User
from firm.properties.models import Property

LEAST_DIGITS = 7


class NotTheSame(Exception):
    """The two cannot be made one; `str()` of it says why."""


@dataclass(frozen=True)
class Double:
    """Two rows that may be the same, and what they have in common."""

    one: models.Model
    other: models.Model
    why: str


def twins_of(name: str, phone: str, email: str, *, but: int | None = None) -> list[tuple[Client, str]]:
    """Who on file may be the client that is being typed in, with the reason; the surest reason first. At most five."""
    others = Client.objects.exclude(pk=but)
    found: dict[int, tuple[Client, str]] = {}
    number = phone_key(phone)
    if len(number) >= LEAST_DIGITS:
        for client in others.filter(search_text__contains=number[-LEAST_DIGITS:])[:20]:
            if phone_key(client.phone) == number:
                found.setdefault(client.pk, (client, "the same telephone number"))
    if email:
        for client in others.filter(email__iexact=email)[:5]:
            found.setdefault(client.pk, (client, "the same mail address"))
    if len(words_key(name).split()) > 1:  # a first name alone is many people
        by_name = find_clients(name, 5)
        asked = set(words_key(name).split())
        for client in [*by_name.clients, *by_name.alike]:
            is_same = set(words_key(client.name).split()) == asked
            if client.pk != but:
                found.setdefault(client.pk, (client, "the same name" if is_same else "a name that is spelt alike"))
    return list(found.values())[:5]


def phone_key(phone: str) -> str:
    """Digits, without the 1 that some write before a number of ten."""
    number = digits(phone)
    return number[1:] if len(number) == 11 and number.startswith("1") else number


def client_doubles(most: int = 100) -> list[Double]:
    """Pairs of clients with the same telephone number, mail address or name (the words in any order)."""
    groups: dict[tuple[str, str], list[int]] = defaultdict(list)
    for pk, name, phone, email in Client.objects.order_by("pk").values_list("pk", "name", "phone", "email"):
        if len(number := phone_key(phone)) >= LEAST_DIGITS:
            groups["the same telephone number", number].append(pk)
        if email:
            groups["the same mail address", email.casefold()].append(pk)
        groups["the same name", " ".join(sorted(words_key(name).split()))].append(pk)
    return _pairs(groups, Client.objects.prefetch_related("properties"), most)


def house_doubles(most: int = 100) -> list[Double]:
    """Pairs of houses of one client that stand at the same address."""
    groups: dict[tuple[str, str], list[int]] = defaultdict(list)
    # The postal code and the county are often missing in one of the two.
    rows = Property.objects.order_by("pk").values_list("pk", "client_id", "street", "town", "region")
    for pk, client, *address in rows:
        groups["the same address", f"{client} {sorted(set(address_key(*address).split()))}"].append(pk)
    return _pairs(groups, Property.objects.select_related("client"), most)


def _pairs(groups: dict[tuple[str, str], list[int]], rows: models.QuerySet, most: int) -> list[Double]:
    pairs: dict[tuple[int, int], list[str]] = defaultdict(list)
    for (why, _), numbers in groups.items():
        for number in numbers[1:]:
            pairs[numbers[0], number].append(why)
    shown = sorted(pairs)[:most]
    known = rows.in_bulk({number for pair in shown for number in pair})
    return [Double(known[one], known[other], ", ".join(pairs[one, other])) for one, other in shown]


@transaction.atomic
def merge_clients(kept: Client, gone: Client, *, by: User | None) -> Client:
    """Make two clients one: everything of `gone` becomes that of `kept`, and what `kept` lacks is filled in from it.

    Cannot be undone: both audit lines say what moved. Raises NotTheSame for a client and itself.
    """
    kept, gone = _lock_both(Client, kept, gone)
    before = {"name": gone.name, "phone": gone.phone, "email": gone.email, "notes": gone.notes}
    moved = _move_everything(kept, gone)
    kept.phone = kept.phone or gone.phone
    kept.email = kept.email or gone.email
    told = [kept.notes, gone.notes, *_not_taken(kept, gone)]
    kept.notes = "\n".join(text for text in dict.fromkeys(told) if text)
    _close(kept, gone, before, moved, by)
    kept.save()
    return kept


@transaction.atomic
def merge_houses(kept: Property, gone: Property, *, by: User | None) -> Property:
    """Make two houses of one client one. The rules of `kept` stand; what else it lacks is filled in from `gone`.

    Raises NotTheSame for houses of two clients: one may have sold it to the other.
    """
    if kept.client_id != gone.client_id:
        raise NotTheSame("These houses are of two clients. If the clients are one, merge those first.")
    kept, gone = _lock_both(Property, kept, gone)
    before = {"address": gone.one_line, "rules_source": gone.rules_source, "access_notes": gone.access_notes}
    moved = _move_everything(kept, gone)
    for name in ("county", "postcode", "year_built", "deck_year_built", "deck_builder"):
        setattr(kept, name, getattr(kept, name) or getattr(gone, name))
    if kept.coordinates is None:
        kept.latitude, kept.longitude = gone.latitude, gone.longitude
    kept.access_notes = "\n".join(text for text in dict.fromkeys([kept.access_notes, gone.access_notes]) if text)
    _close(kept, gone, before, moved, by)
    kept.save()
    return kept


def what_moves(gone: models.Model) -> dict[str, int]:
    """Kind of row -> how many of them would move; none that would be zero."""
    counts = {}
    for relation in gone._meta.related_objects:
        rows = relation.related_model._base_manager.filter(**{relation.field.name: gone}).count()
        if rows:
            meta = relation.related_model._meta
            counts[str(meta.verbose_name if rows == 1 else meta.verbose_name_plural)] = rows
    return counts


def numbers_of(rows: Sequence[models.Model]) -> list[str]:
    """The numbers of these rows (all of one kind), and of those merged into them, as audit lines name them."""
    numbers = look_at = [str(row.pk) for row in rows]
    while look_at:
        lines = AuditEntry.objects.filter(
            subject_type=rows[0]._meta.label_lower, subject_id__in=look_at, verb="merged", after__has_key="number"
        )
        look_at = [str(line.after["number"]) for line in lines if str(line.after["number"]) not in numbers]
        numbers = [*numbers, *look_at]
    return numbers


def merged_into(kind: type[models.Model], number: int) -> int | None:
    """The number of the row into which this one was merged; None if it was not."""
    lines = AuditEntry.objects.filter(
        subject_type=kind._meta.label_lower, subject_id=str(number), verb="merged into another"
    )
    line = lines.first()
    return line.after["number"] if line else None


def _lock_both(kind: type[models.Model], kept: models.Model, gone: models.Model) -> tuple:
    if kept.pk == gone.pk:
        raise NotTheSame("This is one and the same already.")
    # In the order of their numbers, so that two who merge the same pair both ways do not wait for each other.
    locked = {row.pk: row for row in kind.objects.select_for_update().filter(pk__in=(kept.pk, gone.pk)).order_by("pk")}
    if len(locked) < 2:
        raise NotTheSame("One of the two is no longer on file.")
    return locked[kept.pk], locked[gone.pk]


def _move_everything(kept: models.Model, gone: models.Model) -> dict[str, int]:
    moved = what_moves(gone)
    for relation in gone._meta.related_objects:
        rows = relation.related_model._base_manager.filter(**{relation.field.name: gone})
        rows.update(**{relation.field.name: kept})
    return moved


def _not_taken(kept: Client, gone: Client) -> list[str]:
    """What `gone` says otherwise, in words for the notes: a second number must not be lost."""
    others = [text for text in (gone.phone, gone.email) if text and text not in (kept.phone, kept.email)]
    return [f"Also: {', '.join(others)}"] if others else []


def _close(kept: models.Model, gone: models.Model, before: dict, moved: dict, by: User | None) -> None:
    audit.record(by, "merged into another", gone, before, {"number": kept.pk})
    audit.record(by, "merged", kept, before, {"number": gone.pk, **moved})
    gone.delete()
