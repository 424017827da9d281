"""A visit after a repair, set beside the one it follows: what is repaired, as before, better, worse or new.

Computed from both frozen records. That nobody names a fault again does not make it repaired: it counts as repaired only
where this visit says so, by a finding of "Sound" at the place or by a check that now holds.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from inspections.findings.models import Action
from inspections.reports.checks import FrozenCheck, worst_first
from inspections.reports.digest import Digest
from inspections.reports.pieces import ReportFinding

REPAIRED, AS_BEFORE, BETTER, WORSE, NEW, NOT_NAMED = "repaired", "as before", "better", "worse", "new", "not named"
WORDS = {
    REPAIRED: "Repaired",
    AS_BEFORE: "As before",
    BETTER: "Better, not finished",
    WORSE: "Worse",
    NEW: "New",
    NOT_NAMED: "Not named this time",
}
ORDER = (WORSE, NEW, AS_BEFORE, NOT_NAMED, BETTER, REPAIRED)
NOT_NAMED_MEANS = "No finding names it this time. That alone does not show that it was repaired."
_URGENCY = {word: place for place, word in enumerate(Action.values)}
# What tells that two findings mean one fault, the surest first.
_TELLING = (("defect", "place"), ("title", "place"), ("defect", "part_key"), ("title",), ("defect",), ("check_id",))
_NOTABLE = 0.02  # of the limit: a smaller change of a ratio is the tape's, not the deck's; common practice, no source


def since_last(earlier: Mapping[str, Any], now: Mapping[str, Any]) -> list[dict[str, str]]:
    """Item by item, the gravest first: `standing`, `title`, `where`, `before`, `after`, `because`; all words."""
    was, here = Digest(earlier), Digest(now)
    left = list(here.findings)
    items = []
    for finding in was.repairs:
        found = _same(finding, left)
        if found:
            left.remove(found)
        items.append(_followed(finding, found, here))
    items += [_new(finding) for finding in left if finding.is_repair]
    items += _checks_beside(was, here)
    return sorted(items, key=lambda item: ORDER.index(item["standing"]))


def _same(finding: ReportFinding, among: Sequence[ReportFinding]) -> ReportFinding | None:
    """The finding of the later record that speaks of the same fault at the same place."""

    def is_it(other: ReportFinding, *names: str) -> bool:
        return all(finding.data[name] and finding.data[name] == other.data[name] for name in names)

    alike = [other for other in among if other.link == finding.link and other.part_key in ("", finding.part_key)]
    for names in _TELLING:
        for other in alike:
            if is_it(other, *names):
                return other
    at_place = [other for other in alike if other.action == Action.SOUND]
    return next((other for other in at_place if is_it(other, "place") or is_it(other, "part_key")), None)


def _followed(finding: ReportFinding, found: ReportFinding | None, here: Digest) -> dict[str, str]:
    check = _check_now(finding, here)
    if found:
        return _item(_compared(finding, found, check), finding, found.action_words, "")
    if check and check.holds and finding.check and finding.check.fails:
        return _item(REPAIRED, finding, "", f"{check.title}: {check.standing.lower()}")
    if check and check.fails:
        is_worse = _grew(finding.check, check)
        return _item(WORSE if is_worse else AS_BEFORE, finding, "", f"{check.title}: {check.standing.lower()}")
    return _item(NOT_NAMED, finding, "", NOT_NAMED_MEANS)


def _compared(finding: ReportFinding, found: ReportFinding, check: FrozenCheck | None) -> str:
    if found.action == Action.SOUND:
        return REPAIRED if not (check and check.fails) else AS_BEFORE
    if found.action == Action.FIND_OUT:
        return AS_BEFORE  # nobody knows it to be better
    was, now = _URGENCY[finding.action], _URGENCY[found.action]
    if was != now:
        return WORSE if now < was else BETTER
    return WORSE if check and _grew(finding.check, check) else AS_BEFORE


def _check_now(finding: ReportFinding, here: Digest) -> FrozenCheck | None:
    """The answer today to the question the finding rested on, about the same piece."""
    if not finding.check:
        return None
    same = [c for c in here.checks if (c.id, c.subject) == (finding.check.id, finding.check.subject)]
    return same[0] if same else None


def _grew(before: FrozenCheck | None, now: FrozenCheck) -> bool:
    if before is None or before.ratio is None or now.ratio is None:
        return False
    return now.ratio > before.ratio + _NOTABLE


def _item(standing: str, finding: ReportFinding, after: str, because: str) -> dict[str, str]:
    return {
        "standing": standing,
        "title": finding.title,
        "where": finding.where,
        "before": finding.action_words,
        "after": after,
        "because": because,
    }


def _new(finding: ReportFinding) -> dict[str, str]:
    return {**_item(NEW, finding, finding.action_words, ""), "before": ""}


def _checks_beside(was: Digest, here: Digest) -> Iterator[dict[str, str]]:
    """Questions that no finding speaks of, on either visit, and whose answer changed; the worst piece for each."""
    before = {(check.id, check.subject): check for check in was.checks}
    named = {finding.check.id for digest in (was, here) for finding in digest.findings if finding.check}
    said: set[tuple[str, str]] = set()
    for check in worst_first(here.checks):
        old = before.get((check.id, check.subject))
        if check.id in named or old is None:
            continue
        standing = _of_check(old, check)
        if standing and (check.id, standing) not in said:
            said.add((check.id, standing))
            yield {
                "standing": standing,
                "title": check.title,
                "where": check.subject,
                "before": old.standing,
                "after": check.standing,
                "because": "",
            }


def _of_check(old: FrozenCheck, now: FrozenCheck) -> str:
    if old.fails and now.holds:
        return REPAIRED
    if old.holds and now.fails:
        return WORSE
    if old.fails and now.fails and _grew(old, now):
        return WORSE
    return ""
