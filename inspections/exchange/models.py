from django.conf import settings
from django.db import models

from firm.jobs.lines import LONG
from firm.jobs.models import Job


class Import(Job):
    """A table that was sent in: first looked at, then, if somebody says so and no row is refused, taken over."""

    task_name = "inspections.exchange.import"
    line = LONG

    class What(models.TextChoices):
        CLIENTS = "clients", "Clients"
        PROPERTIES = "properties", "Houses"
        VISITS = "visits", "Visits"

    what = models.CharField("what is in it", max_length=10, choices=What)
    file = models.FileField(upload_to="exchange/in/")
    name = models.CharField(max_length=200)  # of the file, as it was sent
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    is_for_real = models.BooleanField(default=False)
    format = models.CharField(max_length=120, blank=True)  # how it was read, in words
    added = models.PositiveIntegerField(default=0)
    warned = models.PositiveIntegerField(default=0, db_default=0)  # of those added: worth a look before that
    skipped = models.PositiveIntegerField(default=0)
    refused = models.PositiveIntegerField(default=0)
    fates = models.JSONField(default=list)  # [line, fate, why] of the first rows that were not simply added
    fates_file = models.FileField(upload_to="exchange/fates/", blank=True, default="", db_default="")  # of every row
    taken_over_at = models.DateTimeField(null=True, blank=True)

    class Meta(Job.Meta):
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return f"import of {self.get_what_display().lower()} from {self.name}"

    @property
    def may_be_taken_over(self) -> bool:
        is_clean = self.state == self.State.DONE and not self.refused and self.added > 0
        return is_clean and not self.taken_over_at and bool(self.file)  # taken away when a client was erased


class Export(Job):
    """The whole firm as tables in one ZIP, made by a worker."""

    task_name = "inspections.exchange.export"
    line = LONG

    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    file = models.FileField(upload_to="exchange/out/", blank=True)
    row_count = models.PositiveIntegerField(default=0)

    class Meta(Job.Meta):
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return "export of the whole firm"
