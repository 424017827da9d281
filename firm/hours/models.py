from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q


class WorkingHours(models.Model):
    """From when to when somebody works on one day of the week, by the firm's clock.

    Whoever has no row at all works the firm's usual hours (see `services.USUAL`); whoever has rows is off on the days
    of the week that have none.
    """

    class Weekday(models.IntegerChoices):
        MONDAY = 0, "Monday"
        TUESDAY = 1, "Tuesday"
        WEDNESDAY = 2, "Wednesday"
        THURSDAY = 3, "Thursday"
        FRIDAY = 4, "Friday"
        SATURDAY = 5, "Saturday"
        SUNDAY = 6, "Sunday"

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="working_hours")
    weekday = models.PositiveSmallIntegerField(choices=Weekday)
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        verbose_name_plural = "working hours"
        ordering = ["person", "weekday"]
        constraints = [
            models.UniqueConstraint(fields=["person", "weekday"], name="hours_one_row_a_weekday"),
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="hours_end_after_they_start"),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.starts:%H:%M} to {self.ends:%H:%M}"


class TimeOff(models.Model):
    """Whole days on which one person, or nobody in the firm, goes out: leave, illness, a holiday."""

    # Empty: the whole firm.
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, null=True, blank=True, related_name="time_off", verbose_name="who"
    )
    first_day = models.DateField()
    last_day = models.DateField()
    because = models.CharField("what for", max_length=80, help_text="Leave, training, the name of the holiday.")

    class Meta:
        verbose_name_plural = "time off"
        ordering = ["first_day", "pk"]
        indexes = [models.Index(fields=["last_day"])]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="time_off_ends_after_it_starts")
        ]

    def __str__(self) -> str:
        return self.because


class Allowances(models.Model):
    """What the office allows for the way between two houses, and whose public holidays it keeps. One row.

    The speed on the road is `Firm.travel_mph`.
    """

    detour = models.DecimalField(
        "the road is longer than the straight line by a factor of", max_digits=3, decimal_places=2, default="1.30",
        validators=[MinValueValidator(1), MaxValueValidator(3)],
        help_text="For two houses whose coordinates are on file. Common practice, no published source.",
    )  # fmt: skip
    gap_minutes = models.PositiveSmallIntegerField(
        "where a house has no coordinates, minutes for the way", default=20, validators=[MaxValueValidator(300)]
    )
    country = models.CharField("country whose public holidays you keep", max_length=2, default="US")
    state = models.CharField("state", max_length=10, blank=True, help_text="Its short form, such as ME. May be empty.")

    class Meta:
        verbose_name_plural = "allowances"
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="allowances_are_one_row")]

    def __str__(self) -> str:
        return "what the office allows for"

    @classmethod
    def current(cls) -> "Allowances":
        """The row as it stands, or the defaults until somebody stores it."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)
