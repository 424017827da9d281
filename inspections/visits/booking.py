"""Booking, moving and calling off a visit."""

from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from firm import audit
from firm.clients.models import Client
from firm.people.capabilities import Capability
from firm.people.models import User
from firm.properties.models import Property
from inspections.visits.busy import refuse_if_busy
from inspections.visits.clock import clock_words, day_words
from inspections.visits.hours import refuse_on_a_day_off, refuse_outside_plan
from inspections.visits.letters import tell_client
from inspections.visits.models import TimeTakenBack, Visit
from inspections.visits.refusals import (
    ChangedMeanwhile,
    NotAnInspector,
    OnDayOff,
    OutsideHours,
    ReasonMissing,
    StartsInThePast,
    WrongState,
)

# The constraint of migration 0004, on PostgreSQL.
NO_DOUBLE_BOOKING = "visit_no_double_booking"


@transaction.atomic
def book_visit(
    *,
    client: Client,
    property: Property,
    inspector: User,
    starts_at: datetime,
    length_minutes: int = 90,
    travel_minutes: int = 20,
    purpose: str = Visit.Purpose.WHOLE_DECK,
    notes: str = "",
    by: User | None,
    follows: Visit | None = None,
    despite: str = "",
) -> Visit:
    """Book the inspector for the visit and queue the confirmation to the client, if there is a mail address.

    Raises StartsInThePast, NotAnInspector, InspectorBusy (with the visit that is in the way), and OnDayOff or
    OutsideHours, unless `despite` gives the reason to go all the same: it is kept in the audit line.
    """
    visit = Visit(
        client=client,
        property=property,
        inspector=inspector,
        starts_at=starts_at,
        length_minutes=length_minutes,
        travel_minutes=travel_minutes,
        purpose=purpose,
        notes=notes,
        booked_by=by,
        follows=follows,
    )
    must_be_to_come(visit)
    overridden = take_the_time(visit, despite)
    audit.record(by, "booked", visit, after=when_and_who(visit) | overridden)
    tell_client(visit, "confirmed")
    return visit


@transaction.atomic
def move_visit(
    visit: Visit,
    *,
    starts_at: datetime,
    by: User | None,
    length_minutes: int | None = None,
    travel_minutes: int | None = None,
    inspector: User | None = None,
    despite: str = "",
    seen_version: int | None = None,
) -> Visit:
    """Give a booked visit another time or another inspector; what is left out stays.

    `seen_version` is the `calendar_version` that the person looked at. Raises ChangedMeanwhile if it has been changed
    since, WrongState once the visit has begun or is called off, and what `book_visit` raises.
    """
    locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if seen_version is not None and seen_version != locked.calendar_version:
        raise ChangedMeanwhile(_changed_words(locked))
    if locked.state != Visit.State.BOOKED:
        raise WrongState(f"Only a booked visit can be moved; this one is {locked.get_state_display().lower()}.")
    before = when_and_who(locked)
    was_with, was_at = locked.inspector, (locked.starts_at, locked.ends_at)
    locked.starts_at = starts_at
    locked.length_minutes = locked.length_minutes if length_minutes is None else length_minutes
    locked.travel_minutes = locked.travel_minutes if travel_minutes is None else travel_minutes
    locked.inspector = inspector or locked.inspector
    after = when_and_who(locked)
    if after == before:
        return locked
    locked.calendar_version += 1
    if {"starts_at", "inspector"} & {name for name in after if after[name] != before[name]}:
        must_be_to_come(locked)
        locked.confirmed_at = None
    changed = [name for name in after if after[name] != before[name]]
    overridden = take_the_time(locked, despite, is_by_plan=changed == ["travel_minutes"])
    if locked.inspector != was_with:
        note_time_taken_back(locked, was_with, *was_at)
    was, now = ({name: facts[name] for name in changed} for facts in (before, after))
    audit.record(by, "moved", locked, was, now | overridden)
    if set(changed) - {"travel_minutes"}:  # our way there is not the client's business
        tell_client(locked, "moved")
    return locked


@transaction.atomic
def confirm(visit: Visit, *, by: User | None, is_confirmed: bool = True) -> Visit:
    """Note that the client has confirmed the time; with `is_confirmed` False, that it was a mistake to note it.

    Raises WrongState unless the visit is booked.
    """
    locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if locked.state != Visit.State.BOOKED:
        raise WrongState(f"Only a booked visit is confirmed; this one is {locked.get_state_display().lower()}.")
    if bool(locked.confirmed_at) != is_confirmed:
        locked.confirmed_at = timezone.now() if is_confirmed else None
        locked.save(update_fields=["confirmed_at", "ends_at", "leaves_at"])
        audit.record(by, "noted as confirmed" if is_confirmed else "noted as not confirmed", locked)
    return locked


