"""What the report says, worked out from a snapshot alone: release desk, PDF and client's page all read this.

A digest is a view of frozen data. It asks neither the database nor the clock.
"""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from django.utils import timezone

from engine.vocabulary import Link
from inspections.findings.models import Action, Finding
from inspections.reports.checks import FrozenCheck, with_twins, worst_first
from inspections.reports.derivations import Derivation, derivations_of
from inspections.reports.pieces import CheckGroup, OpenPoint, ReportFinding, ReportPhoto, Standing
from inspections.reports.record_tables import RecordTable, record_tables
from inspections.reports.repairs import RepairGroup, repair_groups
from inspections.reports.subjects import alike_as_one, in_few_words, shape_of
from inspections.reports.templatetags.report_words import day

_DAYS = {"at_once": 0, "two_weeks": 14, "three_months": 91, "one_year": 365}
_URGENCY = {word: place for place, word in enumerate(Action.values)}
_SOON = {word: place for place, word in enumerate(Finding.HowSoon.values)}
# Upkeep, "find out" or "sound" beside a number that falls short leaves the number unanswered.
_WHO_DECIDES = "settle which of calculation and published rule applies here: a licensed engineer"
MANY_PHOTOS = 24  # of no finding: four pages of six; more are set smaller
_ANSWER_A_FAILURE = (Action.KEEP_OFF, Action.LIMIT_USE, Action.PUT_RIGHT)


