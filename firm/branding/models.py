from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

hex_colour = RegexValidator(r"^#[0-9a-fA-F]{6}$", "Write a colour as # and six hexadecimal digits, like #1f4e5f.")


class Firm(models.Model):
    """Who the firm is: one row, printed on every report and shown on every page."""

    class Paper(models.TextChoices):
        LETTER = "letter", "Letter, 8.5 by 11 in"
        A4 = "A4", "A4, 210 by 297 mm"

    class Units(models.TextChoices):
        US = "us", "Feet and inches"
        METRIC = "metric", "Metric beside feet and inches"

    name = models.CharField(max_length=120, default="Your firm")
    strapline = models.CharField(max_length=160, blank=True)
    licence_line = models.CharField(
        "licence line", max_length=200, blank=True, help_text="Printed at the foot of every report."
    )
    address = models.TextField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField("mail address", blank=True)
    logo = models.ImageField(upload_to="branding/", blank=True)
    ink_colour = models.CharField(max_length=7, default="#20313a", validators=[hex_colour])
    accent_colour = models.CharField(max_length=7, default="#8a4b2a", validators=[hex_colour])
    paper = models.CharField(max_length=8, choices=Paper, default=Paper.LETTER)
    units = models.CharField(max_length=8, choices=Units, default=Units.US)
    link_days = models.PositiveSmallIntegerField("days a client's link stays open", default=180)
    retention_years = models.PositiveSmallIntegerField(
        "years that an issued report is kept",
        default=10,
        validators=[MinValueValidator(1), MaxValueValidator(99)],
        help_text="Printed nowhere, shown at the release desk. Nothing issued is deleted by itself, before or after.",
    )
    travel_mph = models.PositiveSmallIntegerField(
        "speed on the way to a house, miles an hour",
        default=30,
        validators=[MinValueValidator(5), MaxValueValidator(80)],
        help_text="For the way between two houses whose coordinates are on file. Common practice, no published source.",
    )
    keeps_photo_location = models.BooleanField(
        "hand out photo files with the place where they were taken",
        default=False,
        help_text="Only in the file as it came, for staff. What a client gets never says it.",
    )
    cautions = models.TextField(blank=True, help_text="Added to the cautions that every report carries.")

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="firm_is_one_row")]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Firm":
        """The firm's row, made with defaults the first time it is asked for."""
        return cls.objects.get_or_create(pk=1)[0]
