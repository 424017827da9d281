"""The report of a visit as it would be drawn now, for the release desk: marked as a draft on every page, kept nowhere.

It is drawn by a process of its own (`draft_process`), so that a web server never holds what drawing a PDF takes; one at
a time.
"""

import os
import subprocess
import sys

from django.conf import settings
from django.core.cache import cache

from inspections.reports.snapshot import as_text, freeze, keep_photos
from inspections.visits.models import Visit

_MOST_SECONDS = 300  # on a machine that is busy with other things; five on one that is not
_BUSY = "report-draft"


class NoDraft(Exception):
    """The draft cannot be drawn now; the text says why."""


def draw_draft(visit: Visit) -> bytes:
    """The PDF of the visit's record as it stands. Raises NoDraft; DeckFaults if the record contradicts itself."""
    snapshot = freeze(visit, keep_photos(visit))
    if not cache.add(_BUSY, visit.pk, timeout=_MOST_SECONDS + 10):
        raise NoDraft("Another draft is being drawn. Try again in a minute.")
    try:
        return _drawn_apart(as_text(snapshot))
    finally:
        cache.delete(_BUSY)


def _drawn_apart(record: str) -> bytes:
    environment = {
        **os.environ, "DJANGO_SETTINGS_MODULE": "firm.settings", "MEDIA_ROOT": str(settings.MEDIA_ROOT),
    }  # fmt: skip
    try:
        done = subprocess.run(
            [sys.executable, "-m", "inspections.reports.draft_process"],
            input=record.encode(), capture_output=True, timeout=_MOST_SECONDS, check=True,
            cwd=settings.BASE_DIR, env=environment,
        )  # fmt: skip
    except subprocess.TimeoutExpired as error:
        raise NoDraft(f"The draft took longer than {_MOST_SECONDS} seconds.") from error
    except subprocess.CalledProcessError as error:
        last = error.stderr.decode(errors="replace").strip().rpartition("\n")[2]
        raise NoDraft(f"The draft could not be drawn: {last[:300]}") from error
    return done.stdout
