"""Telling a worker that a row waits. A bell may be lost without harm: the sweep rings again."""

import logging
from functools import partial
from pathlib import Path

from celery import current_app
from django.conf import settings
from django.db import transaction

from firm.jobs.models import Job

log = logging.getLogger(__name__)


def ring(job: Job) -> None:
    """Tell a worker once the transaction is committed; before that it would find no row."""
    transaction.on_commit(partial(ring_now, type(job), job.pk))


def ring_now(job_class: type[Job], pk: int) -> bool:
    """Send the row's id. A dead broker is logged and not raised: the row waits and the sweep will ring."""
    try:
        current_app.tasks[job_class.task_name].delay(pk)
    except Exception as error:  # each transport has its own errors; none may break the request
        log.warning("no bell for %s %s: %s", job_class.__name__, pk, error)
        return False
    return True


def make_broker_folders() -> None:
    """The folders of the broker that needs no server; nothing to do for Redis."""
    options = settings.CELERY_BROKER_TRANSPORT_OPTIONS
    for name in ("data_folder_in", "data_folder_out", "control_folder"):
        if name in options:
            Path(options[name]).mkdir(parents=True, exist_ok=True)
