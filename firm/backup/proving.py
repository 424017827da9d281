"""Restoring a backup for trial: into a database and a folder of its own, which are thrown away afterwards."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from django.conf import settings

TRIAL = "soundings-trial-"  # begins the name of the folder that a trial restore works in


class NotProved(Exception):
    """The trial restore failed; the text is what it said."""


def prove(archive: Path) -> None:
    """Restore the rows of a plain archive into a throw-away SQLite database, and check every media file's digest.

    In a process of its own: this one's settings name the real database. Raises NotProved.
    """
    with tempfile.TemporaryDirectory(prefix=TRIAL, dir=archive.parent) as folder:
        not_ours = (
            "DATABASE_URL", "MEDIA_ROOT", "MEDIA_BUCKET", "CELERY_BROKER_URL", "EMAIL_URL", "DJANGO_SETTINGS_MODULE",
        )  # fmt: skip
        kept = {name: value for name, value in os.environ.items() if name.removesuffix("_FILE") not in not_ours}
        answer = subprocess.run(  # noqa: S603  our own command
            [sys.executable, str(settings.BASE_DIR / "manage.py"), "restore", str(archive), "--rows-only"],
            env={**kept, "SOUNDINGS_SETUP": "no", "SOUNDINGS_DATA": folder},
            capture_output=True,
            text=True,
            check=False,
        )
    if answer.returncode:
        raise NotProved((answer.stderr or answer.stdout).strip()[-2000:])
