import builtins  # the field `property` hides the decorator of that name
from datetime import UTC, timedelta

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from firm.clients.models import Client
from firm.people.capabilities import Capability
from firm.properties.models import Property


class VisitQuerySet(models.QuerySet):
    def known_to(self, user) -> "VisitQuerySet":
        """Those who book or release see every visit; an inspector sees his or her own; nobody else sees any.

        Also those without a time, which only the office's own pages know how to show.
        """
        if user.may(Capability.BOOK) or user.may(Capability.RELEASE):
            return self
        if user.may(Capability.RECORD):
            return self.filter(inspector=user)
        return self.none()

    def visible_to(self, user) -> "VisitQuerySet":
        """As `known_to`, of the visits that have a time and an inspector: all that can ever have a record."""
        return self.known_to(user).filter(starts_at__isnull=False)

    def recordable_by(self, user) -> "VisitQuerySet":
        """Visits whose record this person may write: an inspector's own that are open for writing."""
        if not user.may(Capability.RECORD):
            return self.none()
        return self.filter(inspector=user, state__in=Visit.OPEN_FOR_RECORD)

    def whole(self) -> "VisitQuerySet":
        """With the rows that every list and heading shows."""
        return self.select_related("client", "property", "inspector")

    def for_rows(self) -> "VisitQuerySet":
        """With what a row of a list prints (`_rows.html`), and no more of it: a visit and its people are wide rows."""
        return self.whole().only(
            "purpose", "state", "starts_at", "ends_at", "client__name", "property__street", "property__town",
            "inspector__first_name", "inspector__last_name", "inspector__username",
        )  # fmt: skip


