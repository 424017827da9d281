"""The frozen record of a visit: plain JSON, complete enough to draw the report again without the database.

Nothing here says when or by whom it was issued: two snapshots of an unchanged record are
equal, and so are their hashes.
"""

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC
from typing import Any

from engine import CAUTION
from engine.checks.registry import questions
from engine.tables import load
from engine.vocabulary import BY_NAME
from firm.branding.models import Firm
from inspections.findings.models import Finding
from inspections.findings.remedies import remedies_of_deck
from inspections.photos.models import Photo
from inspections.reports.media import keep_file
from inspections.survey.models import Part
from inspections.visits.models import Visit

FORMAT = "soundings record 1"
RENDITIONS = ("thumb", "screen", "printable")
PROPERTY_FIELDS = ("street", "town", "county", "region", "postcode", "year_built", "deck_year_built", "deck_builder")
FIRM_FIELDS = (
    "name", "strapline", "licence_line", "address", "phone", "email", "ink_colour", "accent_colour", "paper", "units",
)  # fmt: skip


def freeze(visit: Visit, kept: Mapping[str, dict[str, Any]] | None = None) -> dict[str, Any]:
    """The whole record of a visit as it stands now.

    `kept` holds, for each photo's id, the frozen copies of its renditions (see `keep_photos`); without it the record
    is a draft whose photos have no files of their own yet. Raises DeckFaults if the record contradicts itself.
    """
    from inspections.survey.basis import rules_applied
    from inspections.survey.deck import assess_visit, deck_json

    firm, rules, deck = Firm.current(), rules_applied(visit), deck_json(visit)
    snapshot: dict[str, Any] = {
        "format": FORMAT,
        "firm": {
            **_fields(firm, FIRM_FIELDS),
            "logo": keep_file(firm.logo) if firm.logo and kept is not None else None,
        },
        "client": _fields(visit.client, ("name", "email", "phone")),
        "property": {**_fields(visit.property, PROPERTY_FIELDS), "one_line": visit.property.one_line},
        "basis": rules,
        "visit": _visit(visit),
        "inspector": {
            "name": visit.inspector.display_name,
            "licence_line": visit.inspector.licence_line,
            "phone": visit.inspector.phone,
        },
        "parts": [_part(part) for part in _parts(visit)],
        "deck": deck,
        "assessment": assess_visit(visit).to_dict(),
        "remedies": remedies_of_deck(deck),
        "witnesses": witnesses(),
        "tables": _tables(rules["edition"]),
        "findings": [_finding(finding) for finding in _findings(visit)],
        "photos": [_photo(photo, (kept or {}).get(str(photo.pk))) for photo in photos_of(visit)],
        "cautions": [CAUTION, *(text for text in (firm.cautions.strip(),) if text)],
    }
    return snapshot | {"since_last": _since_last(visit, snapshot)}


def keep_photos(visit: Visit, before: Mapping[str, dict[str, Any]] | None = None) -> dict[str, dict[str, Any]]:
    """Frozen copies of every rendition of the visit's photos, by photo id; those in `before` are not copied again."""
    kept = dict(before or {})
    for photo in photos_of(visit):
        if str(photo.pk) not in kept:
            files = {name: getattr(photo, name) for name in RENDITIONS}
            kept[str(photo.pk)] = {name: keep_file(file) for name, file in files.items() if file}
    return kept


def photos_of(visit: Visit) -> list[Photo]:
    """The photos that go into the report: neither removed nor refused."""
    return list(visit.photos.filter(removed_at__isnull=True, refused_because=""))


