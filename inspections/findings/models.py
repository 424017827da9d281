import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from engine.vocabulary import Link
from inspections.findings.from_check import LONGEST_PLACE
from inspections.survey.models import Part
from inspections.visits.models import Visit

LINKS = [(link.value, link.value.capitalize()) for link in Link]


class Action(models.TextChoices):
    """What to do about it, from the most to the least pressing."""

    KEEP_OFF = "keep_off", "Keep off"
    LIMIT_USE = "limit_use", "Limit use"
    PUT_RIGHT = "put_right", "Put right"
    FIND_OUT = "find_out", "Find out"
    LOOK_AFTER = "look_after", "Look after"
    SOUND = "sound", "Sound"


class Defect(models.Model):
    """An entry of the firm's catalogue: something that goes wrong with decks, said once and well."""

    slug = models.SlugField(max_length=60, unique=True)
    link = models.CharField(max_length=20, choices=LINKS)
    title = models.CharField(max_length=120)
    meaning = models.TextField("what it means, for the owner")
    remedy = models.TextField("the usual remedy", blank=True)
    citation = models.CharField(max_length=160, blank=True)
    action = models.CharField("usual action", max_length=12, choices=Action, default=Action.PUT_RIGHT)
    check_id = models.CharField(
        "the check it answers", max_length=80, blank=True, help_text="The engine's check whose failing it describes."
    )
    is_offered = models.BooleanField("offered to inspectors", default=True)

    class Meta:
        ordering = ["link", "title"]

    def __str__(self) -> str:
        return self.title


class FindingQuerySet(models.QuerySet):
    def visible_to(self, user) -> "FindingQuerySet":
        """Findings of the visits this person may see; one that was taken back is seen by nobody."""
        return self.filter(visit__in=Visit.objects.visible_to(user), removed_at__isnull=True)


class Finding(models.Model):
    """What was noticed at one place on one link of the load path, and what to do about it."""

    class HowSoon(models.TextChoices):
        AT_ONCE = "at_once", "At once"
        TWO_WEEKS = "two_weeks", "Within two weeks"
        THREE_MONTHS = "three_months", "Within three months"
        ONE_YEAR = "one_year", "Within a year"
        NO_DATE = "no_date", "No date"

    class Who(models.TextChoices):
        OWNER = "owner", "Owner"
        CONTRACTOR = "contractor", "Contractor"
        ENGINEER = "engineer", "Licensed engineer"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    visit = models.ForeignKey(Visit, models.PROTECT, related_name="findings")
    link = models.CharField(max_length=20, choices=LINKS)
    part = models.ForeignKey(Part, models.SET_NULL, null=True, blank=True, related_name="findings")
    defect = models.ForeignKey(Defect, models.PROTECT, null=True, blank=True, related_name="findings")
    check_id = models.CharField(max_length=80, blank=True, help_text="The engine's check it came from, where it did.")
    title = models.CharField("in one line", max_length=140)
    place = models.CharField(max_length=LONGEST_PLACE, blank=True, help_text="Several are parted by semicolons.")
    seen = models.TextField("what was seen", blank=True)
    meaning = models.TextField("what it means", blank=True)
    remedy = models.TextField("what to do", blank=True)
    action = models.CharField(max_length=12, choices=Action)
    how_soon = models.CharField(max_length=14, choices=HowSoon, default=HowSoon.NO_DATE)
    who = models.CharField("by whom", max_length=12, choices=Who, default=Who.CONTRACTOR)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = FindingQuerySet.as_manager()

    class Meta:
        ordering = ["created_at", "pk"]
        indexes = [models.Index(fields=["link", "action"])]
        constraints = [
            models.CheckConstraint(
                condition=~Q(action__in=["keep_off", "put_right"]) | ~Q(how_soon="no_date"),
                name="finding_to_put_right_says_how_soon",
            )
        ]

    def __str__(self) -> str:
        return self.title
