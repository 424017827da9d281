"""The drawings of a frozen deck: how each part stands, and the numbers of the findings at their parts."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inspections.drawings.plan import draw_plan
from inspections.drawings.section import draw_section
from inspections.reports.digest import Digest
from inspections.reports.pieces import ReportFinding
from inspections.spanish import said

_ALL = re.compile(r"(all|both|each|every)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Drawings:
    """The deck from above, one drawing for each level, and cut through. `missing` says what could not be drawn.

    `elsewhere` are the numbers of the findings that stand on none of them: no part was named, or it was not drawn.
    """

    drawings: tuple[str, ...]
    section: str
    missing: tuple[str, ...]
    numbered: tuple[int, ...]
    elsewhere: tuple[int, ...]
    levels: tuple[str, ...] = ()

    @property
    def by_level(self) -> list[tuple[str, str]]:
        """Each drawing from above with the level it is of; unnamed where there is one alone."""
        names = self.levels if len(self.drawings) > 1 else ("",) * len(self.drawings)
        return list(zip(names, self.drawings, strict=True))


def _parts_of(finding: ReportFinding, digest: Digest) -> list[str]:
    """The keys of the parts that a finding means: as its part, in its words, or since no other was asked its question.

    None where that cannot be told: a number at one of several posts would say more than was written.
    """
    if finding.is_about:
        return [finding.is_about]
    parts = digest.snapshot["parts"]
    mine = [part for part in parts if part["link"] == finding.link and part["kind"] != "fastener"]
    if named := [part["key"] for part in mine if _names(finding.place, part)]:
        return named
    if _ALL.match(finding.place):
        return [part["key"] for part in mine]
    asked = [check for check in digest.checks if finding.check_id and check.id == finding.check_id]
    only = [part["key"] for part in parts if any(check.is_about(part["key"]) for check in asked)]
    return only if len(only) == 1 else []


def _names(place: str, part: Mapping[str, Any]) -> bool:
    words = (re.escape(name) for name in (part["key"], part["name"]) if name)
    return any(re.search(rf"(?<!\w){word}(?!\w)", place, re.IGNORECASE) for word in words)


def plan_of(digest: Digest) -> Drawings:
    """What fails or is open is marked on them, and each finding stands at its part under its number."""
    deck = digest.snapshot["deck"]
    standing: dict[str, str] = {}
    for check in digest.checks_worst_first:
        for part in digest.snapshot["parts"]:
            if part["key"] not in standing and check.is_about(part["key"]):
                standing[part["key"]] = "cannot tell" if check.is_disputed else check.verdict
    findings: dict[str, list[int]] = {}
    for finding in digest.findings:
        for key in _parts_of(finding, digest):
            findings.setdefault(key, []).append(finding.number)
    plan = draw_plan(deck, standing=standing, findings=findings, said=said)
    section = draw_section(deck, standing=standing, findings=findings, said=said)
    numbered = plan.numbered | section.numbered
    return Drawings(
        plan.drawings,
        section.svg,
        plan.missing,
        tuple(sorted(numbered)),
        tuple(each.number for each in digest.findings if each.number not in numbered),
        plan.levels,
    )