def as_text(snapshot: Mapping[str, Any]) -> str:
    """The snapshot as one canonical text: sorted names, no spaces, so that equal records give equal hashes."""
    return json.dumps(snapshot, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def sha256_of(snapshot: Mapping[str, Any]) -> str:
    return hashlib.sha256(as_text(snapshot).encode()).hexdigest()


def _fields(row: Any, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: _plain(getattr(row, name)) for name in names}


def _plain(value: Any) -> Any:
    """Decimals as numbers, moments as UTC text; what JSON has stays as it is."""
    if value is None or isinstance(value, (str, bool, int, float, list, dict)):
        return value
    if hasattr(value, "isoformat"):
        return _moment(value)
    return float(value)


def _moment(at: Any) -> str | None:
    return None if at is None else at.astimezone(UTC).isoformat(timespec="seconds")


def _visit(visit: Visit) -> dict[str, Any]:
    return {
        "id": visit.pk,
        "purpose": visit.purpose,
        "purpose_words": visit.get_purpose_display(),
        "starts_at": _moment(visit.starts_at),
        "begun_at": _moment(visit.begun_at),
        "handed_in_at": _moment(visit.handed_in_at),
        "summary": visit.summary,
        "follows": visit.follows_id,
    }


def _since_last(visit: Visit, snapshot: Mapping[str, Any]) -> dict[str, Any] | None:
    """This visit beside the newest report of the one it follows; None where there is none."""
    from inspections.reports.models import Report
    from inspections.reports.since_last import since_last

    earlier = Report.objects.filter(visit=visit.follows_id).order_by("-version").first() if visit.follows_id else None
    if earlier is None:
        return None
    began = earlier.snapshot["visit"]["begun_at"] or earlier.snapshot["visit"]["starts_at"]
    return {"number": earlier.number, "visited_at": began, "items": since_last(earlier.snapshot, snapshot)}


def _parts(visit: Visit) -> Any:
    return Part.objects.filter(visit=visit, removed_at__isnull=True).prefetch_related("readings__by")


def _part(part: Part) -> dict[str, Any]:
    kind = BY_NAME[part.kind]
    order = {fact.name: place for place, fact in enumerate(kind.facts)}
    readings = sorted(part.readings.all(), key=lambda reading: order.get(reading.fact, len(order)))
    return {
        "id": str(part.pk),
        "kind": part.kind,
        "kind_words": part.kind.replace("_", " "),
        "key": part.key,
        "name": part.name,
        "link": str(kind.link),
        "readings": [_reading(reading, kind) for reading in readings],
    }


def _reading(reading: Any, kind: Any) -> dict[str, Any]:
    fact = kind.index.get(reading.fact)
    return {
        "fact": reading.fact,
        "meaning": fact.meaning if fact else "",
        "kind": fact.kind if fact else "text",
        "unit": fact.unit if fact else "",
        "link": str((fact.link if fact else None) or kind.link),
        "value": reading.value,
        "typed": reading.typed,
        "how": reading.how,
        "how_words": reading.get_how_display(),
        "by": reading.by.display_name,
        "at": _moment(reading.at),
    }


def _findings(visit: Visit) -> Any:
    rows = Finding.objects.filter(visit=visit, removed_at__isnull=True)
    return rows.select_related("part", "defect", "by").order_by("created_at", "pk")


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "id": str(finding.pk),
        "link": finding.link,
        "part": str(finding.part_id) if finding.part_id else None,
        "part_key": finding.part.key if finding.part else "",
        "part_name": finding.part.name if finding.part else "",
        "defect": finding.defect.slug if finding.defect else "",
        "citation": finding.defect.citation if finding.defect else "",
        "check_id": finding.check_id or (finding.defect.check_id if finding.defect else ""),
        "title": finding.title,
        "place": finding.place,
        "seen": finding.seen,
        "meaning": finding.meaning,
        "remedy": finding.remedy,
        "action": finding.action,
        "action_words": finding.get_action_display(),
        "how_soon": finding.how_soon,
        "how_soon_words": finding.get_how_soon_display(),
        "who": finding.who,
        "who_words": finding.get_who_display(),
        "by": finding.by.display_name,
    }


def _photo(photo: Photo, files: dict[str, Any] | None) -> dict[str, Any]:
    return {
        "id": str(photo.pk),
        "finding": str(photo.finding_id) if photo.finding_id else None,
        "part": str(photo.part_id) if photo.part_id else None,
        "link": photo.link,
        "caption": photo.caption,
        "sha256": photo.sha256,
        "width_px": photo.width_px,
        "height_px": photo.height_px,
        "marks": photo.marks,
        "taken_in_at": _moment(photo.created_at),
        "files": files or {},
    }


def witnesses() -> dict[str, dict[str, Any]]:
    """Which checks answer one question by calculation and by a published rule, and why the two may differ."""
    found: dict[str, dict[str, Any]] = {}
    for question in questions():
        if question.twin:
            found[question.id] = {"twins": [question.twin], "why_apart": question.why_apart}
            other = found.setdefault(question.twin, {"twins": [], "why_apart": question.why_apart})
            other["twins"].append(question.id)
    return found


def _tables(edition: str) -> list[dict[str, str]]:
    """Which question the edition answers from which published table, with that table's own source line."""
    found = []
    for row in load("editions").rows:
        if row["edition"] == edition:
            table = load(str(row["table"]))
            found.append(
                {
                    "question": str(row["question"]).replace("_", " "),
                    "citation": str(row["citation"]),
                    "title": table.title,
                    "source": table.source,
                    "edition": table.edition,
                    "read": table.read,
                }
            )
    return found
