"""Which chapters a document has, in their order: the whole report, or what a contractor or an engineer is handed."""

from collections.abc import Callable
from dataclasses import dataclass

from inspections.reports.digest import Digest


@dataclass(frozen=True)
class Chapter:
    """`anchor` is where its heading stands, `title` how the contents name it."""

    anchor: str
    title: str
    file: str

    @property
    def template(self) -> str:
        return f"inspections/reports/print/{self.file}.html"


_LOAD_PATH = Chapter("load-path", "How the deck stands, link by link", "_load_path")
_PLAN = Chapter("plan", "The deck from above", "_plan")
_CHANGES = Chapter("changes", "What changed since the version before", "_changes")
_SINCE = Chapter("since", "Since the last visit", "_since")
_FINDINGS = Chapter("findings", "What was found, most pressing first", "_findings")
_SHORT = Chapter("short", "Numbers that fall short beside these", "_short")
_SCHEDULE = Chapter("schedule", "Repair schedule, to hand out", "_schedule")
_REPAIR_PHOTOS = Chapter("repair-photos", "Photos of what is to be repaired", "_repair_photos")
_OPEN = Chapter("open", "What could not be judged", "_open")
_PHOTOS = Chapter("photos", "Further photos", "_photos")
_TERMS = Chapter("terms", "Words of the trade", "_terms")
_LIMITS = Chapter("limits", "Limits of this report, and signatures", "_signatures")
_RECORD = Chapter("record", "What was recorded", "_record")
_STEPS = Chapter("derivations", "Every check, step by step", "_derivations")

CHAPTERS: dict[str, tuple[Chapter, ...]] = {
    "full": (
        _LOAD_PATH, _PLAN, _CHANGES, _SINCE, _FINDINGS, _SHORT, _SCHEDULE, _OPEN, _PHOTOS, _TERMS, _LIMITS, _RECORD,
        _STEPS,
    ),
    "schedule": (_SCHEDULE, _PLAN, _REPAIR_PHOTOS, _TERMS, _LIMITS),
    "engineer": (
        _LOAD_PATH, _PLAN, _CHANGES, _SINCE, _FINDINGS, _SHORT, _SCHEDULE, _OPEN, _PHOTOS, _LIMITS, _RECORD, _STEPS,
    ),
}  # fmt: skip

_HAS: dict[Chapter, Callable[[Digest], object]] = {
    _SINCE: lambda digest: digest.snapshot.get("since_last"),
    _FINDINGS: lambda digest: digest.findings,
    _SHORT: lambda digest: digest.uncovered,
    _SCHEDULE: lambda digest: digest.repairs or digest.repair_groups,
    _REPAIR_PHOTOS: lambda digest: digest.repair_photos,
    _PHOTOS: lambda digest: digest.loose_photos,
}


def chapters_of(kind: str, digest: Digest, *, has_plan: bool, has_changes: bool = False) -> list[Chapter]:
    """The chapters for which there is something to say. Raises ValueError for a kind that does not exist."""
    if kind not in CHAPTERS:
        raise ValueError(f"{kind!r}: a document is one of {', '.join(CHAPTERS)}")
    said_from_outside = {_PLAN: has_plan, _CHANGES: has_changes}  # by what is no part of the record
    return [
        chapter
        for chapter in CHAPTERS[kind]
        if said_from_outside.get(chapter, True) and _HAS.get(chapter, lambda _: True)(digest)
    ]
