"""What the release desk should look at twice before it lets a report go. Remarks, not gaps: the manager decides."""

from dataclasses import dataclass

from inspections.findings.from_check import KEEP_OFF_ABOVE_RATIO
from inspections.findings.models import Action
from inspections.reports.checks import FrozenCheck
from inspections.reports.digest import Digest
from inspections.reports.pieces import ReportFinding

_URGENCY = {word: place for place, word in enumerate(Action.values)}
_SERIOUS = (Action.KEEP_OFF, Action.LIMIT_USE, Action.PUT_RIGHT)


@dataclass(frozen=True)
class Remark:
    """A sentence, and the place on the page that it is about."""

    words: str
    anchor: str


def second_look(digest: Digest) -> list[Remark]:
    """Everything that reads oddly in a record, in the order of the findings, then what no finding names."""
    remarks = []
    for finding in digest.findings:
        remarks += _of_finding(finding)
    for group in digest.uncovered_groups:
        check = group.worst
        remarks.append(
            Remark(
                f"{check.title}: {check.standing.lower()} ({group.where}). No finding names it.",
                f"link-{slug(check.link)}",
            )
        )
    if not digest.visit["summary"].strip():
        remarks.append(Remark("There are no words of the inspector's own for the client.", "decide"))
    return remarks


def _of_finding(finding: ReportFinding) -> list[Remark]:
    anchor, remarks = f"finding-{finding.number}", []
    proposed = proposed_action(finding.check) if finding.check else ""
    if proposed and _URGENCY[finding.action] > _URGENCY[proposed]:
        remarks.append(
            Remark(
                f"Finding {finding.number} says {finding.action_words}, milder than the check it rests on: "
                f"{finding.check.title}, {finding.check.standing.lower()}, proposes {Action(proposed).label}.",
                anchor,
            )
        )
    if finding.action in _SERIOUS and not finding.photos:
        remarks.append(Remark(f"Finding {finding.number} ({finding.action_words}) has no photo.", anchor))
    return remarks


def proposed_action(check: FrozenCheck) -> str:
    """The action word that a check proposes by itself; empty for one that holds."""
    if check.is_open or check.is_disputed:
        return Action.FIND_OUT
    if not check.fails:
        return ""
    is_far_over = check.method == "calculation" and check.ratio is not None and check.ratio > KEEP_OFF_ABOVE_RATIO
    return Action.KEEP_OFF if is_far_over else Action.PUT_RIGHT


def slug(link: str) -> str:
    return link.replace(" ", "-")
