from django.core.validators import MaxValueValidator
from django.db import models

from firm.letters.kinds import KINDS


class LetterText(models.Model):
    """The firm's own words of one mail. Where there is no row, the mail has its first words."""

    kind = models.CharField(max_length=20, unique=True, choices=[(one.key, one.label) for one in KINDS.values()])
    subject = models.CharField(max_length=150)
    body = models.TextField("text", max_length=6000)

    class Meta:
        ordering = ["kind"]

    def __str__(self) -> str:
        return f"text of the mail {self.get_kind_display().lower()}"


class Reminders(models.Model):
    """How long before a visit the client is reminded of it. One row."""

    hours_before = models.PositiveSmallIntegerField(
        "hours before the visit", default=24, validators=[MaxValueValidator(336)], help_text="0: no reminders are sent."
    )

    class Meta:
        verbose_name_plural = "reminders"
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="reminders_are_one_row")]

    def __str__(self) -> str:
        return "when clients are reminded"

    @classmethod
    def current(cls) -> "Reminders":
        """The row as it stands, or the default until somebody stores it."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)
