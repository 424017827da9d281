"""The thread that keeps a job's lease alive while the worker is busy with it."""

import logging
from threading import Event, Thread
from typing import Protocol

from django.conf import settings
from django.db import DatabaseError, connections

log = logging.getLogger(__name__)


class Leased(Protocol):
    pk: int

    def renew_lease(self) -> bool: ...


class Heartbeat(Thread):
    """Renews one row's lease every `settings.JOB_HEARTBEAT_S` seconds, on its own database connection.

    `is_lost` is set when the row has passed to somebody else: long work should look at it and stop.
    """

    def __init__(self, job: Leased) -> None:
        super().__init__(name=f"heartbeat-{job.pk}", daemon=True)
        self._job = job
        self._over = Event()
        self._lost = Event()

    @property
    def is_lost(self) -> bool:
        return self._lost.is_set()

    def run(self) -> None:
        try:
            while not self._over.wait(settings.JOB_HEARTBEAT_S):
                try:
                    if not self._job.renew_lease():
                        self._lost.set()
                        return
                except DatabaseError as error:
                    # Locked or gone for a moment: the lease outlasts several beats, so the next one may still save it.
                    log.warning("heartbeat of row %s missed: %s", self._job.pk, error)
                    connections.close_all()
        finally:
            connections.close_all()  # of this thread only

    def stop(self) -> None:
        self._over.set()
        self.join(timeout=5)
