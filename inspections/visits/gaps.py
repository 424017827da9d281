"""What is still missing before a record can be handed in."""

from django.urls import reverse

from inspections.visits.models import Visit
from inspections.visits.refusals import Gap


def find_gaps(visit: Visit) -> list[Gap]:
    """Every gap of the record, in the order in which one would close them; none means it may be handed in."""
    if not visit.parts.filter(removed_at__isnull=True).exists():
        return [Gap("No part of the deck is recorded yet. Record at least one.", reverse("walk", args=[visit.pk]))]
    # That Keep off and Put right say how soon is held by the database: see the constraint of `Finding`.
    return _contradictions(visit)


def _contradictions(visit: Visit) -> list[Gap]:
    # The survey knows visits, so this room knows the survey only here, when it is asked.
    from inspections.survey.deck import read_record
    from inspections.survey.shown import addresses, contradictions
    from inspections.survey.verdicts import judge_record

    record = read_record(visit)
    walk = reverse("walk", args=[visit.pk])
    found = contradictions(judge_record(record), addresses(record, walk))
    return [Gap(words, address or walk) for words, address in found]
