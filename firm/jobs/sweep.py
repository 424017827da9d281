"""The periodic look for rows that nobody is coming for."""

from datetime import datetime, timedelta

from django.apps import apps
from django.core.cache import cache
from django.db.models import F, Manager, Max, Q
from django.utils import timezone

from firm.jobs.bell import ring_now
from firm.jobs.lines import QUICK
from firm.jobs.models import RING_AGAIN_AFTER, Job, lease

CLOCKS_DIFFER = timedelta(minutes=1)  # of several hosts, at the worst
MOST_BELLS = 200  # per kind of job and sweep: a long queue must not be doubled at every tick


def job_classes() -> list[type[Job]]:
    """Every kind of job there is: each model that is a Job, so none can be forgotten in a list."""
    return [model for model in apps.get_models() if issubclass(model, Job)]


def sweep(now: datetime | None = None) -> int:
    """End the rows whose last attempt was killed, ring for those that wait or lost their lease. Returns the bells."""
    note_worker(QUICK)
    return sum(_sweep_one(job_class, now or timezone.now()) for job_class in job_classes())


def note_worker(line: str) -> None:
    """Note that a worker of a line took what the scheduler sent it: that takes all three, so it tells of all."""
    cache.set(seen_key(line), timezone.now(), timeout=None)


def seen_key(line: str) -> str:
    return f"worker-seen-{line}"


def seconds_since_sign_of_life(line: str = QUICK) -> float | None:
    """How long ago a worker of a line answered the scheduler or held on to a job; None if none ever did.

    A worker whose every hand draws a long report answers late, but is no dead one: its jobs are kept alive.
    """
    beats = (_last_heartbeat(job_class) for job_class in job_classes() if job_class.line == line)
    signs = [at for at in (cache.get(seen_key(line)), *beats) if at]
    return (timezone.now() - max(signs)).total_seconds() if signs else None


def _last_heartbeat(job_class: type[Job]) -> datetime | None:
    return job_class._default_manager.filter(state="running").aggregate(last=Max("heartbeat_at"))["last"]


def _sweep_one(job_class: type[Job], now: datetime) -> int:
    rows = job_class._default_manager
    _forget_times_that_cannot_be(rows, now)
    abandoned = Q(state="running", lease_until__lt=now)
    rows.filter(abandoned, attempt__gte=F("max_attempts")).update(
        state="failed",
        lease_until=None,
        finished_at=now,
        error="The worker was stopped in the middle of the last attempt.",
    )
    # An abandoned row stays "running": if its worker was only slow, it may still finish before another takes it.
    unattended = (Q(state="waiting", available_at__lte=now) | abandoned) & Q(rung_at__lte=now - RING_AGAIN_AFTER)
    due = list(rows.filter(unattended).order_by("available_at").values_list("pk", flat=True)[:MOST_BELLS])
    bells = 0
    for pk in due:
        # Two sweeps may run at once: only the one that changes the row rings.
        if rows.filter(unattended, pk=pk).update(rung_at=now):
            bells += ring_now(job_class, pk)
    return bells


def _forget_times_that_cannot_be(rows: Manager, now: datetime) -> None:
    """A clock that ran ahead and was put back leaves times behind for which rows would wait a day, or a year."""
    at_most = now + lease() + CLOCKS_DIFFER
    rows.filter(state="running", lease_until__gt=at_most).update(lease_until=now + lease())
    rows.filter(state__in=["waiting", "running"], rung_at__gt=at_most).update(rung_at=now)
    rows.filter(state="waiting", created_at__gt=at_most, available_at__gt=now).update(available_at=now)
