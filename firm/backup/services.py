from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from firm.backup import keeping
from firm.backup.making import CannotBeMade, make_backup, remove_unfinished
from firm.backup.models import Backup
from firm.backup.proving import NotProved, prove
from firm.jobs.bell import ring
from firm.jobs.work import GiveUp
from firm.people.models import User


def ask_if_due(now: datetime | None = None) -> Backup | None:
    """Ask for the day's backup, unless it was made or is being made, or there is nothing to lose yet.

    Due is one since the last `BACKUP_HOUR` of the firm's clock that has passed, so that a machine which is switched off
    at night makes it in the morning. One that failed is asked for again at the next hour.
    """
    now = now or timezone.now()
    if not settings.BACKUP_DAILY or not User.objects.exists():
        return None
    of_today = Backup.objects.filter(label=keeping.DAILY, created_at__gte=last_due(now))
    if of_today.filter(state__in=["waiting", "running", "done"]).exists():
        return None
    if of_today.filter(state="failed", finished_at__gte=now - timedelta(hours=1)).exists():
        return None
    return ask(keeping.DAILY)


@transaction.atomic
def ask(label: str) -> Backup:
    """Have the worker make a backup."""
    backup = Backup.objects.create(label=label)
    ring(backup)
    return backup


def make(backup: Backup) -> dict[str, Any]:
    """What the worker does for one row. Raises GiveUp with a reason that a person can act on."""
    folder = Path(settings.BACKUP_DIR)
    proved: list[datetime] = []

    def try_it(archive: Path) -> None:
        backup.say("Restoring it for trial", 60)
        prove(archive)
        proved.append(timezone.now())

    backup.say("Writing the rows, photos and reports", 10)
    if folder.is_dir():
        remove_unfinished(folder)
    try:
        made = make_backup(folder, backup.label, settings.BACKUP_RECIPIENT, try_it)
    except CannotBeMade as error:
        raise GiveUp(str(error)) from error
    except NotProved as error:
        raise GiveUp(f"It was made, but could not be restored for trial, and is not kept. {error}") from error
    keeping.remove_old(folder)
    return {
        "file_name": made.path.name,
        "size": made.size,
        "sha256": made.sha256,
        "row_count": made.rows,
        "file_count": made.files,
        "missing_files": made.missing_files,
        "proved_at": proved[0],
    }


def last_due(now: datetime) -> datetime:
    """The last `BACKUP_HOUR` o'clock of the firm's zone that is not after `now`."""
    today = timezone.localtime(now).date()
    due = _at_the_hour(today)
    return due if due <= now else _at_the_hour(today - timedelta(days=1))


def _at_the_hour(day: date) -> datetime:
    # In UTC: an hour that the clock skips is equal to nothing, not even to itself in another zone.
    return timezone.make_aware(datetime.combine(day, time(settings.BACKUP_HOUR))).astimezone(UTC)
