"""What killed processes and time leave behind, cleared away once an hour."""

import os
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from django.conf import settings
from django.contrib.sessions.models import Session
from django.utils import timezone

from firm.backup.making import remove_unfinished
from firm.backup.restoring import OPENED
from firm.people.second_factor import reseal

LEFT_AFTER = timedelta(days=1)  # no upload, mail or restore takes that long


class Tidied(NamedTuple):
    files: int
    sessions: int


def tidy(now: datetime | None = None) -> Tidied:
    """Clear away half-written files and sessions that ran out; put sealed keys under the present secret."""
    now = now or timezone.now()
    files = sum(_remove(path) for path in list(_half_written()) if _is_left(path, now))
    sessions, _ = Session.objects.filter(expire_date__lt=now).delete()
    remove_unfinished(Path(settings.BACKUP_DIR))
    reseal()
    return Tidied(files, sessions)


def _half_written() -> Iterator[Path]:
    """Files that got no name yet (`firm.web.storage`, `firm.mail.folder`), and backups that a restore had decrypted."""
    for root in (settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH):
        for folder, _, names in os.walk(root):
            yield from (Path(folder, name) for name in names if name.startswith(".") and name.endswith(".part"))
    yield from Path(settings.DATA_DIR).glob(f"{OPENED}*.tar")


def _is_left(path: Path, now: datetime) -> bool:
    try:
        return now.timestamp() - path.stat().st_mtime > LEFT_AFTER.total_seconds()
    except FileNotFoundError:
        return False  # it got its name meanwhile


def _remove(path: Path) -> bool:
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    return True
