"""Copies of the firm's rows beside the database: tables written for somebody to save, and tables that were sent in.

When a client is erased they go, all of them: each holds whoever was on file, none can be changed in one place, and
tables are written anew in a minute. That they were made, and by whom, stays in the history.
"""

from functools import partial

from django.core.files.storage import default_storage
from django.db import transaction

from firm.jobs.models import Job
from inspections.exchange.models import Export, Import

_AT_WORK = (Job.State.WAITING, Job.State.RUNNING)


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
    for name in names:
        transaction.on_commit(partial(default_storage.delete, name))
    return had
