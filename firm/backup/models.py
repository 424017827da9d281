from django.db import models

from firm.jobs.lines import LONG
from firm.jobs.models import Job


class Backup(Job):
    """One backup that the worker makes, proves by a trial restore, and keeps as long as `keeping` says."""

    task_name = "firm.backup.make"
    line = LONG

    label = models.CharField(max_length=40)
    file_name = models.CharField(max_length=120, blank=True)
    size = models.PositiveBigIntegerField(default=0)  # bytes
    sha256 = models.CharField(max_length=64, blank=True)
    row_count = models.PositiveIntegerField(default=0)
    file_count = models.PositiveIntegerField(default=0)
    missing_files = models.JSONField(default=list)  # named by a row, and not in the media folder
    proved_at = models.DateTimeField(null=True, blank=True)  # when its rows were restored for trial

    class Meta(Job.Meta):
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.label} backup of {self.created_at:%Y-%m-%d}"
