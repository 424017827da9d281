"""Copies of the firm's rows beside the database: tables written for somebody to save, and tables that were sent in.

When a client is erased they go, all of them: each holds whoever was on file, none can be changed in one place, and
tables are written anew in a minute. That they were made, and by whom, stays in the history.
"""

from collections.abc import Iterator
from datetime import timedelta
from functools import partial

from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.utils import timezone

from firm.jobs.models import Job
from inspections.exchange.models import Export, Import

_AT_WORK = (Job.State.WAITING, Job.State.RUNNING)
_FOLDERS = tuple(field.upload_to for field in (
    Export._meta.get_field("file"), Import._meta.get_field("fates_file"), Import._meta.get_field("file"),
))  # fmt: skip
_ON_ITS_WAY = timedelta(hours=1)  # a table that is just being sent in has its file before its row


def hold_off() -> None:
    """Let nobody ask for tables, or finish some, until the transaction ends: what a worker is asked for later, it
    reads later. On SQLite whoever writes is alone anyway."""
    if connection.vendor == "postgresql":
        tables = ", ".join(connection.ops.quote_name(kind._meta.db_table) for kind in (Export, Import))
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {tables} IN SHARE ROW EXCLUSIVE MODE")


def are_being_made() -> bool:
    """Whether a worker writes or reads one now: its file would hold the client after the erasure."""
    return any(kind.objects.filter(state__in=_AT_WORK).exists() for kind in (Export, Import))


def count() -> int:
    """How many of them have a file."""
    return Export.objects.exclude(file="").count() + Import.objects.exclude(file="", fates_file="").count()


def take_away() -> int:
    """Take the files from all of them; how many had one. A table that was sent in is no longer taken over."""
    had = count()
    exports, imports = Export.objects.exclude(file=""), Import.objects.exclude(file="", fates_file="", fates=[])
    names = [*exports.values_list("file", flat=True)]
    for pair in imports.values_list("file", "fates_file"):
        names += filter(None, pair)
    exports.update(file="")
    imports.update(file="", fates_file="", fates=[], name="Taken away")
    for name in {*names, *_left_behind()}:
        transaction.on_commit(partial(default_storage.delete, name))
    return had


def _left_behind() -> Iterator[str]:
    """Files that no row names: of a worker, or a request, that was killed before it could say what it had written."""
    for folder in _FOLDERS:
        try:
            _, files = default_storage.listdir(folder)
        except FileNotFoundError:
            continue
        named = {name for kind in (Export, Import) for name in _named(kind)}
        for name in (f"{folder}{file}" for file in files):
            if name not in named and (folder != _FOLDERS[-1] or _is_old(name)):
                yield name


def _named(kind: type[Job]) -> Iterator[str]:
    for field in ("file", "fates_file") if kind is Import else ("file",):
        yield from kind._default_manager.values_list(field, flat=True)


def _is_old(name: str) -> bool:
    return timezone.now() - default_storage.get_modified_time(name) > _ON_ITS_WAY
