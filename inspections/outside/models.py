from datetime import timedelta

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inspections.reports.models import Language, hash_token
from inspections.visits.models import Visit

OPEN_AFTER_VISIT = timedelta(days=1)


class VisitLinkQuerySet(models.QuerySet):
    def for_token(self, token: str) -> "VisitLink | None":
        """The open link with this token, or None: a wrong one and one whose visit is over look the same."""
        still = self.filter(
            Q(visit__ends_at__gt=timezone.now() - OPEN_AFTER_VISIT) | Q(visit__state=Visit.State.ASKED_FOR),
            token_hash=hash_token(token),
        )
        return still.select_related("visit__client", "visit__property", "visit__inspector").first()


class VisitLink(models.Model):
    """A client's way to the page of a visit. Each mail brings a token of its own; only its hash is kept.

    Open until a day after the visit, to whatever time it is moved, and as long as it waits for one.
    """

    visit = models.ForeignKey(Visit, models.CASCADE, related_name="page_links")
    token_hash = models.CharField(max_length=64, unique=True)
    language = models.CharField(
        max_length=2, choices=Language, default=Language.ENGLISH, db_default=Language.ENGLISH.value
    )
    created_at = models.DateTimeField(auto_now_add=True)

    objects = VisitLinkQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return f"page of visit {self.visit_id}"


class TimeWishQuerySet(models.QuerySet):
    def unanswered(self) -> "TimeWishQuerySet":
        """Those of visits to come that were neither changed since nor put aside."""
        return self.filter(
            put_aside_at__isnull=True,
            calendar_version=F("visit__calendar_version"),
            visit__state=Visit.State.BOOKED,
            visit__ends_at__gt=timezone.now(),
        )


class TimeWish(models.Model):
    """A client asks for another time. Answered by moving the visit, or put aside by the office."""

    visit = models.ForeignKey(Visit, models.CASCADE, related_name="time_wishes")
    words = models.TextField("when would suit you", max_length=1000)
    calendar_version = models.PositiveSmallIntegerField()  # of the visit as the client saw it
    asked_at = models.DateTimeField(auto_now_add=True)
    put_aside_at = models.DateTimeField(null=True, blank=True)

    objects = TimeWishQuerySet.as_manager()

    class Meta:
        ordering = ["asked_at"]

    def __str__(self) -> str:
        return f"another time for visit {self.visit_id}"


class NeverChanged(Exception):
    """What a client accepted stays as it was."""


class Kept(models.Model):
    """A row that is written once."""

    class Meta:
        abstract = True

    def save(self, *args, **kwargs) -> None:
        if self.pk and type(self)._default_manager.filter(pk=self.pk).exists():
            raise NeverChanged("This is kept as it was written.")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise NeverChanged("This is kept as it was written.")


class Agreement(Kept):
    """One version of the text that a client accepts before a visit. The newest holds; an empty one: none is asked."""

    version = models.PositiveSmallIntegerField(unique=True)
    text = models.TextField(blank=True, max_length=20000)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-version"]

    def __str__(self) -> str:
        return f"visit agreement, version {self.version}"

    @classmethod
    def current(cls) -> "Agreement | None":
        newest = cls.objects.first()
        return newest if newest and newest.text else None


class Acceptance(Kept):
    """A client accepted one version of the agreement for one visit: who, when, from where."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="acceptances")
    agreement = models.ForeignKey(Agreement, models.PROTECT, related_name="acceptances")
    name = models.CharField("your name", max_length=120)  # as typed
    at = models.DateTimeField(auto_now_add=True)
    address = models.GenericIPAddressField(null=True)  # that the request came from
    browser = models.CharField(max_length=300, blank=True)  # as it names itself

    class Meta:
        ordering = ["at"]
        constraints = [models.UniqueConstraint(fields=["visit", "agreement"], name="accepted_once_a_version")]

    def __str__(self) -> str:
        return f"{self.name} accepted version {self.agreement.version}"


class CalendarFeed(models.Model):
    """An inspector's visits for a calendar program, under a secret address of which only the hash is kept."""

    person = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="calendar_feed")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"calendar feed of {self.person}"
