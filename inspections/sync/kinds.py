"""What can be done on a tablet, one function a kind, each through the service that the pages use too.

Each takes (asked, visit, by, seen) and returns what the tablet is told; `seen` is the version the entry was made from,
None to write over whatever stands.
"""

from collections.abc import Callable
from typing import NoReturn
from uuid import UUID

from inspections.findings.forms import FindingForm
from inspections.findings.models import Finding
from inspections.findings.services import record_finding, remove_finding
from inspections.findings.words import link_named
from inspections.photos.marks import digest_of, read_marks
from inspections.photos.models import Photo
from inspections.photos.services import PhotoAlreadyThere, describe_photo, mark_photo, take_in_photo
from inspections.survey.fasteners import ROWS, add_fasteners, answer_of_row
from inspections.survey.models import Part, Reading
from inspections.survey.services import (
    Changed,
    Unreadable,
    add_part,
    clear_reading,
    name_part,
    record_reading,
    remove_part,
    version_of,
)
from inspections.survey.sheets import shown
from inspections.survey.typed import in_words
from inspections.survey.wording import KIND_WORDS, fact_label
from inspections.sync.arriving import Incomplete, forget, whole_file
from inspections.sync.asked import Asked
from inspections.sync.models import SyncOperation
from inspections.visits.models import Visit


class Later(Exception):
    """It cannot be done yet: what it needs has not come in. The tablet keeps it and sends it again."""

    def __init__(self, words: str, **more: object) -> None:
        super().__init__(words)
        self.more = more


class Conflict(Exception):
    """What the entry was made from has changed meanwhile. `answer` holds both values in words."""

    def __init__(self, answer: dict[str, str]) -> None:
        super().__init__("changed meanwhile")
        self.answer = answer

    @classmethod
    def of_reading(cls, clash: Changed) -> "Conflict":
        theirs = clash.reading
        mine = clash.typed or ("not reachable" if clash.how == Reading.How.NOT_REACHABLE else "nothing")
        answer = {"mine": mine, "theirs": "nothing", "theirs_by": "", "theirs_at": ""}
        if theirs is not None:
            fact = theirs.part.vocabulary.index.get(theirs.fact)
            how, text = shown(fact, theirs) if fact else (theirs.how, theirs.typed)
            answer |= {
                "theirs": in_words(fact, theirs.value) if fact and theirs.value is not None else "not reachable",
                "theirs_by": theirs.by.display_name,
                "theirs_at": theirs.at.isoformat(),
                "their_version": version_of(theirs),
                "their_text": text,
                "their_how": how,
            }
        return cls(answer)


