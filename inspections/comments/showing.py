"""What a page needs to show comments at the place that they are about.

A place is named by a kind and a key: "finding" (with its photos), "part" (with its readings), "photo", "photos" (those
of a link without a finding; of every link, where the key is empty), "record".
"""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from inspections.comments.models import Comment
from inspections.comments.services import comments_of, may_answer, may_comment, may_read
from inspections.survey.deck import read_record
from inspections.survey.models import Part
from inspections.survey.typed import in_words
from inspections.survey.wording import KIND_WORDS, STOPS, fact_label
from inspections.visits.models import Visit


def comments_for(request: HttpRequest | None, visit: Visit) -> list[Comment]:
    """The comments of a record that this person may read. A blank form that a tablet takes along asks for nobody."""
    if request is None or not may_read(request.user, visit):
        return []
    return comments_of(visit)


def comments_at(comments: list[Comment], kind: str, key: str) -> list[Comment]:
    return [one for one in comments if _IS_AT[kind](one, key)]


def place(request: HttpRequest | None, visit: Visit, kind: str, key: str, *, write: bool) -> dict[str, Any]:
    """The comments of one place, and what this person may do about them."""
    return {
        "visit": visit,
        "comments": comments_at(comments_for(request, visit), kind, key),
        "at": f"{kind}-{key}" if key else kind,
        "write": write and request is not None and may_comment(request.user, visit),
        **rights(request, visit),
    }


def rights(request: HttpRequest | None, visit: Visit) -> dict[str, Any]:
    if request is None:
        return {"may_answer": False, "here": ""}
    return {
        "may_answer": may_answer(request.user, visit),
        "is_desk": may_comment(request.user, visit),
        "here": request.POST.get("next") or request.get_full_path(),
    }


def _is_about_a_loose_photo(one: Comment, link: str) -> bool:
    return bool(one.photo and not one.photo.finding_id and not one.is_taken_out and link in ("", one.photo.link))


_IS_AT = {
    "finding": lambda one, key: str(one.about_finding_id) == key,
    "part": lambda one, key: str(one.part_id) == key,
    "photo": lambda one, key: str(one.photo_id) == key,
    "photos": _is_about_a_loose_photo,
    "record": lambda one, key: one.is_taken_out or not (one.finding_id or one.photo_id or one.part_id),
}


@dataclass(frozen=True)
class Recorded:
    """A part as the desk reads it: what it is called, and (fact, value, how it was got) of each reading."""

    part: Part
    words: str
    readings: list[tuple[str, str, str]]


def recorded(visit: Visit) -> list[tuple[str, list[Recorded]]]:
    """All that was recorded, by the stops of the walk; stops without a part are left out."""
    record = read_record(visit)
    by_stop = [
        (stop.title, [_recorded(record, part) for kind in stop.kinds for part in record.of_kind(kind)])
        for stop in STOPS
    ]
    return [(title, parts) for title, parts in by_stop if parts]


def _recorded(record: Any, part: Part) -> Recorded:
    readings = []
    for fact in part.vocabulary.facts:
        reading = record.readings[part.key].get(fact.name)
        if reading is not None:
            value = "not reachable" if reading.value is None else in_words(fact, reading.value)
            readings.append((fact_label(part.kind, fact), value, reading.get_how_display().lower()))
    return Recorded(part, f"{KIND_WORDS[part.kind][0].capitalize()} {part.key}", readings)
