import socket
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from os import getpid
from typing import Any, ClassVar, Self

from django.conf import settings
from django.db import models, transaction
from django.db.models import F, Q
from django.utils import timezone

from firm.jobs.heartbeat import Heartbeat
from firm.jobs.lines import QUICK


class Job(models.Model):
    """A row that one worker at a time may work on, at most `max_attempts` times.

    The attempt number fences: whatever a worker writes names the attempt under which it claimed the row, so one that
    was slow and lost its lease changes nothing. Times are the workers' clocks: between hosts they must agree to
    within a few seconds (the lease is `settings.JOB_LEASE_S`).
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"
        CANCELLED = "cancelled", "Cancelled"

    task_name: ClassVar[str] = ""  # the Celery task that takes the row's id
    line: ClassVar[str] = QUICK  # LONG for what may take longer than some seconds: see `firm.jobs.lines`

    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    attempt = models.PositiveSmallIntegerField(default=0)
    max_attempts = models.PositiveSmallIntegerField(default=5)
    available_at = models.DateTimeField(default=timezone.now)
    rung_at = models.DateTimeField(default=timezone.now)  # when a worker was last told
    lease_until = models.DateTimeField(null=True, blank=True)
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    worker = models.CharField(max_length=120, blank=True)
    stage = models.CharField(max_length=120, blank=True)
    progress_percent = models.PositiveSmallIntegerField(default=0)
    error = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(state="running", lease_until__isnull=False)
                | (~Q(state="running") & Q(lease_until__isnull=True)),
                name="%(app_label)s_%(class)s_runs_on_a_lease",
            ),
            models.CheckConstraint(condition=Q(progress_percent__lte=100), name="%(app_label)s_%(class)s_percent"),
        ]
        indexes = [
            # Partial: nearly every row is done, and the sweep looks every few seconds.
            models.Index(
                fields=["available_at"],
                condition=Q(state__in=["waiting", "running"]),
                name="%(class)s_open",
            )
        ]

    @classmethod
    def take(cls, pk: int, now: datetime | None = None) -> Self | None:
        """Claim the row for one lease, or None if it is done, not due, used up, or held by another worker."""
        now = now or timezone.now()
        free = Q(state="waiting", available_at__lte=now) | Q(state="running", lease_until__lt=now)
        with transaction.atomic():
            claimed = cls._default_manager.filter(free, pk=pk, attempt__lt=F("max_attempts")).update(
                state="running",
                attempt=F("attempt") + 1,
                lease_until=now + lease(),
                heartbeat_at=now,
                worker=f"{socket.gethostname()}:{getpid()}",
                stage="",
                progress_percent=0,
            )
            return cls._default_manager.get(pk=pk) if claimed else None

    def finish(self, **fields: Any) -> bool:
        """Store the result, unless the row has passed to a later attempt or was cancelled."""
        now = timezone.now()
        return self._write(
            state="done", lease_until=None, finished_at=now, progress_percent=100, stage="", error="", **fields
        )

    def fail(self, error: str, retry_in: timedelta | None = None) -> bool:
        """Note the error; put the row off by `retry_in`, or end it if that is None or no attempt is left."""
        now = timezone.now()
        if retry_in is None or self.attempt >= self.max_attempts:
            return self._write(state="failed", lease_until=None, finished_at=now, error=error)
        # An early `rung_at` makes the sweep ring at the first tick after `available_at`.
        return self._write(
            state="waiting", lease_until=None, available_at=now + retry_in, rung_at=now - RING_AGAIN_AFTER, error=error
        )

    def say(self, stage: str, progress_percent: int | None = None) -> bool:
        """Tell whoever waits how far the work is. False if the row is no longer this worker's: then stop."""
        fields: dict[str, Any] = {"stage": stage}
        if progress_percent is not None:
            fields["progress_percent"] = max(0, min(100, progress_percent))
        return self._write(**fields)

    def renew_lease(self) -> bool:
        """Hold the row for one more lease. False if it has passed to a later attempt or was cancelled."""
        now = timezone.now()
        return self._write(heartbeat_at=now, lease_until=now + lease())

    def cancel(self) -> bool:
        """Let nobody take the row any more; a worker that has it finds its result refused."""
        cancelled = type(self)._default_manager.filter(pk=self.pk, state__in=["waiting", "running"])
        done = cancelled.update(state="cancelled", lease_until=None, finished_at=timezone.now()) == 1
        self.refresh_from_db()
        return done

    def try_again(self, more_attempts: int = 3) -> bool:
        """Let a failed or cancelled row run again. Its attempts count on: a smaller number would break the fence."""
        now = timezone.now()
        revived = (
            type(self)
            ._default_manager.filter(pk=self.pk, state__in=["failed", "cancelled"])
            .update(
                state="waiting",
                max_attempts=F("attempt") + more_attempts,
                available_at=now,
                rung_at=now,
                finished_at=None,
            )
        )
        self.refresh_from_db()
        return revived == 1

    @contextmanager
    def kept_alive(self) -> Iterator[Heartbeat]:
        """Renew the lease from a thread of its own for as long as the block runs."""
        heartbeat = Heartbeat(self)
        heartbeat.start()
        try:
            yield heartbeat
        finally:
            heartbeat.stop()

    def _write(self, **fields: Any) -> bool:
        mine = type(self)._default_manager.filter(pk=self.pk, attempt=self.attempt, state="running")
        if mine.update(**fields) != 1:
            return False
        for name, value in fields.items():
            setattr(self, name, value)
        return True


RING_AGAIN_AFTER = timedelta(seconds=15)  # a worker that was told this long ago and has not come was not told


def lease() -> timedelta:
    return timedelta(seconds=settings.JOB_LEASE_S)
