"""A finding proposed from a check of the engine: the numbers put into words, for the inspector to accept or change."""

from engine.results import Check, Verdict
from inspections.findings.from_check import numbers_in_words, places, propose_action, what_settles
from inspections.findings.models import Defect, Finding
from inspections.findings.remedies import in_words, remedies_of_check
from inspections.survey.deck import assess_visit
from inspections.survey.models import Part
from inspections.visits.models import Visit


def propose_from_check(visit: Visit, check: Check) -> Finding:
    """An unsaved finding that says what the check found, with its numbers, source, and a proposed action word."""
    action, how_soon, who = propose_action(check)
    defect = _matching_defect(check)
    return Finding(
        visit=visit,
        link=str(check.link),
        part=_part_of(visit, check),
        defect=defect,
        check_id=check.id,
        title=(defect.title if defect else check.title)[:140],
        place=_places(visit, check),
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


def _places(visit: Visit, check: Check) -> str:
    """The place of the check; where it fails, those of all others of its kind that came out alike, too."""
    if check.verdict != Verdict.FAILS:
        return places([check])
    assessment = assess_visit(visit)
    failing = [one for one in assessment.by_id(check.id) if one.verdict == Verdict.FAILS]
    alike = [one for one in failing if assessment.is_disputed(one) == assessment.is_disputed(check)]
    return places([check, *sorted(alike, key=lambda one: -(one.ratio or 0))])


def _what_to_do(visit: Visit, check: Check, defect: Defect | None) -> str:
    """What would settle an open check; else the repairs that were worked out, under the catalogue's usual one."""
    if check.verdict != Verdict.FAILS:
        return what_settles(check) or (defect.remedy if defect else "")
    worked_out = in_words(remedies_of_check(visit, check))
    return "\n\n".join(words for words in (defect.remedy if defect else "", worked_out) if words)


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