@transaction.atomic
def call_off(visit: Visit, *, because: str = "", by: User | None, kind: str = Visit.OffBecause.OTHER) -> Visit:
    """Cancel a visit that was not carried out; it stays on file with the reason: its kind, and words.

    The words may be left out where the kind says enough (the weather).
    Raises ReasonMissing; WrongState if it was handed in, released or called off, or if something is recorded already.
    """
    kind = Visit.OffBecause(kind)
    because = because.strip() or ("" if kind == Visit.OffBecause.OTHER else f"{kind.label}.")
    if not because:
        raise ReasonMissing("Say why it is called off; whoever looks it up later has only these words.")
    locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if locked.state not in (Visit.State.ASKED_FOR, Visit.State.BOOKED, Visit.State.UNDER_WAY):
        raise WrongState(f"This visit is {locked.get_state_display().lower()} and cannot be called off any more.")
    if locked.has_record():
        raise WrongState("Something is recorded at this visit already, so it cannot be called off.")
    was = locked.state
    locked.state = Visit.State.CALLED_OFF
    locked.called_off_because, locked.called_off_kind = because, kind
    locked.calendar_version += 1
    locked.save()
    after = {"state": locked.state, "kind": kind.label, "because": because}
    audit.record(by, "called off", locked, {"state": was}, after)
    if locked.has_time:  # else nobody was told of any
        tell_client(locked, "called_off")
    return locked


@transaction.atomic
def book_again(visit: Visit, *, by: User | None) -> Visit:
    """Undo calling off: the visit is booked at its old time again, and the client is told.

    One that had no time yet is asked for again, and nobody is told.

    Raises WrongState if it is not called off, StartsInThePast once its time is over, and what `book_visit` raises if
    the time was given to another visit meanwhile.
    """
    locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if locked.state != Visit.State.CALLED_OFF:
        raise WrongState(f"This visit is not called off; it is {locked.get_state_display().lower()}.")
    if not locked.has_time:
        before = {"state": locked.state, "because": locked.called_off_because}
        locked.state, locked.called_off_because, locked.called_off_kind = Visit.State.ASKED_FOR, "", ""
        locked.save()
        audit.record(by, "asked for again", locked, before, {"state": locked.state})
        return locked
    if locked.ends_at <= timezone.now():
        raise StartsInThePast(
            f"{day_words(locked.starts_at)}, {clock_words(locked.starts_at)} is over. Book another time."
        )
    before = {"state": locked.state, "because": locked.called_off_because}
    locked.state = Visit.State.BOOKED
    locked.called_off_because = locked.called_off_kind = ""
    locked.begun_at = None
    locked.calendar_version += 1
    refuse_on_a_day_off(locked)
    take_the_time(locked, is_by_plan=True)
    audit.record(by, "booked again", locked, before, {"state": locked.state})
    tell_client(locked, "confirmed")
    return locked


def must_be_to_come(visit: Visit) -> None:
    if visit.starts_at < timezone.now():
        raise StartsInThePast(
            f"{day_words(visit.starts_at)}, {clock_words(visit.starts_at)} is over. "
            "Choose a time that is still to come."
        )


def take_the_time(visit: Visit, despite: str = "", *, is_by_plan: bool = False) -> dict[str, str]:
    """Store the visit in its inspector's time. What was gone against for a reason, as the audit line has it.

    `is_by_plan`: hours and days off were looked at when the visit was put there.
    """
    # Whoever books the same inspector at the same moment waits here, and then sees this visit. (SQLite has no row
    # locks: there the transaction itself is the lock, see the IMMEDIATE mode in the settings.)
    person = User.objects.select_for_update(no_key=True).get(pk=visit.inspector_id)
    if not person.may(Capability.RECORD):
        raise NotAnInspector(f"{person.display_name} does not record inspections. Choose an inspector.")
    visit.inspector = person
    visit.set_times()
    overridden = {} if is_by_plan else _against_the_plan(visit, despite)
    refuse_if_busy(visit)
    try:
        with transaction.atomic():
            visit.save()
    except IntegrityError as error:
        # Only where something booked past the lock: the database has the last word, the person gets ours.
        if NO_DOUBLE_BOOKING not in str(error):
            raise
        refuse_if_busy(visit)
        raise
    return overridden


def note_time_taken_back(visit: Visit, inspector: User, starts_at: datetime, ends_at: datetime) -> None:
    """For the calendar of an inspector in which this visit stood; `calendar_version` has grown already."""
    TimeTakenBack.objects.update_or_create(
        visit=visit,
        inspector=inspector,
        defaults={"starts_at": starts_at, "ends_at": ends_at, "calendar_version": visit.calendar_version},
    )


def _against_the_plan(visit: Visit, despite: str) -> dict[str, str]:
    because = despite.strip()
    try:
        refuse_outside_plan(visit)
    except (OnDayOff, OutsideHours) as refusal:
        if not because:
            raise
        return {"in_spite_of": str(refusal), "because": because}
    return {}


def _changed_words(visit: Visit) -> str:
    at = f"{day_words(visit.starts_at)}, {clock_words(visit.starts_at)} to {clock_words(visit.ends_at)}"
    state = "" if visit.state == Visit.State.BOOKED else f" It is {visit.get_state_display().lower()}."
    return (
        f"Somebody changed this visit while you looked at it: it is now with {visit.inspector.display_name}, {at}."
        f"{state} Look again, then move it if that is still meant."
    )


def when_and_who(visit: Visit) -> dict[str, Any]:
    return {
        "starts_at": visit.starts_at,
        "length_minutes": visit.length_minutes,
        "travel_minutes": visit.travel_minutes,
        "inspector": visit.inspector.display_name,
    }
