"""Every table as JSON lines, and back. Works at the schema the database has, not at the one this version would have.

The models come from the applied migrations, so a backup is possible before an upgrade is, and an old backup is loaded
into the tables it was taken from and then brought up to date by the migrations like any old database.
"""

import gzip
import hashlib
import io
import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, BinaryIO

from django.core.management.color import no_style
from django.db import models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from firm.audit.chain import plain

# Sessions would let whoever reads the file in; what Django makes by itself after every migration is made again.
LEFT_OUT = frozenset(
    {
        "sessions.session",
        "people.device",
        "contenttypes.contenttype",
        "auth.permission",
        "auth.group_permissions",
        "people.user_user_permissions",
    }
)
BATCH = 200


class FromTheFuture(Exception):
    """The backup knows migrations that this version does not have."""


Schema = dict[str, list[str]]  # app -> names of its applied migrations


def applied_schema(connection: Any) -> Schema:
    schema: Schema = {}
    for app, name in sorted(_applied(MigrationLoader(connection))):
        schema.setdefault(app, []).append(name)
    return schema


def models_at(connection: Any, schema: Schema) -> list[type[models.Model]]:
    """The models whose tables a database with these migrations has, in a fixed order."""
    loader = MigrationLoader(connection)
    state = loader.project_state(_known(loader, schema), at_end=True)
    found = [
        model
        for model in state.apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy and model._meta.label_lower not in LEFT_OUT
    ]
    for model in found:
        for field in model._meta.concrete_fields:
            if isinstance(field, models.DateField):
                field.auto_now = field.auto_now_add = False  # a restored row keeps the time it was made
    return sorted(found, key=lambda model: model._meta.label_lower)


def migrate_to(connection: Any, schema: Schema) -> None:
    """Make the tables of an empty database as they were. Raises FromTheFuture."""
    executor = MigrationExecutor(connection)
    executor.migrate(_known(executor.loader, schema))


@contextmanager
def one_moment(connection: Any) -> Iterator[None]:
    """All reading in the block sees the database as it was at its start, while others go on writing."""
    if connection.vendor == "postgresql":
        with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    # Not transaction.atomic: that begins IMMEDIATE here and would keep every writer out. In WAL a reader needs no lock.
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def write_table(model: type[models.Model], out: BinaryIO | None = None) -> tuple[int, str]:
    """The table's rows as gzipped JSON lines into `out`; how many, and the digest of what they say."""
    digest, count = hashlib.sha256(), 0
    with gzip.GzipFile(fileobj=out or io.BytesIO(), mode="wb", compresslevel=5, mtime=0) as packed:
        for row in _rows(model):
            digest.update(_canonical(row))
            count += 1
            if out is not None:
                packed.write(json.dumps(row, ensure_ascii=False, separators=(",", ":")).encode() + b"\n")
    return count, digest.hexdigest()


def load_table(model: type[models.Model], content: BinaryIO) -> int:
    """The rows of one member into its empty table; how many."""
    fields = {field.attname: field for field in model._meta.concrete_fields}
    waiting: list[models.Model] = []
    count = 0
    with gzip.GzipFile(fileobj=content, mode="rb") as lines:
        for line in lines:
            row = json.loads(line)
            waiting.append(model(**{name: _value(fields[name], raw) for name, raw in row.items()}))
            count += 1
            if len(waiting) == BATCH:
                model._base_manager.bulk_create(waiting)
                waiting = []
    model._base_manager.bulk_create(waiting)
    return count


def let_numbers_go_on(connection: Any, loaded: list[type[models.Model]]) -> None:
    """The next new row gets a number behind the highest loaded one."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), loaded):
            cursor.execute(statement)


def file_names(model: type[models.Model]) -> Iterator[str]:
    """The media files that the table's rows name."""
    for field in model._meta.concrete_fields:
        if isinstance(field, models.FileField):
            named = model._base_manager.exclude(**{field.name: ""}).exclude(**{f"{field.name}__isnull": True})
            yield from named.values_list(field.name, flat=True).iterator()


def _rows(model: type[models.Model]) -> Iterator[dict[str, Any]]:
    fields = model._meta.concrete_fields
    for instance in model._base_manager.order_by("pk").iterator(chunk_size=BATCH):
        yield {field.attname: _plain(field, instance) for field in fields}


def _plain(field: models.Field, instance: models.Model) -> Any:
    value = field.value_from_object(instance)
    if value is None or isinstance(field, models.JSONField) or type(value) in (bool, int, str):
        return value
    return field.value_to_string(instance)  # whole microseconds, unlike Django's JSON encoder


def _value(field: models.Field, raw: Any) -> Any:
    return raw if raw is None or isinstance(field, models.JSONField) else field.to_python(raw)


def _canonical(row: dict[str, Any]) -> bytes:
    """The same bytes whichever database kept the row: PostgreSQL orders keys and writes 1e22 as it likes."""
    return json.dumps(plain(row), sort_keys=True, separators=(",", ":")).encode() + b"\n"


def _applied(loader: MigrationLoader) -> list[tuple[str, str]]:
    return [key for key in loader.applied_migrations if key in loader.graph.nodes]


def _known(loader: MigrationLoader, schema: Schema) -> list[tuple[str, str]]:
    keys = [(app, name) for app, names in schema.items() for name in names]
    unknown = [f"{app}.{name}" for app, name in keys if (app, name) not in loader.graph.nodes]
    if unknown:
        raise FromTheFuture(
            f"It was made by a newer version of Soundings ({', '.join(unknown[:3])})."
            " Install that version, then restore."
        )
    # Only the last of each app: told to go to an earlier one, the executor goes back to it.
    there = set(keys)
    return [key for key in keys if not there.intersection(_next_of(loader, key))]


def _next_of(loader: MigrationLoader, key: tuple[str, str]) -> set[tuple[str, str]]:
    return {child.key for child in loader.graph.node_map[key].children if child.key[0] == key[0]}
