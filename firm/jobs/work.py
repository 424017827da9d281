"""What every Celery task of ours consists of: claim the row, keep it, do the work, store the result or put it off."""

import logging
from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any, TypeVar

from firm.jobs.models import Job
from firm.web.errors import is_disk_full

log = logging.getLogger(__name__)
DISK_FULL = "The disk of the server is full. Make room, then let it run again."

AnyJob = TypeVar("AnyJob", bound=Job)


class GiveUp(Exception):
    """The work can never succeed: trying again would only repeat the error."""


def run_job(job_class: type[AnyJob], pk: int, work: Callable[[AnyJob], Mapping[str, Any] | None]) -> bool:
    """Do the work of one row, if it is free. True if this call finished it.

    `work` returns the fields to store together with the state. It must be repeatable: a worker that is killed in the
    middle leaves the row to the next one. An error puts the row off, longer each time; `GiveUp` ends it.
    """
    job = job_class.take(pk)
    if job is None:
        return False
    try:
        with job.kept_alive():
            fields = work(job)
    except GiveUp as error:
        job.fail(str(error))
        log.warning("%s %s given up: %s", job_class.__name__, pk, error)
        return False
    except Exception as error:  # whatever it was, it belongs in the row, where a person can read it
        why = DISK_FULL if is_disk_full(error) else f"{type(error).__name__}: {error}"
        job.fail(why, retry_in=backoff(job.attempt))
        log.exception("%s %s failed at attempt %s", job_class.__name__, pk, job.attempt)
        return False
    if not job.finish(**(fields or {})):
        log.warning("%s %s: attempt %s came too late", job_class.__name__, pk, job.attempt)
        return False
    return True


def backoff(attempt: int) -> timedelta:
    """5 s, 20 s, 80 s, then 5 minutes: common practice, no published source."""
    return timedelta(seconds=min(300, 5 * 4 ** (attempt - 1)))
