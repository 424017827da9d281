"""What one does to the record of a deck: add a part, record a reading, clear it, name a part, remove it."""

import re
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from engine.vocabulary import BY_NAME
from firm import audit
from inspections.survey.keys import next_key
from inspections.survey.models import Part, Reading
from inspections.survey.typed import LONGEST_TYPED, Target, Unreadable, in_field, read
from inspections.visits.models import Visit
from inspections.visits.refusals import NotYours

__all__ = [
    "Changed",
    "NotYours",
    "RecordClosed",
    "Unreadable",
    "add_part",
    "clear_reading",
    "copy_readings",
    "name_part",
    "record_reading",
    "remove_part",
    "version_of",
]

MOST_PARTS = 1500  # in one visit: a hundred times an ordinary deck, and still quick to judge
_NAME_LENGTH = 60
_KEY = re.compile(r"[A-Za-z0-9_-]{1,12}")


class RecordClosed(Exception):
    """The visit has been handed in, released or called off: its record is not written any more."""


class Changed(Exception):
    """Somebody changed the reading since the page was drawn; `reading` is what stands there now (None: cleared)."""

    def __init__(self, reading: Reading | None, typed: str, how: str) -> None:
        super().__init__("changed meanwhile")
        self.reading, self.typed, self.how = reading, typed, how


def version_of(reading: Reading | None) -> str:
    """What a form carries to say which reading it was drawn from; empty for none."""
    return reading.at.isoformat() if reading else ""


@transaction.atomic
def add_part(
    visit: Visit,
    kind: str,
    *,
    by,
    key: str | None = None,
    name: str = "",
    part_id: UUID | str | None = None,
    readings: dict[str, str] | None = None,
    how: str = Reading.How.MEASURED,
) -> Part:
    """Add a part with its first readings (fact name -> as typed). The same `part_id` again gives the part there is.

    A reference to what there is only one of (the level, the one beam) is filled in. Raises RecordClosed, Unreadable
    (also for a kind, key or fact that does not exist).
    """
    if kind not in BY_NAME:
        raise Unreadable("There is no such kind of part.")
    visit = open_for_writing(visit, by)
    if part_id is not None and (there := Part.objects.filter(pk=_uuid(part_id)).first()) is not None:
        if there.visit_id != visit.pk or there.kind != kind:
            raise Unreadable("This part belongs to another record.")
        return there
    taken = list(visit.parts.values_list("key", flat=True))
    if len(taken) >= MOST_PARTS:
        raise Unreadable(f"A record takes {MOST_PARTS} parts at most.")
    if key is None:
        key = next_key(kind, taken)
    elif not _KEY.fullmatch(key) or key in ("unknown", "basis") or key in taken:
        raise Unreadable(f"The short name {key[:12]} is taken or cannot be one.")
    part = Part(visit=visit, kind=kind, key=key, name=_clean_name(name))
    if part_id is not None:
        part.id = _uuid(part_id)
    part.save(force_insert=True)
    audit.record(by, "added", part, after={"kind": kind, "key": key, "name": part.name})
    given = dict(readings or {})
    for fact_name, only in _only_references(visit, part).items():
        given.setdefault(fact_name, only)
    for fact_name, typed in given.items():
        if typed:
            _write(visit, part, fact_name, typed, how, by, timezone.now())
    begin_visit(visit, by)
    return part


@transaction.atomic
def record_reading(
    part: Part,
    fact_name: str,
    typed: str,
    *,
    how: str = Reading.How.MEASURED,
    by,
    at: datetime | None = None,
    seen: str | None = None,
) -> Reading:
    """Keep one fact of one part with its story. The first reading begins a booked visit.

    `seen` is the `version_of` the reading the writer had before them; None does not ask. `at` is when it was read, for
    what was entered without signal; never later than now. Raises Unreadable, RecordClosed, and Changed if another
    wrote this fact meanwhile something else.
    """
    visit = open_for_writing(part.visit, by)
    now = timezone.now()
    _refuse_if_changed(part, fact_name, typed, how, seen)
    reading = _write(visit, part, fact_name, typed, how, by, min(at, now) if at else now)
    begin_visit(visit, by)
    return reading


