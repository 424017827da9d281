"""From arriving to handing in: the steps that a visit's record goes through before the release desk has it."""

from django.db import transaction
from django.utils import timezone

from firm import audit
from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.visits.gaps import find_gaps
from inspections.visits.models import Visit
from inspections.visits.refusals import NotReady, NotYours, ReasonMissing, WrongState


@transaction.atomic
def begin(visit: Visit, *, by: User) -> Visit:
    """The inspector has arrived: the visit is under way. One that is under way or sent back stays as it is.

    The building rules that apply are frozen with it: what is changed on the property later does not change this visit,
    unless somebody takes them anew (`inspections.survey.basis.take_rules_anew`).
    The visit that was passed in is brought up to date too, for whoever goes on to record a reading.
    Raises NotYours, and WrongState if the visit is closed.
    """
    locked = _lock(visit)
    _must_be_the_inspector(locked, by)
    if locked.state == Visit.State.BOOKED:
        locked.state = Visit.State.UNDER_WAY
        locked.begun_at = timezone.now()
        _freeze_the_rules(locked)
        locked.save(update_fields=["state", "begun_at", "ends_at", "basis"])
        audit.record(by, "began", locked, {"state": Visit.State.BOOKED}, {"state": locked.state})
    elif not locked.is_open_for_record:
        raise WrongState(f"This visit is {locked.get_state_display().lower()}; nothing more can be recorded.")
    visit.state, visit.begun_at, visit.basis = locked.state, locked.begun_at, locked.basis
    return locked


@transaction.atomic
def put_back(visit: Visit, *, by: User) -> Visit:
    """Undo `begin`, pressed by mistake: the visit is booked again, and its rules are no longer frozen.

    Raises NotYours, and WrongState if it is not under way or something is recorded already.
    """
    locked = _lock(visit)
    _must_be_the_inspector(locked, by)
    if locked.state != Visit.State.UNDER_WAY:
        raise WrongState(f"Only a visit that is under way can be put back; it is {locked.get_state_display().lower()}.")
    if locked.has_record():
        raise WrongState("Something is recorded at this visit already, so it has begun.")
    locked.state, locked.begun_at, locked.basis = Visit.State.BOOKED, None, None
    locked.save(update_fields=["state", "begun_at", "basis", "ends_at", "leaves_at"])
    audit.record(by, "put back", locked, {"state": Visit.State.UNDER_WAY}, {"state": locked.state})
    return locked


@transaction.atomic
def hand_in(visit: Visit, *, by: User, summary: str | None = None) -> Visit:
    """The inspector has finished writing: the record goes to the release desk and is closed for writing.

    Raises NotYours, WrongState, and NotReady with the gaps that are left.
    """
    locked = _lock(visit)
    _must_be_the_inspector(locked, by)
    was = locked.state
    if was == Visit.State.BOOKED:
        raise WrongState("This visit has not begun: nothing is recorded yet.")
    if was not in (Visit.State.UNDER_WAY, Visit.State.SENT_BACK):
        raise WrongState(f"This visit is {locked.get_state_display().lower()} already.")
    if gaps := find_gaps(locked):
        raise NotReady(gaps)
    if summary is not None:
        locked.summary = summary
    locked.state = Visit.State.HANDED_IN
    locked.handed_in_at = timezone.now()
    locked.save()
    audit.record(by, "handed in", locked, {"state": was}, {"state": locked.state})
    return locked


@transaction.atomic
def send_back(visit: Visit, *, because: str, by: User) -> Visit:
    """The release desk wants something put right: the record is open for its inspector again.

    Raises ReasonMissing, and WrongState unless the visit is handed in.
    """
    because = because.strip()
    if not because:
        raise ReasonMissing("Say what is to be put right; the inspector has only these words.")
    locked = _lock(visit)
    if locked.state != Visit.State.HANDED_IN:
        raise WrongState(
            f"Only a visit that is handed in can be sent back; it is {locked.get_state_display().lower()}."
        )
    locked.state = Visit.State.SENT_BACK
    locked.sent_back_because = because
    locked.save()
    audit.record(by, "sent back", locked, {"state": Visit.State.HANDED_IN}, {"state": locked.state, "because": because})
    return locked


def _freeze_the_rules(visit: Visit) -> None:
    # The survey knows visits, so this room knows the survey only here, when it is asked.
    from inspections.survey.basis import freeze_basis

    freeze_basis(visit)


def _lock(visit: Visit) -> Visit:
    return Visit.objects.select_for_update(of=("self",)).whole().get(pk=visit.pk)


def _must_be_the_inspector(visit: Visit, by: User) -> None:
    if visit.inspector_id != by.pk or not by.may(Capability.RECORD):
        raise NotYours(f"This is {visit.inspector.display_name}'s visit; only its own inspector writes its record.")
