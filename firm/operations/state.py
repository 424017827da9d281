"""What the operations page tells, asked for without changing anything."""

import platform
import shutil
import sqlite3
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.metadata import version
from pathlib import Path
from typing import Any

from celery import current_app
from django.conf import settings
from django.db import connection
from django.db.models import Count, Min, Q
from django.utils import timezone

from firm.backup.models import Backup
from firm.jobs.lines import LONG, QUICK
from firm.jobs.models import Job
from firm.jobs.sweep import job_classes, seconds_since_sign_of_life

WORKER_IS_LATE_S = 60
BACKUP_IS_LATE = timedelta(hours=36)
LEAST_FREE_BYTES, LEAST_FREE_SHARE = 2_000_000_000, 0.05  # below either, somebody should look: common practice
MOST_FAILURES = 50
LINE_WORDS = {QUICK: ("quick work", "mails and photos wait"), LONG: ("long work", "reports, backups and tables wait")}


@dataclass(frozen=True)
class Queue:
    """One kind of job."""

    name: str  # as people call it
    kind: str  # as an address names it, "photos.renditionjob"
    line: str  # in which it waits
    waiting: int
    running: int
    failed: int
    done_today: int
    oldest_waiting: datetime | None


@dataclass(frozen=True)
class Line:
    """One line of work: its kinds of job, and how long ago one of its workers was seen."""

    what: str
    queues: list[Queue]
    seen_s: float | None


@dataclass(frozen=True)
class Disk:
    what: str
    free: int  # bytes
    total: int

    @property
    def is_low(self) -> bool:
        return self.free < LEAST_FREE_BYTES or self.free < LEAST_FREE_SHARE * self.total


def queues() -> list[Queue]:
    return sorted((_queue(job_class) for job_class in job_classes()), key=lambda queue: queue.name)


def lines() -> list[Line]:
    """Quick and long work, each with workers of its own, so that neither holds up the other."""
    found = queues()
    return [
        Line(what, [queue for queue in found if queue.line == line], seconds_since_sign_of_life(line))
        for line, (what, _) in LINE_WORDS.items()
    ]


def without_a_worker() -> list[str]:
    """The lines that no worker has shown itself at lately."""
    seen_s = {line: seconds_since_sign_of_life(line) for line in LINE_WORDS}
    return [line for line, age_s in seen_s.items() if age_s is None or age_s > WORKER_IS_LATE_S]


def failures() -> list[Job]:
    """The newest failed jobs of every kind, newest first."""
    found: list[Job] = []
    for job_class in job_classes():
        found += job_class._default_manager.filter(state="failed").order_by("-finished_at", "-pk")[:MOST_FAILURES]
    found.sort(key=lambda job: job.finished_at or job.created_at, reverse=True)
    return found[:MOST_FAILURES]


def find_job_class(kind: str) -> type[Job] | None:
    return next((job_class for job_class in job_classes() if job_class._meta.label_lower == kind), None)


def disks() -> list[Disk]:
    """Free space of each different disk that is written to."""
    places = [
        ("Data", settings.DATA_DIR),
        *([] if settings.MEDIA_BUCKET else [("Photos and reports", settings.MEDIA_ROOT)]),
        ("Backups", settings.BACKUP_DIR),
    ]
    found: dict[int, Disk] = {}
    for what, place in places:
        folder = _nearest_that_is_there(Path(place))
        device = folder.stat().st_dev
        used = shutil.disk_usage(folder)
        name = f"{found[device].what}, {what.lower()}" if device in found else what
        found[device] = Disk(name, used.free, used.total)
    return list(found.values())


def backups_are_on_the_data_disk() -> bool:
    data, backups = (_nearest_that_is_there(Path(p)) for p in (settings.DATA_DIR, settings.BACKUP_DIR))
    return data.stat().st_dev == backups.stat().st_dev


def last_proved_backup() -> Backup | None:
    return Backup.objects.filter(state="done", proved_at__isnull=False).first()


def warnings(now: datetime | None = None) -> list[str]:
    """What somebody should see to, in words; the most pressing first."""
    now = now or timezone.now()
    found = []
    found += [
        "No worker for {} has shown itself within the last minute: {}. Start it again.".format(*LINE_WORDS[line])
        for line in without_a_worker()
    ]
    found += [f"The disk for {disk.what.lower()} is nearly full." for disk in disks() if disk.is_low]
    proved = last_proved_backup()
    if settings.BACKUP_DAILY and (proved is None or now - proved.proved_at > BACKUP_IS_LATE):
        found.append("There is no backup of the last day and a half that was restored for trial.")
    if proved and proved.missing_files:
        found.append(f"{len(proved.missing_files)} files that rows name are missing in the last backup.")
    failed = sum(queue.failed for queue in queues())
    if failed:
        found.append(f"{failed} jobs failed and wait for somebody to look.")
    return found


def is_ready() -> bool:
    """Whether work gets done: database and broker answer, a worker was seen lately, the disk has room."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return not without_a_worker() and broker_answers() and not any(disk.free < 50_000_000 for disk in disks())


def broker_answers() -> bool:
    if settings.CELERY_BROKER_URL.startswith("folder:"):
        return Path(settings.BROKER_DIR).is_dir()
    try:
        with current_app.connection_for_write() as broker:
            broker.ensure_connection(max_retries=1, timeout=2)
    except Exception:  # each transport has its own errors
        return False
    return True


def about() -> dict[str, Any]:
    """Versions, and what kind of parts this installation has."""
    if connection.vendor == "sqlite":
        database = f"SQLite {sqlite3.sqlite_version}"
    else:
        with connection.cursor() as cursor:
            cursor.execute("SHOW server_version")
            database = f"PostgreSQL {cursor.fetchone()[0]}"
    broker = "a folder" if settings.CELERY_BROKER_URL.startswith("folder:") else "Redis"
    return {
        "Database": database,
        "Broker": broker,
        "Python": platform.python_version(),
        **{name: version(name) for name in ("Django", "Celery", "WeasyPrint", "Pillow")},
    }


def _queue(job_class: type[Job]) -> Queue:
    today = timezone.now() - timedelta(days=1)
    counts = job_class._default_manager.aggregate(
        waiting=Count("pk", filter=Q(state="waiting")),
        running=Count("pk", filter=Q(state="running")),
        failed=Count("pk", filter=Q(state="failed")),
        done_today=Count("pk", filter=Q(state="done", finished_at__gte=today)),
        oldest_waiting=Min("created_at", filter=Q(state="waiting")),
    )
    return Queue(name=job_class._meta.verbose_name, kind=job_class._meta.label_lower, line=job_class.line, **counts)


def _nearest_that_is_there(folder: Path) -> Path:
    while not folder.exists():
        folder = folder.parent
    return folder
