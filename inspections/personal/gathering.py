"""Every row about one client, found along the relations of the models, so that a new model is found by itself."""

from collections.abc import Iterator
from typing import Any

from django.db import models
from django.db.models import Q

from firm.audit.models import AuditEntry
from firm.clients.doubles import numbers_of
from firm.clients.models import Client
from firm.mail.models import OutgoingMail

# A house may have been another client's before: its visits are reached through their own client only.
NOT_ALONG = frozenset({("properties.property", "visits.visit")})
# What lets somebody in is nothing about a person, and must not lie about in a file.
SECRETS = frozenset({"token_hash", "code_hash"})


def rows_about(client: Client) -> dict[str, list[models.Model]]:
    """Kind of row -> the rows, the client's own first; then the mails to them and the lines of the history."""
    found: dict[str, dict[Any, models.Model]] = {client._meta.label_lower: {client.pk: client}}
    todo: list[models.Model] = [client]
    while todo:
        row = todo.pop()
        for relation in row._meta.related_objects:
            kind = relation.related_model._meta.label_lower
            if (row._meta.label_lower, kind) in NOT_ALONG:
                continue
            for other in relation.related_model._base_manager.filter(**{relation.field.name: row}):
                if other.pk not in found.setdefault(kind, {}):
                    found[kind][other.pk] = other
                    todo.append(other)
    rows = {kind: list(held.values()) for kind, held in found.items() if held}
    if mails := list(mails_to(client)):
        rows[OutgoingMail._meta.label_lower] = mails
    rows[AuditEntry._meta.label_lower] = list(lines_about(rows))
    return rows


def mails_to(client: Client) -> models.QuerySet:
    """Mails to every address that the client has or had."""
    return OutgoingMail.objects.filter(to__in=addresses_of(client))


def addresses_of(client: Client) -> set[str]:
    """The mail addresses that stand with the client now, or did so before by the history."""
    lines = AuditEntry.objects.filter(subject_type=client._meta.label_lower, subject_id__in=numbers_of([client]))
    told = [client.email]
    for before, after in lines.values_list("before", "after"):
        told += [(side or {}).get("email", "") for side in (before, after)]
    return {address for address in told if address}


def lines_about(rows: dict[str, list[models.Model]]) -> Iterator[AuditEntry]:
    about = Q()
    for kind, some in rows.items():
        about |= Q(subject_type=kind, subject_id__in=[str(row.pk) for row in some])
    client = rows[Client._meta.label_lower][0]
    about |= Q(subject_type=Client._meta.label_lower, subject_id__in=numbers_of([client]))
    return AuditEntry.objects.filter(about).order_by("pk").iterator()


def fields_of(row: models.Model) -> dict[str, Any]:
    """The row as it is stored, without what would let somebody in."""
    fields = [field for field in row._meta.concrete_fields if field.name not in SECRETS]
    return {
        field.attname: value.name if isinstance(field, models.FileField) else value
        for field in fields
        for value in [field.value_from_object(row)]
        if not isinstance(value, (bytes, memoryview))  # pieces of a photo that is still on its way
    }


def files_of(row: models.Model) -> Iterator[str]:
    """The names of the files that the row holds, those of a frozen record among them."""
    for field in row._meta.concrete_fields:
        value = field.value_from_object(row)
        if isinstance(field, models.FileField) and value:
            yield value.name
    if isinstance(frozen := getattr(row, "snapshot", None), dict):
        yield from _paths(frozen)


def _paths(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        if value.keys() >= {"path", "sha256"} and isinstance(value["path"], str):
            yield value["path"]
        value = list(value.values())
    if isinstance(value, list):
        for one in value:
            yield from _paths(one)
