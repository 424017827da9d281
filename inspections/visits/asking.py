"""Visits that are asked for and have no time yet: the caller will look, or nothing suited, or the time was given up."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from firm import audit
from firm.clients.models import Client
from firm.people.models import User
from firm.properties.models import Property
from inspections.visits.booking import must_be_to_come, note_time_taken_back, take_the_time, when_and_who
from inspections.visits.letters import tell_client
from inspections.visits.models import Visit
from inspections.visits.refusals import ChangedMeanwhile, WrongState


@transaction.atomic
def ask_for_visit(
    *,
    client: Client,
    property: Property,
    length_minutes: int = 90,
    purpose: str = Visit.Purpose.WHOLE_DECK,
    notes: str = "",
    suits: str = "",
    by: User | None,
    follows: Visit | None = None,
) -> Visit:
    """Keep that a visit is asked for. It takes nobody's time and stands in no calendar; no mail goes out."""
    visit = Visit.objects.create(
        client=client, property=property, length_minutes=length_minutes, purpose=purpose, notes=notes,
        suits=suits.strip(), state=Visit.State.ASKED_FOR, asked_at=timezone.now(), booked_by=by, follows=follows,
    )  # fmt: skip
    audit.record(by, "asked for", visit, after={"suits": visit.suits} if visit.suits else None)
    return visit


@transaction.atomic
def give_time(
    visit: Visit,
    *,
    inspector: User,
    starts_at: datetime,
    length_minutes: int,
    travel_minutes: int,
    by: User | None,
    despite: str = "",
    seen_version: int | None = None,
) -> Visit:
    """Book a visit that is asked for, and queue the confirmation.

    Raises WrongState unless it is asked for, ChangedMeanwhile, and what `book_visit` raises.
    """
    locked = _lock(visit)
    if locked.state != Visit.State.ASKED_FOR:
        at_once = f"This visit is {locked.get_state_display().lower()}; only one that is asked for is given a time."
        raise ChangedMeanwhile(at_once) if seen_version is not None else WrongState(at_once)
    if seen_version is not None and seen_version != locked.calendar_version:
        raise ChangedMeanwhile("Somebody changed this visit while you looked at it. Look again, then give it a time.")
    if locked.calendar_version:  # the client's calendar had it before: SEQUENCE grows
        locked.calendar_version += 1
    locked.state = Visit.State.BOOKED
    locked.inspector, locked.starts_at = inspector, starts_at
    locked.length_minutes, locked.travel_minutes = length_minutes, travel_minutes
    must_be_to_come(locked)
    overridden = take_the_time(locked, despite)
    audit.record(by, "given a time", locked, {"state": Visit.State.ASKED_FOR}, when_and_who(locked) | overridden)
    tell_client(locked, "confirmed")
    return locked


@transaction.atomic
def give_time_up(visit: Visit, *, by: User | None, suits: str = "") -> Visit:
    """The booked time does not suit, and no other is agreed yet: it is free again, and the client is told.

    Raises WrongState unless the visit is booked.
    """
    locked = _lock(visit)
    if locked.state != Visit.State.BOOKED:
        raise WrongState(f"Only a booked visit gives up its time; this one is {locked.get_state_display().lower()}.")
    before = when_and_who(locked)
    locked.state, locked.suits = Visit.State.ASKED_FOR, suits.strip()
    locked.asked_at = timezone.now()
    locked.calendar_version += 1
    note_time_taken_back(locked, locked.inspector, locked.starts_at, locked.ends_at)
    tell_client(locked, "time_given_up")  # while it still knows the time that the mail takes back
    locked.starts_at = locked.inspector = locked.confirmed_at = None
    locked.save()
    audit.record(by, "given up its time", locked, before, {"state": locked.state, "suits": locked.suits})
    return locked


@transaction.atomic
def note_what_suits(visit: Visit, words: str) -> None:
    """The client says on the page when it would suit. Raises WrongState unless the visit waits for a time."""
    locked = _lock(visit)
    if locked.state != Visit.State.ASKED_FOR:
        raise WrongState(_("This visit cannot be changed from here any more. Please call us."))
    before, locked.suits = locked.suits, words.strip()
    locked.save()
    audit.record(None, "told by the client when it would suit", locked, {"suits": before}, {"suits": locked.suits})


def _lock(visit: Visit) -> Visit:
    return Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
