"""The repairs of a snapshot as a reader meets them: options of one fault together, beside the finding they answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inspections.findings.remedies import answers, positions, proof
from inspections.reports.checks import FrozenCheck
from inspections.reports.pieces import ReportFinding


@dataclass(frozen=True)
class RepairLine:
    """One line of a schedule."""

    data: Mapping[str, Any]

    @property
    def what(self) -> str:
        return str(self.data["what"])

    @property
    def size(self) -> str:
        return ", ".join(each for each in (self.data["size"], self.data["material"]) if each)

    @property
    def has_count(self) -> bool:
        return self.data["count"] is not None

    @property
    def count(self) -> str:
        return "see pattern" if self.data["count"] is None else str(self.data["count"])

    @property
    def pattern(self) -> str:
        """How they are set, where along the member, and what is kept from its edges."""
        return "; ".join(each for each in (self.data["pattern"], positions(self.data), self.data["edges"]) if each)


@dataclass(frozen=True)
class RepairOption:
    """One way to repair, with its schedule and what the engine said of it."""

    data: Mapping[str, Any]

    @property
    def title(self) -> str:
        return str(self.data["title"])

    @property
    def lines(self) -> list[RepairLine]:
        return [RepairLine(line) for line in self.data["schedule"]]

    @property
    def who(self) -> str:
        words = str(self.data["who"])
        return words[:1].upper() + words[1:]

    @property
    def proof(self) -> str:
        return proof(self.data)

    @property
    def drawn(self) -> str:
        """The parts of the drawing that it changes: "LD1, B1"."""
        return ", ".join(dict.fromkeys(str(mark["part_id"]) for mark in self.data["drawing"]))

    @property
    def source(self) -> str:
        return str(self.data["citation"])

    @property
    def assumptions(self) -> Sequence[str]:
        return tuple(self.data["assumptions"])

    @property
    def cautions(self) -> Sequence[str]:
        return tuple(self.data["cautions"])


@dataclass(frozen=True)
class RepairGroup:
    """One fault and the ways to repair it. `finding` is the finding that speaks of it, if one does."""

    options: tuple[RepairOption, ...]
    finding: ReportFinding | None

    @property
    def is_a_choice(self) -> bool:
        return len(self.options) > 1

    @property
    def about(self) -> str:
        return str(self.options[0].data["subject"])


def repair_groups(
    remedies: Sequence[Mapping[str, Any]], failing: Sequence[FrozenCheck], findings: Sequence[ReportFinding]
) -> tuple[RepairGroup, ...]:
    """The repairs of one snapshot, those that a finding speaks of first, in the order of the findings."""
    alike: dict[tuple[tuple[str, str], ...], list[Mapping[str, Any]]] = {}
    for remedy in remedies:
        key = tuple(sorted((each["check_id"], each["subject"]) for each in remedy["answers"]))
        alike.setdefault(key, []).append(remedy)
    groups = []
    for options in alike.values():
        checks = [check for check in failing if answers(options[0], check.id, check.subject)]
        groups.append(RepairGroup(tuple(RepairOption(each) for each in options), _finding_of(checks, findings)))
    return tuple(sorted(groups, key=lambda group: group.finding.number if group.finding else len(findings) + 1))


def _finding_of(checks: Sequence[FrozenCheck], findings: Sequence[ReportFinding]) -> ReportFinding | None:
    """The most pressing finding that rests on one of the checks; else one about the same piece."""
    repairs = [finding for finding in findings if finding.is_repair]
    for finding in repairs:
        if finding.check and any((finding.check.id, finding.check.subject) == (c.id, c.subject) for c in checks):
            return finding
    return next((finding for finding in repairs if any(finding.speaks_of(check) for check in checks)), None)
