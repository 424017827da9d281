"""What a finding takes over from a check: its numbers in words, and a proposed action. Knows no Django.

So that a tablet without signal proposes what the server proposes (see `inspections.survey.tablet`). The words of
actions, times and people are those of `inspections.findings.models`.
"""

import math
from collections.abc import Iterable

from engine.results import Check, Method, Verdict
from inspections.drawings.gauge import percent
from inspections.survey.wording import quantity

# Above this, what must be carried exceeds the adjusted capacity by so much that the deck is proposed to be closed.
# Common practice, no published source: the inspector decides.
KEEP_OFF_ABOVE_RATIO = 1.5

LONGEST_PLACE = 300


def places(checks: Iterable[Check]) -> str:
    """Where the same thing is wrong, the gravest first: "fastener F7; fastener F12". As many as there is room for."""
    subjects = list(dict.fromkeys(check.subject for check in checks))
    for count in range(len(subjects), 0, -1):
        more = len(subjects) - count
        words = "; ".join(subjects[:count]) + (f"; and {more} more" if more else "")
        if len(words) <= LONGEST_PLACE:
            return words
    return subjects[0][:LONGEST_PLACE] if subjects else ""


def numbers_in_words(check: Check) -> str:
    """What was compared with what, by which rule; no number where none is honest.

    A prescriptive rule says its own numbers in its reason: for one the measured value is the demand, for another the
    capacity, so that only the rule knows the right words.
    """
    lines = [f"{check.title}."]
    is_open = check.verdict == Verdict.CANNOT_TELL
    if is_open:
        lines.append(f"Cannot be judged yet: {check.reason.rstrip('.')}." if check.reason else "Cannot be judged yet.")
    elif check.reason:
        lines.append(_sentence(check.reason))
    says_its_numbers = check.method == Method.PRESCRIPTIVE and check.reason
    if not is_open and not says_its_numbers and check.demand is not None and check.capacity is not None:
        demand, capacity = _amount(check.demand, check.unit), _amount(check.capacity, check.unit)
        share = "" if check.ratio is None else f": {percent(check.ratio)}"
        if check.method == Method.CALCULATION:
            lines.append(f"Demand {demand}, capacity {capacity}{share}.")
        else:
            lines.append(f"Compared: {demand} against {capacity}{share}.")
    if check.citation:
        how = "Calculated by" if check.method == Method.CALCULATION else "Rule:"
        lines.append(f"{how} {check.citation}.")
    return " ".join(lines)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def _amount(value: float, unit: str) -> str:
    return quantity(value, unit) if math.isfinite(value) else "without limit"


def what_settles(check: Check) -> str:
    """What would settle an open check, as a sentence; empty for one that is settled."""
    if check.verdict != Verdict.CANNOT_TELL or not check.settles:
        return ""
    return "To settle it: " + "; ".join(check.settles) + "."


def propose_action(check: Check) -> tuple[str, str, str]:
    """Action, how soon, and who."""
    if check.verdict == Verdict.HOLDS:
        return "sound", "no_date", "owner"
    if check.verdict == Verdict.CANNOT_TELL:
        return "find_out", "no_date", "contractor"
    if check.method == Method.CALCULATION and check.ratio is not None and check.ratio > KEEP_OFF_ABOVE_RATIO:
        return "keep_off", "at_once", "contractor"
    return "put_right", "two_weeks" if check.method == Method.CALCULATION else "three_months", "contractor"