class Visit(models.Model):
    """One inspector at one property at one time, and the record that comes of it."""

    class State(models.TextChoices):
        ASKED_FOR = "asked_for", "Asked for"
        BOOKED = "booked", "Booked"
        UNDER_WAY = "under_way", "Under way"
        HANDED_IN = "handed_in", "Handed in"
        SENT_BACK = "sent_back", "Sent back"
        RELEASED = "released", "Released"
        CALLED_OFF = "called_off", "Called off"

    class Purpose(models.TextChoices):
        WHOLE_DECK = "whole_deck", "Whole deck"
        BEFORE_SALE = "before_sale", "Before a sale"
        AFTER_DAMAGE = "after_damage", "After damage"
        AFTER_REPAIR = "after_repair", "After a repair"

    class OffBecause(models.TextChoices):
        """Why a visit did not take place."""

        CLIENT = "client", "The client asked"
        NOBODY_THERE = "nobody_there", "Nobody was there"
        WEATHER = "weather", "The weather"
        NO_WAY_IN = "no_way_in", "Could not get to the deck"
        OUR_SIDE = "our_side", "On our side"
        OTHER = "other", "Another reason"

    OPEN_FOR_RECORD = (State.BOOKED, State.UNDER_WAY, State.SENT_BACK)
    TAKES_TIME = (State.BOOKED, State.UNDER_WAY, State.HANDED_IN, State.SENT_BACK, State.RELEASED)

    client = models.ForeignKey(Client, models.PROTECT, related_name="visits")
    property = models.ForeignKey(Property, models.PROTECT, related_name="visits")
    # Inspector and time are empty in a visit that is only asked for, and in one that was called off before it had any.
    inspector = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="visits")
    booked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True)
    follows = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="followed_by")
    purpose = models.CharField(max_length=16, choices=Purpose, default=Purpose.WHOLE_DECK)
    state = models.CharField(max_length=12, choices=State, default=State.BOOKED)
    starts_at = models.DateTimeField(null=True)
    length_minutes = models.PositiveSmallIntegerField(
        "length, minutes", default=90, validators=[MinValueValidator(15), MaxValueValidator(600)]
    )
    travel_minutes = models.PositiveSmallIntegerField(
        "travel before, minutes", default=20, validators=[MaxValueValidator(300)]
    )
    # Kept beside start and length so that the database can compare two visits' times.
    ends_at = models.DateTimeField(null=True, editable=False)
    leaves_at = models.DateTimeField(null=True, editable=False)  # the start less the travel allowance
    asked_at = models.DateTimeField(
        null=True, editable=False
    )  # since when it waits for a time, or waited before it had one
    suits = models.TextField("when it would suit", blank=True, db_default="", max_length=1000)
    notes = models.TextField("for the inspector", blank=True)
    summary = models.TextField("in a few words for the client", blank=True)
    sent_back_because = models.TextField(blank=True)
    called_off_because = models.TextField(blank=True)
    called_off_kind = models.CharField(max_length=12, choices=OffBecause, blank=True)
    # The client said that the time suits; another time or inspector wants to be confirmed anew.
    confirmed_at = models.DateTimeField(null=True, editable=False)
    # The building rules that applied when the visit began: {"basis": as in the engine's deck file, "source": words,
    # "at": moment}. None until then.
    basis = models.JSONField(null=True, editable=False)
    begun_at = models.DateTimeField(null=True, editable=False)
    handed_in_at = models.DateTimeField(null=True, editable=False)
    released_at = models.DateTimeField(null=True, editable=False)
    # Grows with every change that the client is told of: SEQUENCE of the entry in their calendar.
    calendar_version = models.PositiveSmallIntegerField(default=0, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["starts_at", "pk"]
        indexes = [
            models.Index(fields=["inspector", "starts_at"]),
            models.Index(fields=["state", "starts_at"]),
            models.Index(fields=["starts_at", "id"]),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(ends_at__gt=models.F("starts_at")), name="visit_ends_after_it_starts"),
            models.CheckConstraint(
                condition=Q(state__in=["asked_for", "called_off"])
                | Q(inspector__isnull=False, starts_at__isnull=False, ends_at__isnull=False, leaves_at__isnull=False),
                name="visit_has_a_time_unless_asked_for",
            ),
            models.CheckConstraint(
                condition=~Q(state="asked_for") | Q(starts_at__isnull=True, inspector__isnull=True),
                name="visit_asked_for_has_no_time",
            ),
            models.CheckConstraint(
                condition=~Q(state="called_off") | ~Q(called_off_because=""), name="visit_called_off_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.property.street}, {self.property.town}"

    def save(self, *args, **kwargs) -> None:
        self.set_times()
        super().save(*args, **kwargs)

    def set_times(self) -> None:
        """Work out `ends_at` and `leaves_at` from start, length and travel; every save does it."""
        if self.starts_at is None:
            self.ends_at = self.leaves_at = None
            return
        starts = self.starts_at.astimezone(UTC)  # minutes by the firm's clock would count an hour that the clock skips
        self.ends_at = starts + timedelta(minutes=self.length_minutes)
        self.leaves_at = starts - timedelta(minutes=self.travel_minutes)

    @builtins.property
    def has_time(self) -> bool:
        return self.starts_at is not None

    @builtins.property
    def is_open_for_record(self) -> bool:
        return self.state in self.OPEN_FOR_RECORD

    def has_record(self) -> bool:
        """Whether a part, a finding or a photo is kept at this visit."""
        return any(rows.filter(removed_at__isnull=True).exists() for rows in (self.parts, self.findings, self.photos))


class TimeTakenBack(models.Model):
    """A visit stood in this inspector's calendar at this time, and stands there no more: the time was given up, or
    another inspector goes. Their calendar program is told so until the time is long over; one row, of the last time.
    """

    visit = models.ForeignKey(Visit, models.CASCADE, related_name="times_taken_back")
    inspector = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    calendar_version = models.PositiveSmallIntegerField()  # of the visit once it was taken back

    class Meta:
        ordering = ["starts_at", "pk"]
        constraints = [models.UniqueConstraint(fields=["visit", "inspector"], name="time_taken_back_once_a_person")]

    def __str__(self) -> str:
        return f"visit {self.visit_id} without {self.inspector}"


class SavedList(models.Model):
    """A list of visits with its filters and order, kept by one person under a name."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="saved_lists")
    name = models.CharField(max_length=60)
    which = models.CharField(max_length=20)  # a key of `inspections.visits.lists.LISTS`
    query = models.CharField(max_length=500, blank=True)  # of the address, without the page

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["person", "name"], name="saved_list_once_a_name")]

    def __str__(self) -> str:
        return self.name
