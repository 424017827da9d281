import uuid

from django.conf import settings
from django.db import models

from engine.vocabulary import BY_NAME, PartKind
from inspections.visits.models import Visit


class Part(models.Model):
    """One piece of the deck that was looked at: a ledger, one of its fasteners, a beam, a guard.

    `kind` is a kind of `engine.vocabulary`; `key` is its name in the deck file and on the drawing ("LD1"). The id may
    be made by the tablet, so that a part can be recorded without signal.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    visit = models.ForeignKey(Visit, models.PROTECT, related_name="parts")
    kind = models.CharField(max_length=20, choices=[(name, name.replace("_", " ")) for name in BY_NAME])
    key = models.CharField(max_length=12)
    name = models.CharField(max_length=60, blank=True, help_text="What people call it: north beam, kitchen stair.")
    removed_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["created_at", "key"]
        constraints = [models.UniqueConstraint(fields=["visit", "key"], name="part_key_is_unique_in_its_visit")]

    def __str__(self) -> str:
        return self.name or self.key

    @property
    def vocabulary(self) -> PartKind:
        return BY_NAME[self.kind]


class Reading(models.Model):
    """One fact of one part, and its story: what was got, how, by whom, when.

    `value` is in the engine's unit (inches, lb, psf) or one of the fact's words; null where it could not be reached.
    `typed` keeps what was typed, as typed.
    """

    class How(models.TextChoices):
        MEASURED = "measured", "Measured"
        PAPERS = "papers", "From papers"
        ASSUMED = "assumed", "Assumed"
        NOT_REACHABLE = "not_reachable", "Not reachable"

    part = models.ForeignKey(Part, models.CASCADE, related_name="readings")
    fact = models.CharField(max_length=40)
    value = models.JSONField(null=True)
    typed = models.CharField(max_length=200, blank=True)
    how = models.CharField(max_length=16, choices=How, default=How.MEASURED)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["part", "fact"], name="reading_is_one_per_fact"),
            models.CheckConstraint(
                condition=models.Q(how="not_reachable") | models.Q(value__isnull=False),
                name="reading_without_value_says_not_reachable",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} {self.fact}"
