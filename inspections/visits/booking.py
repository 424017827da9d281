"""Booking, moving and calling off a visit."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm import audit
from firm.clients.models import Client
from firm.people.capabilities import Capability
from firm.people.models import User
from firm.properties.models import Property
from inspections.visits.busy import refuse_if_busy
from inspections.visits.clock import clock_words, day_words
from inspections.visits.letters import tell_client
from inspections.visits.models import Visit
from inspections.visits.refusals import NotAnInspector, ReasonMissing, StartsInThePast, WrongState


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
) -> Visit:
    """Book the inspector for the visit and queue the confirmation to the client, if there is a mail address.

    Raises StartsInThePast, NotAnInspector, and InspectorBusy (with the visit that is in the way).
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
    _take_the_time(visit)
    audit.record(by, "booked", visit, after=_when_and_who(visit))
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
) -> Visit:
    """Give a booked visit another time or another inspector; what is left out stays.

    Raises WrongState once the visit has begun or is called off, and what `book_visit` raises.
    """
    locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if locked.state != Visit.State.BOOKED:
        raise WrongState(f"Only a booked visit can be moved; this one is {locked.get_state_display().lower()}.")
    before = _when_and_who(locked)
    locked.starts_at = starts_at
    locked.length_minutes = locked.length_minutes if length_minutes is None else length_minutes
    locked.travel_minutes = locked.travel_minutes if travel_minutes is None else travel_minutes
    locked.inspector = inspector or locked.inspector
    after = _when_and_who(locked)
    if after == before:
        return locked
    locked.calendar_version += 1
    _take_the_time(locked)
    changed = [name for name in after if after[name] != before[name]]
    audit.record(by, "moved", locked, {name: before[name] for name in changed}, {name: after[name] for name in changed})
    if set(changed) - {"travel_minutes"}:  # our way there is not the client's business
        tell_client(locked, "moved")
    return locked


@transaction.atomic
def call_off(visit: Visit, *, because: str, by: User | None) -> Visit:
    """Cancel a visit that was not carried out; it stays on file with the reason.

    Raises ReasonMissing; WrongState if it was handed in, released or called off, or if something is recorded already.
    """
    because = because.strip()
    if not because:
        raise ReasonMissing("Say why it is called off; whoever looks it up later has only these words.")
    locked = Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)
    if locked.state not in (Visit.State.BOOKED, Visit.State.UNDER_WAY):
        raise WrongState(f"This visit is {locked.get_state_display().lower()} and cannot be called off any more.")
    if locked.has_record():
        raise WrongState("Something is recorded at this visit already, so it cannot be called off.")
    was = locked.state
    locked.state = Visit.State.CALLED_OFF
    locked.called_off_because = because
    locked.calendar_version += 1
    locked.save()
    audit.record(by, "called off", locked, {"state": was}, {"state": locked.state, "because": because})
    tell_client(locked, "called_off")
    return locked


def _take_the_time(visit: Visit) -> None:
    if visit.starts_at < timezone.now():
        raise StartsInThePast(
            f"{day_words(visit.starts_at)}, {clock_words(visit.starts_at)} is over. "
            "Choose a time that is still to come."
        )
    # Whoever books the same inspector at the same moment waits here, and then sees this visit. (SQLite has no row
    # locks: there the transaction itself is the lock, see the IMMEDIATE mode in the settings.)
    person = User.objects.select_for_update(no_key=True).get(pk=visit.inspector_id)
    if not person.may(Capability.RECORD):
        raise NotAnInspector(f"{person.display_name} does not record inspections. Choose an inspector.")
    refuse_if_busy(visit)
    visit.save()


def _when_and_who(visit: Visit) -> dict[str, Any]:
    return {
        "starts_at": visit.starts_at,
        "length_minutes": visit.length_minutes,
        "travel_minutes": visit.travel_minutes,
        "inspector": visit.inspector.display_name,
    }
