"""A finding proposed from a check of the engine: the numbers put into words, for the inspector to accept or change."""

import math

from engine.results import Check, Method, Verdict
from inspections.drawings.gauge import percent
from inspections.findings.models import Action, Defect, Finding
from inspections.findings.remedies import in_words, remedies_of_check
from inspections.survey.deck import assess_visit
from inspections.survey.models import Part
from inspections.survey.templatetags.judgement import quantity
from inspections.visits.models import Visit

# Above this, what must be carried exceeds the adjusted capacity by so much that the deck is proposed to be closed.
# Common practice, no published source: the inspector decides.
KEEP_OFF_ABOVE_RATIO = 1.5


def propose_from_check(visit: Visit, check: Check) -> Finding:
    """An unsaved finding that says what the check found, with its numbers, source, and a proposed action word."""
    action, how_soon, who = _propose_action(check)
    defect = _matching_defect(check)
    return Finding(
        visit=visit,
        link=str(check.link),
        part=_part_of(visit, check),
        defect=defect,
        check_id=check.id,
        title=(defect.title if defect else check.title)[:140],
        place=check.subject[:80],
        seen=numbers_in_words(check),
        meaning=defect.meaning if defect else "",
        remedy=_what_to_do(visit, check, defect),
        action=action,
        how_soon=how_soon,
        who=who,
    )


def find_check(visit: Visit, check_id: str, subject: str = "") -> Check | None:
    """One check of the visit as it comes out now, by its id and what it is about; None if there is none such.

    Raises engine.errors.DeckFaults when the record contradicts itself.
    """
    found = assess_visit(visit).by_id(check_id)
    return next((check for check in found if check.subject == subject or not subject), None)


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


def _what_to_do(visit: Visit, check: Check, defect: Defect | None) -> str:
    """What would settle an open check; else the repairs that were worked out, under the catalogue's usual one."""
    if check.verdict != Verdict.FAILS:
        return _what_would_settle(check) or (defect.remedy if defect else "")
    worked_out = in_words(remedies_of_check(visit, check))
    return "\n\n".join(words for words in (defect.remedy if defect else "", worked_out) if words)


def _what_would_settle(check: Check) -> str:
    if check.verdict != Verdict.CANNOT_TELL or not check.settles:
        return ""
    return "To settle it: " + "; ".join(check.settles) + "."


def _propose_action(check: Check) -> tuple[str, str, str]:
    how_soon, who = Finding.HowSoon, Finding.Who
    if check.verdict == Verdict.HOLDS:
        return Action.SOUND, how_soon.NO_DATE, who.OWNER
    if check.verdict == Verdict.CANNOT_TELL:
        return Action.FIND_OUT, how_soon.NO_DATE, who.CONTRACTOR
    if check.method == Method.CALCULATION and check.ratio is not None and check.ratio > KEEP_OFF_ABOVE_RATIO:
        return Action.KEEP_OFF, how_soon.AT_ONCE, who.CONTRACTOR
    if check.method == Method.CALCULATION:
        return Action.PUT_RIGHT, how_soon.TWO_WEEKS, who.CONTRACTOR
    return Action.PUT_RIGHT, how_soon.THREE_MONTHS, who.CONTRACTOR


def _matching_defect(check: Check) -> Defect | None:
    """The one catalogue entry written for this check failing; none if there are several: the inspector chooses."""
    if check.verdict != Verdict.FAILS:
        return None
    found = list(Defect.objects.filter(check_id=check.id, is_offered=True)[:2])
    return found[0] if len(found) == 1 else None


def _part_of(visit: Visit, check: Check) -> Part | None:
    """The part whose key stands in the subject: "ledger LD1", "fastener 7 of ledger LD1 (F7)"."""
    words = check.subject.replace("(", " ").replace(")", " ").replace(",", " ").split()
    parts = {part.key: part for part in Part.objects.filter(visit=visit, removed_at__isnull=True)}
    named = [parts[word] for word in words if word in parts]
    on_link = [part for part in named if str(part.vocabulary.link) == str(check.link)]
    return (on_link or named or [None])[-1]
