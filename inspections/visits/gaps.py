"""What is still missing before a record can be handed in."""

from django.urls import NoReverseMatch, reverse

from engine.errors import DeckFaults
from inspections.visits.models import Visit
from inspections.visits.refusals import Gap


def find_gaps(visit: Visit) -> list[Gap]:
    """Every gap of the record, in the order in which one would close them; none means it may be handed in."""
    walk = _url("walk", visit.pk)
    if not visit.parts.filter(removed_at__isnull=True).exists():
        return [Gap("No part of the deck is recorded yet. Record at least one.", walk)]
    return [*_contradictions(visit, walk), *_findings_without_a_date(visit)]


def _contradictions(visit: Visit, walk: str) -> list[Gap]:
    from inspections.survey.deck import assess_visit  # that room knows visits, so this one imports it late

    try:
        assess_visit(visit)
    except DeckFaults as faults:
        return [
            Gap(f"The record contradicts itself at {fault.path}: {fault.accepted}.", walk) for fault in faults.faults
        ]
    return []


def _findings_without_a_date(visit: Visit) -> list[Gap]:
    pressing = visit.findings.filter(removed_at__isnull=True, action__in=["keep_off", "put_right"], how_soon="no_date")
    return [
        Gap(
            f'{finding.get_action_display()} "{finding.title}" does not say how soon.',
            _url("finding-edit", visit.pk, finding.pk) or walk_or_nothing(visit),
        )
        for finding in pressing
    ]


def walk_or_nothing(visit: Visit) -> str:
    return _url("walk", visit.pk)


def _url(name: str, *args: object) -> str:
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""