def _add_part(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    wanted, kind, part_id = asked.text("key"), asked.text("kind"), asked.id_of("part")
    # Another tablet may have given the short name away meanwhile: the part then gets the next one.
    key = wanted if wanted and not visit.parts.filter(key=wanted).exists() else None
    readings = {name: _reference(visit, typed) for name, typed in asked.texts("readings").items()}
    part = add_part(visit, kind, by=by, key=key, name=asked.text("name"), part_id=part_id, readings=readings)
    versions = {one.fact: version_of(one) for one in part.readings.all()}
    return {"part": str(part.pk), "key": part.key, "versions": versions}


def _record_reading(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    part, fact = _part(asked, visit), asked.text("fact")
    how = asked.text("how", default=Reading.How.MEASURED)
    typed = _reference(visit, asked.text("typed"))
    reading = record_reading(part, fact, typed, how=how, by=by, at=asked.at, seen=seen)
    return {"version": version_of(reading), "label": _label(part, fact)}


def _clear_reading(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    part = _part(asked, visit)
    clear_reading(part, asked.text("fact"), by=by, seen=seen)
    return {"version": "", "label": _label(part, asked.text("fact"))}


def _name_part(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    part, name = _part(asked, visit), asked.text("name")
    if seen is not None and part.name not in (seen, " ".join(name.split())):
        raise Conflict({"mine": name or "no name", "theirs": part.name or "no name", "their_version": part.name})
    name_part(part, name, by=by)
    return {"version": part.name}


def _remove_part(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    part = _part(asked, visit, standing=False)
    gone = remove_part(part, by=by) if part.removed_at is None else []
    return {"removed": [one.key for one in gone]}


def _add_fasteners(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    ledger, row = _part(asked, visit, "ledger"), asked.text("row")
    if row and row not in ROWS:
        raise Unreadable("Say which row: staggered, upper, lower or middle.")
    sent = asked.payload.get("parts")
    try:
        places = [(str(one["id"]), float(one["position_in"])) for one in sent]
    except (TypeError, KeyError, ValueError) as error:
        raise Unreadable("The places of the fasteners could not be read.") from error
    parts = add_fasteners(
        ledger, [place for _, place in places], by=by, facts=asked.texts("facts"), row=row,
        part_ids=[part_id for part_id, _ in places], at=asked.at,
    )  # fmt: skip
    return answer_of_row(parts)


def _record_finding(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    finding_id, fields = asked.id_of("finding"), asked.texts("fields")
    kept = Finding.objects.filter(pk=finding_id).first()
    if kept is not None and kept.visit_id != visit.pk:
        raise Unreadable("This finding belongs to another visit.")
    if kept is not None and kept.removed_at is not None:
        raise Unreadable("This finding was taken out of the record meanwhile.")
    if kept is not None and seen is not None and kept.changed_at.isoformat() != seen:
        mine = ", ".join(fields.get(name, "") for name in ("title", "place", "seen") if fields.get(name))
        theirs = ", ".join(filter(None, (kept.title, kept.place, kept.seen)))
        raise Conflict({"mine": mine, "theirs": theirs, "their_version": kept.changed_at.isoformat()})
    if (part := fields.get("part")) and not visit.parts.filter(pk=_uuid_or_none(part)).exists():
        _raise_if_refused(visit, part)
    kept = kept or Finding(pk=finding_id)
    kept.visit = visit
    form = FindingForm(fields, instance=kept, link=fields.get("link", ""))
    if not form.is_valid():
        raise Unreadable(" ".join(words for each in form.errors.values() for words in each))
    finding = record_finding(form.save(commit=False), by=by)
    return {"finding": str(finding.pk), "version": finding.changed_at.isoformat()}


def _remove_finding(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    finding = Finding.objects.filter(pk=asked.id_of("finding"), visit=visit).first()
    if finding is None:
        raise Later("The finding has not come in yet.")
    finding.visit = visit
    remove_finding(finding, by=by)
    return {}


def _add_photo(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    photo_id = asked.id_of("photo")
    if (kept := Photo.objects.filter(pk=photo_id).first()) is not None:
        if (kept.visit_id, kept.by_id) != (visit.pk, by.pk):
            raise Unreadable("Another photo has this number.")
        return {"photo": str(kept.pk)}
    finding = part = None
    if asked.text("finding"):
        finding = Finding.objects.filter(pk=asked.id_of("finding"), visit=visit).first()
        if finding is None:
            _raise_if_refused(visit, asked.text("finding"))
    if asked.text("part"):
        part = visit.parts.filter(pk=asked.id_of("part")).first()
        if part is None:
            _raise_if_refused(visit, asked.text("part"))
    try:
        with whole_file(photo_id, asked.text("name") or "photo.jpg", by=by) as upload:
            photo = take_in_photo(
                visit, upload, by=by, finding=finding, part=part, link=link_named(asked.text("link")),
                caption=asked.text("caption"), photo_id=photo_id,
            )  # fmt: skip
    except PhotoAlreadyThere as twin:
        photo = twin.photo
    except Incomplete as gap:
        raise Later("The photo has not come in whole yet.", received=gap.received) from gap
    forget(photo_id, by=by)
    return {"photo": str(photo.pk)}


def _describe_photo(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    describe_photo(_photo(asked, visit), asked.text("caption"), by=by)
    return {}


def _mark_photo(asked: Asked, visit: Visit, by, seen) -> dict[str, object]:
    photo = _photo(asked, visit)
    if not photo.is_ready and not photo.refused_because:
        raise Later("The photo is still being prepared.")
    if seen is not None and seen != digest_of(photo.marks):
        mine = _counted(len(read_marks(asked.text("marks"))))
        theirs = _counted(len(photo.marks.get("marks", [])))
        raise Conflict({"mine": mine, "theirs": theirs, "their_version": digest_of(photo.marks)})
    mark_photo(photo, asked.text("marks"), by=by)
    return {"version": digest_of(photo.marks)}


def _counted(marks: int) -> str:
    return f"{marks} mark{'' if marks == 1 else 's'}"


def _photo(asked: Asked, visit: Visit) -> Photo:
    """The photo that is meant. Raises Later while it has not come in, Unreadable where it never will."""
    photo_id = asked.id_of("photo")
    # One that was in the visit already was kept under the other's id.
    added = SyncOperation.objects.filter(visit=visit, kind="add_photo", payload__photo=str(photo_id)).first()
    kept_as = _uuid_or_none(str(added.answer.get("photo", ""))) if added else None
    photo = Photo.objects.filter(pk=kept_as or photo_id, visit=visit).first()
    if photo is None and added is not None and added.outcome == SyncOperation.Outcome.REFUSED:
        raise Unreadable("The photo that this belongs to was refused.")
    if photo is None:
        raise Later("The photo has not come in yet.")
    if photo.removed_at is not None:
        raise Unreadable("The photo was taken out of the record meanwhile.")
    photo.visit = visit
    return photo


DOES: dict[str, Callable[..., dict[str, object]]] = {
    "add_part": _add_part,
    "record_reading": _record_reading,
    "clear_reading": _clear_reading,
    "name_part": _name_part,
    "remove_part": _remove_part,
    "add_fasteners": _add_fasteners,
    "record_finding": _record_finding,
    "remove_finding": _remove_finding,
    "add_photo": _add_photo,
    "describe_photo": _describe_photo,
    "mark_photo": _mark_photo,
}


def _part(asked: Asked, visit: Visit, name: str = "part", *, standing: bool = True) -> Part:
    """The part that is meant. Raises Later while it has not come in, Unreadable where it never will."""
    part_id = asked.id_of(name)
    part = Part.objects.filter(pk=part_id).first()
    if part is None:
        _raise_if_refused(visit, str(part_id))
    if part.visit_id != visit.pk:
        raise Unreadable("This part belongs to another record.")
    if standing and part.removed_at is not None:
        raise Unreadable(f"{part.key} was taken out of the record meanwhile.")
    part.visit = visit
    return part


def _raise_if_refused(visit: Visit, of: str) -> NoReturn:
    """What an entry is about is not there: refused itself, then so is the entry; else it is on its way."""
    for name in ("part", "finding"):
        refused = SyncOperation.objects.filter(
            visit=visit, outcome=SyncOperation.Outcome.REFUSED, **{f"payload__{name}": of}
        )
        if refused.filter(kind__in=("add_part", "record_finding")).exists():
            raise Unreadable("What this belongs to was refused.")
    raise Later("What this belongs to has not come in yet.")


def _reference(visit: Visit, typed: str) -> str:
    """A part may be named by the id that the tablet gave it. Raises Later while that one has not come in."""
    part_id = _uuid_or_none(typed)
    if part_id is None:
        return typed
    part = Part.objects.filter(pk=part_id, visit=visit).first()
    if part is None:
        _raise_if_refused(visit, str(part_id))
    return part.key


def _uuid_or_none(text: str) -> UUID | None:
    try:
        return UUID(text) if len(text) == 36 else None
    except ValueError:
        return None


def _label(part: Part, fact_name: str) -> str:
    fact = part.vocabulary.index.get(fact_name)
    words = fact_label(part.kind, fact) if fact else fact_name
    return f"{words} of {KIND_WORDS[part.kind][0]} {part.key}"