@transaction.atomic
def clear_reading(part: Part, fact_name: str, *, by, seen: str | None = None) -> None:
    """Take a reading back: as if nobody had written it down. Raises RecordClosed, Changed."""
    open_for_writing(part.visit, by)
    _refuse_if_changed(part, fact_name, "", "", seen)
    there = part.readings.filter(fact=fact_name).first()
    if there is None:
        return
    before = {fact_name: there.value, "how": there.how}
    there.delete()
    audit.record(by, "cleared a reading of", part, before, {fact_name: None})


@transaction.atomic
def name_part(part: Part, name: str, *, by) -> Part:
    """Say what people call the part. Raises RecordClosed, Unreadable."""
    open_for_writing(part.visit, by)
    new = _clean_name(name)
    if new != part.name:
        before = {"name": part.name}
        part.name = new
        part.save(update_fields=["name"])
        audit.record(by, "named", part, before, {"name": new})
    return part


@transaction.atomic
def remove_part(part: Part, *, by) -> list[Part]:
    """Take a part out of the record, with what cannot be without it (the fasteners of a ledger, the posts of a beam).

    References of other parts to it are cleared. Returns all the parts that were removed. Raises RecordClosed.
    """
    visit = open_for_writing(part.visit, by)
    standing = list(visit.parts.filter(removed_at__isnull=True).prefetch_related("readings"))
    gone = parts_that_fall(part, standing)
    keys = {one.key for one in gone}
    now = timezone.now()
    for one in standing:
        if one.key in keys:
            one.removed_at = now
            one.save(update_fields=["removed_at"])
            audit.record(by, "removed", one, after={"because_of": part.key} if one.pk != part.pk else None)
            continue
        for reading in one.readings.all():
            fact = one.vocabulary.index.get(reading.fact)
            if fact and fact.kind == "reference" and reading.value in keys:
                audit.record(by, "cleared a reading of", one, {reading.fact: reading.value}, {reading.fact: None})
                reading.delete()
    part.removed_at = part.removed_at or now
    return [one for one in standing if one.key in keys]


@transaction.atomic
def copy_readings(part: Part, source: Part, *, by) -> list[Reading]:
    """Give `part` the readings of a sibling that it has none of itself; how they were got is copied, too.

    Not copied: where a part stands and what it belongs to, which are its own. Raises RecordClosed, and ValueError for
    a part of another kind or visit.
    """
    if part.kind != source.kind or part.visit_id != source.visit_id:
        raise ValueError("only a sibling can be copied")
    visit = open_for_writing(part.visit, by)
    own = set(part.readings.values_list("fact", flat=True))
    copied = []
    for reading in source.readings.all():
        fact = part.vocabulary.index.get(reading.fact)
        if fact is None or reading.fact in own or fact.name == "position_in" or fact.kind == "reference":
            continue
        copied.append(
            Reading.objects.create(
                part=part, fact=fact.name, value=reading.value, typed=reading.typed, how=reading.how,
                by=by, at=timezone.now(),
            )
        )  # fmt: skip
    if copied:
        values = {one.fact: one.value for one in copied}
        audit.record(by, "copied readings to", part, after={"from": source.key, **values})
        begin_visit(visit, by)
    return copied


def open_for_writing(visit: Visit, by) -> Visit:
    """The visit, locked until the end of the transaction: two tablets must not take one key.

    Raises RecordClosed, and NotYours unless `by` is its inspector.
    """
    visit = Visit.objects.select_for_update().get(pk=visit.pk)
    if visit.inspector_id != by.pk:
        raise NotYours("Only the visit's own inspector writes its record.")
    if not visit.is_open_for_record:
        raise RecordClosed(f"This record is closed: the visit is {visit.get_state_display().lower()}.")
    return visit