class Digest:
    """Everything a report says, in the order in which it says it.

    `issued_on` is the day from which its reader reads it: what was due before that day is due at once.
    """

    def __init__(self, snapshot: Mapping[str, Any], issued_on: date | None = None) -> None:
        self.snapshot = snapshot
        self.issued_on = issued_on
        for name in ("firm", "client", "property", "basis", "visit", "inspector", "cautions", "tables"):
            setattr(self, name, snapshot[name])

    @cached_property
    def visited_at(self) -> datetime:
        return timezone.localtime(datetime.fromisoformat(self.visit["begun_at"] or self.visit["starts_at"]))

    @cached_property
    def checks(self) -> tuple[FrozenCheck, ...]:
        return with_twins(self.snapshot["assessment"]["checks"], self.snapshot.get("witnesses", {}))

    @cached_property
    def checks_worst_first(self) -> list[FrozenCheck]:
        return worst_first(self.checks)

    @cached_property
    def failing(self) -> list[FrozenCheck]:
        """What falls short, and no other way of judging says that it holds."""
        return worst_first(check for check in self.checks if check.fails and not check.is_disputed)

    @cached_property
    def disputed(self) -> list[FrozenCheck]:
        """Where calculation and published rule differ on whether a piece is good enough."""
        return worst_first(check for check in self.checks if check.is_disputed)

    @cached_property
    def findings(self) -> tuple[ReportFinding, ...]:
        """By urgency, numbered from 1."""
        return tuple(self._finding(number, data) for number, data in enumerate(self._by_urgency, 1))

    @cached_property
    def repairs(self) -> tuple[ReportFinding, ...]:
        """The findings that ask for something to be done."""
        return tuple(finding for finding in self.findings if finding.is_repair)

    @property
    def repair_photos(self) -> list[ReportPhoto]:
        """The photos of those findings."""
        return [photo for finding in self.repairs for photo in finding.photos]

    @cached_property
    def photos(self) -> tuple[ReportPhoto, ...]:
        """All photos, numbered: those of findings first, in the order of the findings, then by link."""
        links = [str(link) for link in Link]
        order = {data["id"]: place for place, data in enumerate(self._by_urgency)}

        def place(photo: Mapping[str, Any]) -> tuple[int, int]:
            link = links.index(photo["link"]) if photo["link"] in links else len(links)
            return order.get(photo["finding"], len(order)), link

        return tuple(
            ReportPhoto(number, photo) for number, photo in enumerate(sorted(self.snapshot["photos"], key=place), 1)
        )

    @cached_property
    def loose_photos(self) -> tuple[ReportPhoto, ...]:
        """Those that belong to no finding of this report."""
        ids = {finding["id"] for finding in self.snapshot["findings"]}
        return tuple(photo for photo in self.photos if photo.data["finding"] not in ids)

    @property
    def has_many_loose_photos(self) -> bool:
        return len(self.loose_photos) > MANY_PHOTOS

    @property
    def cover_photo(self) -> ReportPhoto | None:
        """The photo for the first page: one of the whole, which shows which deck is meant; else the most pressing."""
        of_the_whole = (photo for photo in self.loose_photos if photo.data["link"] in ("", str(Link.SURFACE)))
        return next(of_the_whole, self.photos[0] if self.photos else None)

    @cached_property
    def standings(self) -> tuple[Standing, ...]:
        return tuple(self._standing(str(link)) for link in Link)

    @cached_property
    def open_points(self) -> tuple[OpenPoint, ...]:
        """Checks without an answer, gathered where the same measurement, of one part or several, would settle them."""
        grouped: dict[tuple[str, ...], list[FrozenCheck]] = {}
        for check in self.checks:
            if check.is_open:
                settled_by = (shape_of(words) for words in check.settles or [check.reason])
                grouped.setdefault((check.link, *settled_by), []).append(check)
        return tuple(_open_point(checks) for checks in grouped.values())

    @property
    def to_find_out(self) -> list[OpenPoint]:
        """What must be known before the deck can be cleared: the open points, and where two ways of judging differ."""
        differing = (
            OpenPoint(group.worst.title, group.where, "calculation and published rule differ", (_WHO_DECIDES,))
            for group in self.disputed_groups
        )
        return [*self.open_points, *differing]

    @cached_property
    def not_reached(self) -> list[dict[str, Any]]:
        """Facts that somebody looked for and could not reach; alike ones of several parts together."""
        return self._readings("not_reachable")

    @cached_property
    def assumed(self) -> list[dict[str, Any]]:
        """Facts that were assumed on the visit, and those taken from papers instead of measured."""
        return self._readings("assumed") + self._readings("papers")

    @cached_property
    def from_memory(self) -> list[str]:
        """Published values that were written from memory and are not yet confirmed against the page."""
        return list(dict.fromkeys(words for check in self.checks for words in check.from_memory))

    @cached_property
    def _assumed_in_words(self) -> dict[str, str]:
        return alike_as_one(words for check in self.checks for words in check.assumptions)

    @property
    def assumptions(self) -> list[str]:
        """What the checks took for granted, each said once for all parts that it holds for."""
        return list(dict.fromkeys(self._assumed_in_words.values()))

    @cached_property
    def uncovered(self) -> list[FrozenCheck]:
        """Checks that fall short and of which no finding speaks that answers them."""
        answering = [finding for finding in self.findings if finding.action in _ANSWER_A_FAILURE]
        return [check for check in self.failing if not any(finding.speaks_of(check) for finding in answering)]

    @property
    def uncovered_groups(self) -> list[CheckGroup]:
        """The same, one line for each question: the worst answer, and where else it falls short."""
        return _grouped(self.uncovered)

    @cached_property
    def repair_groups(self) -> tuple[RepairGroup, ...]:
        """Repairs that the engine worked out and proved; records frozen before it could have none."""
        return repair_groups(self.snapshot.get("remedies", ()), [c for c in self.checks if not c.holds], self.findings)

    @property
    def worked_out_for(self) -> set[int]:
        """The numbers of the findings to which a repair was worked out."""
        return {group.finding.number for group in self.repair_groups if group.finding}

    @property
    def repairs_beside(self) -> list[RepairGroup]:
        """Those of faults that no finding speaks of."""
        return [group for group in self.repair_groups if group.finding is None]

    @property
    def disputed_groups(self) -> list[CheckGroup]:
        return _grouped(self.disputed)

    @cached_property
    def record_tables(self) -> list[RecordTable]:
        return record_tables(self.snapshot["parts"])

    @property
    def recorded_by(self) -> list[str]:
        """Who took the readings, and on which days."""
        rows = (f"{who} on {day(at)}" for table in self.record_tables for who, at in table.writers)
        return list(dict.fromkeys(rows))

    @property
    def derivations(self) -> list[tuple[Standing, list[Derivation]]]:
        places = {words: number for number, words in enumerate(self.assumptions, 1)}
        numbers = {raw: places[words] for raw, words in self._assumed_in_words.items()}
        return [(each, derivations_of(each.checks, numbers)) for each in self.standings if each.checks]

    @cached_property
    def _by_urgency(self) -> list[Mapping[str, Any]]:
        def pressing(row: tuple[int, Mapping[str, Any]]) -> tuple[int, int, int]:
            place, data = row
            return _URGENCY[data["action"]], _SOON[data["how_soon"]], place

        return [data for _, data in sorted(enumerate(self.snapshot["findings"]), key=pressing)]

    def _finding(self, number: int, data: Mapping[str, Any]) -> ReportFinding:
        check = self._check_of(data)
        beside = check.twins[:1] if check else ()
        photos = tuple(photo for photo in self.photos if photo.data["finding"] == data["id"])
        days = _DAYS.get(data["how_soon"])
        due_on = None if days is None else self.visited_at.date() + timedelta(days=days)
        is_overdue = bool(due_on and days and self.issued_on and due_on < self.issued_on)
        about = data["part_key"] or self._only_part(data["link"])
        return ReportFinding(number, data, photos, check, beside, due_on, about, is_overdue)

    def _only_part(self, link: str) -> str:
        """The key of a link's part where it has just one, fasteners apart: "whole field" can mean no other."""
        keys = [p["key"] for p in self.snapshot["parts"] if p["link"] == link and p["kind"] != "fastener"]
        return keys[0] if len(keys) == 1 else ""

    def _check_of(self, data: Mapping[str, Any]) -> FrozenCheck | None:
        """The check a finding came from: of its place, else of its part, else the worst of its link's parts.

        Water has no parts of its own: there it is the worst answer to that question.
        """
        same = worst_first(check for check in self.checks if data["check_id"] and check.id == data["check_id"])
        of_link = [part["key"] for part in self.snapshot["parts"] if part["link"] == data["link"]]
        for narrower in (
            [check for check in same if check.subject == data["place"]],
            [check for check in same if check.is_about(data["part_key"], data["part_name"])],
            [check for check in same if check.link == data["link"] or not of_link or check.is_about(*of_link)],
        ):
            if narrower:
                return narrower[0]
        return None

    def _standing(self, link: str) -> Standing:
        return Standing(
            link=link,
            checks=tuple(worst_first(check for check in self.checks if check.link == link)),
            findings=tuple(finding for finding in self.findings if finding.link == link),
            part_count=sum(part["link"] == link for part in self.snapshot["parts"]),
        )

    def _readings(self, how: str) -> list[dict[str, Any]]:
        alike: dict[tuple[str, str, str], list[tuple[Mapping[str, Any], Mapping[str, Any]]]] = {}
        for part in self.snapshot["parts"]:
            for reading in part["readings"]:
                if reading["how"] == how:
                    key = part["kind"], reading["fact"], str(reading["value"])
                    alike.setdefault(key, []).append((part, reading))
        return [
            {**members[0][1], "part": in_few_words([_part_words(part) for part, _ in members])}
            for members in alike.values()
        ]


def _open_point(checks: list[FrozenCheck]) -> OpenPoint:
    settles = alike_as_one(words for check in checks for words in check.settles)
    alike = [check.reason for check in checks if shape_of(check.reason) == shape_of(checks[0].reason)]
    return OpenPoint(
        what="; ".join(dict.fromkeys(check.title for check in checks)),
        where=in_few_words([check.subject for check in checks]),
        why=alike_as_one(alike)[alike[0]],
        settles=tuple(dict.fromkeys(settles.values())),
    )


def _part_words(part: Mapping[str, Any]) -> str:
    name = f" ({part['name']})" if part["name"] else ""
    return f"{part['kind_words']} {part['key']}{name}"


def _grouped(checks: list[FrozenCheck]) -> list[CheckGroup]:
    grouped: dict[tuple[str, str], list[FrozenCheck]] = {}
    for check in checks:
        grouped.setdefault((check.id, check.title), []).append(check)
    return [CheckGroup(alike[0], in_few_words([check.subject for check in alike])) for alike in grouped.values()]
