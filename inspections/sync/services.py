"""Taking over what was done on a tablet without signal: in order, each once, and never over another's value."""

import logging
from dataclasses import dataclass, field

from django.db import transaction
from django.utils import timezone

from firm import audit
from inspections.photos.services import PhotoRefused
from inspections.survey.services import Changed, RecordClosed, Unreadable
from inspections.sync.arriving import DAMAGED, forget
from inspections.sync.asked import Asked, storable
from inspections.sync.kinds import DOES, Conflict, Later
from inspections.sync.models import SyncOperation
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused

log = logging.getLogger(__name__)
_REFUSALS = (Unreadable, RecordClosed, Refused)
Outcome = SyncOperation.Outcome


@dataclass
class Answer:
    """What became of one operation. `later`: it is not kept here yet, and the tablet sends it again."""

    id: str
    outcome: str
    words: str = ""
    more: dict[str, object] = field(default_factory=dict)

    def as_json(self) -> dict[str, object]:
        return {**self.more, "id": self.id, "outcome": self.outcome, "words": self.words}


def apply_operation(asked: Asked, *, by) -> Answer:
    """Do what the tablet asks, or say why not. The same operation again gets the same answer. Never raises."""
    try:
        return _apply(asked, by)
    except Later as wait:
        if wait.more.get("received") == DAMAGED:
            forget(asked.id_of("photo"), by=by)
        return Answer(str(asked.id), "later", str(wait), wait.more)
    except Exception:  # a fault of ours must not cost the entries behind it; the tablet keeps this one
        log.exception("operation %s could not be applied", asked.id)
        return Answer(str(asked.id), "later", "The server could not take this yet.")


@transaction.atomic
def _apply(asked: Asked, by) -> Answer:
    # Locked before the look whether it is known: the same operation may come in twice at the same moment.
    visible = Visit.objects.visible_to(by).filter(pk=asked.visit_id).values_list("pk", flat=True)
    visit = Visit.objects.select_for_update(of=("self",)).whole().filter(pk__in=list(visible)).first()
    known = SyncOperation.objects.filter(pk=asked.id).first()
    if known is not None:
        if known.by_id != by.pk:
            return Answer(str(asked.id), Outcome.REFUSED, "Another person's entry has this number.")
        return _answer_of(known)
    operation = SyncOperation(
        id=asked.id, by=by, visit=visit, kind=asked.kind, payload=storable(dict(asked.payload)), follows=asked.follows,
        made_at=asked.made_at, skew_s=asked.skew_s,
    )  # fmt: skip
    try:
        if visit is None:
            raise Refused("There is no such visit for you.")
        do = DOES.get(asked.kind)
        if do is None:
            raise Unreadable("This kind of entry is not known here.")
        seen = _seen(asked, by)  # what it settles stands even where this one is a conflict again
        with transaction.atomic():
            operation.answer = do(asked, visit, by, seen)
        operation.outcome = Outcome.APPLIED
    except (Conflict, Changed) as clash:
        both = clash if isinstance(clash, Conflict) else Conflict.of_reading(clash)
        operation.outcome = Outcome.CONFLICT
        operation.answer = {**both.answer, "words": "This was changed meanwhile. Both values are kept."}
    except PhotoRefused as refusal:
        operation.outcome, operation.answer = Outcome.REFUSED, {"words": refusal.reason}
    except _REFUSALS as refusal:
        operation.outcome, operation.answer = Outcome.REFUSED, {"words": str(refusal)}
    operation.save(force_insert=True)
    if operation.outcome != Outcome.APPLIED:
        audit.record(by, f"sent from a tablet, {operation.outcome}", operation, after={"payload": operation.payload})
    return _answer_of(operation)


def _answer_of(operation: SyncOperation) -> Answer:
    more = {name: value for name, value in operation.answer.items() if name != "words"}
    return Answer(str(operation.pk), operation.outcome, operation.answer.get("words", ""), more)


def _seen(asked: Asked, by) -> str | None:
    """The version that the entry was made from: what the tablet saw, or what its own entry before made of it.

    Raises Later where that one has not come in yet: entries are never applied out of their order.
    """
    seen = asked.payload.get("seen")
    version = seen if isinstance(seen, str) else None
    follows = asked.follows
    for _ in range(500):
        if follows is None:
            return version
        before = SyncOperation.objects.filter(pk=follows, by=by).first()
        if before is None:
            raise Later("An entry before this one has not come in yet.")
        if before.outcome == Outcome.APPLIED or before.settled_how in ("mine", "theirs"):
            made = _version_made(before, str(asked.payload.get("fact", "")))
            return made if isinstance(made, str) else None
        if before.outcome == Outcome.CONFLICT and before.settled_at is None:
            # The inspector has typed over it since: what is to be chosen is the newer one.
            before.settled_at, before.settled_how = timezone.now(), "overtaken"
            before.save(update_fields=["settled_at", "settled_how"])
        seen = before.payload.get("seen")
        version = seen if isinstance(seen, str) else None
        follows = before.follows
    raise Later("Too many entries follow one another.")


def _version_made(before: SyncOperation, fact: str) -> object:
    """What the entry before made of a fact; one that added the part told some of its facts and left the others."""
    if before.kind == "add_part":
        return before.answer.get("versions", {}).get(fact, "")
    if before.kind == "add_fasteners":
        told = {"ledger", "position_in", "row" if before.payload.get("row") else ""}
        told |= {name for name, typed in before.payload.get("facts", {}).items() if typed}
        return before.answer.get("version") if fact in told else ""
    return before.answer.get("version")


def to_settle(user):
    """What this person's tablets sent and what is not settled: conflicts to choose in, refusals to read."""
    return (
        SyncOperation.objects.filter(by=user, settled_at=None)
        .exclude(outcome=Outcome.APPLIED)
        .select_related("visit__property", "visit__client")
    )


@transaction.atomic
def settle(operation: SyncOperation, how: str, *, by) -> str:
    """Deal with a conflict ("mine" or "theirs") or put a refusal away ("read"). Returns a problem in words, or "".

    "mine" writes the value of the tablet over what stands; nothing happens the second time.
    """
    operation = SyncOperation.objects.select_for_update(of=("self",)).select_related("visit").get(pk=operation.pk)
    if operation.settled_at is not None:
        return ""
    if operation.outcome == Outcome.CONFLICT and how == "mine":
        again = Asked(
            operation.pk, operation.kind, operation.visit_id, operation.payload, None, operation.made_at,
            timezone.now(), operation.skew_s,
        )  # fmt: skip
        try:
            with transaction.atomic():
                made = DOES[operation.kind](again, operation.visit, by, None)
        except (*_REFUSALS, Later) as refusal:
            return str(refusal)
        operation.answer = {**operation.answer, **made}
    elif operation.outcome == Outcome.CONFLICT and how == "theirs":
        operation.answer = {**operation.answer, "version": operation.answer.get("their_version", "")}
    elif operation.outcome == Outcome.REFUSED and how == "read":
        pass
    else:
        return "Choose one of the two."
    operation.settled_at, operation.settled_how = timezone.now(), how
    operation.save(update_fields=["answer", "settled_at", "settled_how"])
    audit.record(by, f"settled, {how}", operation)
    return ""
