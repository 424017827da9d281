"""Writing and taking back findings. Every rule of a finding is here; the database holds the last line."""

from itertools import count

from django.db import transaction
from django.db.models import Case, IntegerField, Prefetch, QuerySet, Value, When
from django.utils import timezone
from django.utils.text import slugify

from firm import audit
from inspections.findings.models import Action, Defect, Finding
from inspections.findings.proposals import propose_from_check
from inspections.photos.models import Photo
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused
from inspections.visits.stages import begin

__all__ = [
    "HowSoonIsMissing",
    "by_urgency",
    "fill_from_catalogue",
    "open_findings",
    "propose_from_check",
    "record_finding",
    "remove_finding",
    "save_defect",
]

NEEDS_HOW_SOON = (Action.KEEP_OFF, Action.PUT_RIGHT)
_AUDITED = ("link", "title", "place", "seen", "meaning", "remedy", "action", "how_soon", "who")
_WRITTEN = (*_AUDITED, "part", "defect", "check_id")


class HowSoonIsMissing(Refused):
    """A finding that must be repaired, or that closes the deck, was to be kept without a time."""

    def __init__(self) -> None:
        super().__init__("Say how soon: Keep off and Put right need a time.")


@transaction.atomic
def record_finding(finding: Finding, *, by) -> Finding:
    """Keep a new or changed finding; the first one begins a booked visit, as a first reading does.

    What was left empty is filled from the catalogue entry, if one is chosen. Raises HowSoonIsMissing when a repair has
    no time; NotYours and WrongState (inspections.visits.refusals) when this person may not write to this record now.
    """
    visit = begin(finding.visit, by=by)
    fill_from_catalogue(finding)
    if finding.action in NEEDS_HOW_SOON and finding.how_soon == Finding.HowSoon.NO_DATE:
        raise HowSoonIsMissing
    kept = Finding.objects.filter(pk=finding.pk).first()
    if kept is None:
        finding.by = by
        finding.visit = visit
        finding.save()
        audit.record(by, "recorded", finding, after={"visit": visit.pk, **_without_empty(_audited(finding))})
        return finding
    if kept.visit_id != visit.pk:
        raise Refused("This finding belongs to another visit.")
    before = _audited(kept)
    if finding._state.adding:  # sent a second time by a tablet that made the id: the row is there already
        for name in _WRITTEN:
            setattr(kept, name, getattr(finding, name))
        finding = kept
    finding.save()
    after = _audited(finding)
    if changed := [name for name in _AUDITED if before[name] != after[name]]:
        audit.record(
            by, "changed", finding, {name: before[name] for name in changed}, {name: after[name] for name in changed}
        )
    return finding


@transaction.atomic
def remove_finding(finding: Finding, *, by) -> None:
    """Take a finding out of the record. The row stays, with its photos; nothing happens the second time.

    Raises NotYours and WrongState, as record_finding does.
    """
    begin(finding.visit, by=by)
    now = timezone.now()
    if Finding.objects.filter(pk=finding.pk, removed_at__isnull=True).update(removed_at=now):
        finding.removed_at = now
        audit.record(by, "removed", finding)


def open_findings(visit: Visit) -> QuerySet[Finding]:
    """The findings that stand, the most pressing first; within one action word the nearest in time first.

    Each carries its photos as `shown_photos`, so that a list of them asks the database no more than a single one.
    """
    standing = Finding.objects.filter(visit=visit, removed_at__isnull=True)
    photos = Prefetch("photos", Photo.objects.standing(), to_attr="shown_photos")
    return by_urgency(standing).select_related("part", "defect").prefetch_related(photos)


def by_urgency(findings: QuerySet[Finding]) -> QuerySet[Finding]:
    """Ordered as the words are: keep off first, sound last."""
    return findings.alias(
        _pressing=_place_of("action", Action.values), _soon=_place_of("how_soon", Finding.HowSoon.values)
    ).order_by("_pressing", "_soon", "created_at", "pk")


def fill_from_catalogue(finding: Finding) -> None:
    """Put the catalogue's words where the inspector wrote none. The action word is always the inspector's own."""
    defect = finding.defect
    if defect is None:
        return
    finding.title = finding.title or defect.title
    finding.meaning = finding.meaning or defect.meaning
    finding.remedy = finding.remedy or defect.remedy
    finding.link = finding.link or defect.link


@transaction.atomic
def save_defect(defect: Defect, *, by) -> Defect:
    """Keep a changed or new entry of the catalogue. Findings already recorded keep the words they were given."""
    names = ("link", "title", "meaning", "remedy", "citation", "action", "is_offered")
    before = Defect.objects.filter(pk=defect.pk).values(*names).first() if defect.pk else None
    defect.slug = defect.slug or _free_slug(defect.title)
    defect.save()
    after = {name: getattr(defect, name) for name in names}
    if before is None:
        audit.record(by, "added", defect, after=_without_empty(after))
    elif changed := [name for name in names if before[name] != after[name]]:
        audit.record(
            by, "changed", defect, {name: before[name] for name in changed}, {name: after[name] for name in changed}
        )
    return defect


def _free_slug(title: str) -> str:
    base = slugify(title)[:50] or "defect"
    taken = set(Defect.objects.filter(slug__startswith=base).values_list("slug", flat=True))
    return next(slug for n in count(1) if (slug := base if n == 1 else f"{base}-{n}") not in taken)


def _place_of(field: str, values: list[str]) -> Case:
    whens = [When(**{field: value}, then=Value(place)) for place, value in enumerate(values)]
    return Case(*whens, default=Value(len(values)), output_field=IntegerField())


def _audited(finding: Finding) -> dict:
    return {name: getattr(finding, name) for name in _AUDITED}


def _without_empty(values: dict) -> dict:
    return {name: value for name, value in values.items() if value not in ("", None)}
