"""The pieces a report is read in: a photo, a finding, the standing of a link, an open point. All out of a snapshot."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from inspections.findings.models import Action
from inspections.reports.checks import FrozenCheck

LONG_LETTERS, LONG_PHOTOS = 1200, 4  # beyond either, a finding may go on on the next page


@dataclass(frozen=True)
class ReportPhoto:
    """A photo with its number in the report."""

    number: int
    data: Mapping[str, Any]

    @property
    def id(self) -> str:
        return self.data["id"]

    @property
    def words(self) -> str:
        """What a reader who cannot see it is told."""
        return self.data["caption"] or (
            f"Photo of the {self.data['link']}" if self.data["link"] else "Photo of the deck"
        )

    @property
    def marks(self) -> Mapping[str, Any]:
        """What is drawn on it; records frozen before photos could be drawn on have none."""
        return self.data.get("marks") or {}

    @property
    def caption(self) -> str:
        return self.data["caption"]

    @property
    def shape(self) -> str:
        return "upright" if self.data["height_px"] > self.data["width_px"] else "wide"

    def source(self, rendition: str) -> str:
        """The address under which `inspections.reports.fetcher` gives the frozen file; empty if there is none."""
        kept = self.data["files"].get(rendition)
        return f"soundings:media/{kept['sha256']}" if kept else ""

    @property
    def print_source(self) -> str:
        return self.source("printable")


@dataclass(frozen=True)
class ReportFinding:
    """A finding with its number, its photos, and the checks that bear on it."""

    number: int
    data: Mapping[str, Any]
    photos: tuple[ReportPhoto, ...]
    check: FrozenCheck | None
    beside: tuple[FrozenCheck, ...]
    due_on: date | None
    is_about: str = ""  # the key of the part it names, or of the only part it can mean
    is_overdue: bool = False  # its day, which counts from the visit, was over when the report was issued

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_") or name not in self.data:
            raise AttributeError(name)
        return self.data[name]

    @property
    def is_long(self) -> bool:
        """Too long to be kept on one page of print."""
        letters = sum(len(self.data[name]) for name in ("seen", "meaning", "remedy"))
        return letters > LONG_LETTERS or len(self.photos) > LONG_PHOTOS

    @property
    def is_repair(self) -> bool:
        return self.data["action"] != Action.SOUND

    def speaks_of(self, check: FrozenCheck) -> bool:
        """Whether a check is about the piece that this finding names."""
        if self.data["link"] != check.link:
            return False
        if self.data["check_id"] and self.data["check_id"] == check.id:
            return True
        return self.data["place"] == check.subject or check.is_about(self.is_about)

    @property
    def where(self) -> str:
        """Where it is, in as few words as will do."""
        part = self.data["part_name"] or self.data["part_key"]
        place = self.data["place"]
        if place and part and part not in place:
            return f"{place} ({part})"
        return place or part or self.data["link"]

    @property
    def how_soon(self) -> str:
        """ "Within two weeks, by December 9, 2026"; at once needs no date, and no date says so."""
        words = self.data["how_soon_words"]
        if self.due_on is None or self.data["how_soon"] == "at_once":
            return words
        by = f"by {self.due_on:%B} {self.due_on.day}, {self.due_on.year}"
        return f"At once now; it was due {by}" if self.is_overdue else f"{words}, {by}"

    @property
    def is_due_at_once(self) -> bool:
        return self.is_overdue or self.data["how_soon"] == "at_once"


@dataclass(frozen=True)
class Standing:
    """How one link of the load path stands: its checks, its findings."""

    link: str
    checks: tuple[FrozenCheck, ...]
    findings: tuple[ReportFinding, ...]
    part_count: int

    @property
    def name(self) -> str:
        return self.link.capitalize()

    @property
    def slug(self) -> str:
        return self.link.replace(" ", "-")

    @property
    def worst(self) -> FrozenCheck | None:
        return self.checks[0] if self.checks else None

    @property
    def gauge_check(self) -> FrozenCheck | None:
        """The worst check, if a gauge can be drawn of it."""
        return self.worst if self.worst and not self.worst.is_yes_or_no else None

    @property
    def shown_checks(self) -> tuple[FrozenCheck, ...]:
        """The worst answer to each question that is not simply fine: what a reader should see without unfolding."""
        first: dict[str, FrozenCheck] = {}
        for check in self.checks:
            if not check.holds:
                first.setdefault(check.id, check)
        return tuple(first.values())

    @property
    def further_checks(self) -> tuple[FrozenCheck, ...]:
        shown = {id(check) for check in self.shown_checks}
        return tuple(check for check in self.checks if id(check) not in shown)

    @property
    def is_recorded(self) -> bool:
        return bool(self.part_count or self.checks or self.findings)

    @property
    def state(self) -> str:
        """ "fails", "open", "holds" or "nothing": the graver of what was calculated and what was found."""
        actions = {finding.action for finding in self.findings}
        worst = self.worst
        if (worst and worst.fails and not worst.is_disputed) or actions & {"keep_off", "limit_use", "put_right"}:
            return "fails"
        if (worst and not worst.holds) or "find_out" in actions:
            return "open"
        return "holds" if self.checks or actions else "nothing"

    @property
    def words(self) -> str:
        """One line: what the worst check says, and how many findings hang here."""
        said = []
        if self.worst:
            failing = sum(check.fails and not check.is_disputed for check in self.checks)
            said.append(self.worst.standing if failing < 2 else f"{failing} checks fall short")
        elif not self.findings:
            said.append("recorded, not calculated" if self.part_count else "nothing recorded")
        if count := len(self.findings):
            said.append(f"{count} finding{'s' if count > 1 else ''}")
        return "; ".join(said)


@dataclass(frozen=True)
class OpenPoint:
    """Something that could not be judged or reached, why, and what would settle it."""

    what: str
    where: str
    why: str
    settles: tuple[str, ...]


@dataclass(frozen=True)
class CheckGroup:
    """One question that several pieces fail: the worst answer, and all the pieces in few words."""

    worst: FrozenCheck
    where: str