def begin_visit(visit: Visit, by) -> None:
    if visit.state == Visit.State.BOOKED:
        from inspections.visits.services import begin  # a record begins its visit, a visit does not know its record

        begin(visit, by=by)


def _write(visit: Visit, part: Part, fact_name: str, typed: str, how: str, by, at: datetime) -> Reading:
    fact = part.vocabulary.index.get(fact_name)
    if fact is None:
        raise Unreadable("This is not kept of such a part.")
    if how not in Reading.How.values:
        raise Unreadable("Say how it was got: measured, from papers, assumed or not reachable.")
    if how == Reading.How.NOT_REACHABLE:
        if fact.kind == "reference":
            raise Unreadable("Which part belongs to which can be told: choose one, or leave it open.")
        value, typed = None, ""
    else:
        targets = _targets(visit) if fact.kind == "reference" else ()
        value = read(fact, typed, targets)
        if fact.kind == "reference" and value == part.key:
            raise Unreadable("A part cannot belong to itself.")
    before = part.readings.filter(fact=fact_name).first()
    kept = " ".join(typed.split())[:LONGEST_TYPED]
    reading, _ = Reading.objects.update_or_create(
        part=part, fact=fact_name, defaults={"value": value, "typed": kept, "how": how, "by": by, "at": at}
    )
    was = {fact_name: before.value, "how": before.how} if before else None
    audit.record(by, "recorded", part, was, {fact_name: value, "how": how})
    return reading


def _refuse_if_changed(part: Part, fact_name: str, typed: str, how: str, seen: str | None) -> None:
    if seen is None:
        return
    now = part.readings.select_related("by").filter(fact=fact_name).first()
    if version_of(now) == seen:
        return
    fact = part.vocabulary.index.get(fact_name)
    if now and fact and (now.how, in_field(fact, now.value, now.typed)) == (how, typed):
        return  # both wrote the same
    raise Changed(now, typed, how)


def _targets(visit: Visit) -> list[Target]:
    parts = visit.parts.filter(removed_at__isnull=True).exclude(kind="fastener")
    return [Target(part.key, str(part.pk), part.kind, part.name) for part in parts]


def _only_references(visit: Visit, part: Part) -> dict[str, str]:
    """What a new part can only belong to: the one level, or the one part that it cannot be without."""
    found = {}
    facts = [
        fact for fact in part.vocabulary.facts if fact.kind == "reference" and (fact.required or fact.name == "level")
    ]
    targets = _targets(visit) if facts else []
    for fact in facts:
        keys = [target.key for target in targets if target.kind == fact.refers_to]
        if len(keys) == 1:
            found[fact.name] = keys[0]
    return found


def parts_that_fall(part: Part, standing: list[Part]) -> list[Part]:
    """The part, and all of `standing` that cannot be without it, directly or not."""
    gone = {part.key: part}
    grew = True
    while grew:
        grew = False
        for one in standing:
            if one.key in gone:
                continue
            needed = {fact.name for fact in one.vocabulary.facts if fact.kind == "reference" and fact.required}
            if any(reading.fact in needed and reading.value in gone for reading in one.readings.all()):
                gone[one.key] = one
                grew = True
    return list(gone.values())


def _clean_name(name: str) -> str:
    text = " ".join(name.split())
    if not text.isprintable():
        raise Unreadable("There are characters in the name that cannot be read.")
    if len(text) > _NAME_LENGTH:
        raise Unreadable(f"A name takes {_NAME_LENGTH} characters at most.")
    return text


def _uuid(part_id: UUID | str) -> UUID:
    try:
        return part_id if isinstance(part_id, UUID) else UUID(str(part_id))
    except ValueError as error:
        raise Unreadable("The id of the part is none.") from error
