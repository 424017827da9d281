"""From the rows of a visit to its record, to the engine's deck, and to its assessment.

Every verdict that the server shows anywhere comes through `Record.assess`.
"""

from dataclasses import dataclass

from engine import Assessment
from inspections.survey.basis import basis_of
from inspections.survey.record import Record, place_of_key
from inspections.visits.models import Visit


@dataclass(frozen=True)
class VisitRecord(Record):
    """The record of one visit, read once from the database: `parts` and `readings` are rows."""

    visit: Visit


def read_record(visit: Visit) -> VisitRecord:
    """The standing parts of a visit with their readings, in two queries, and what it is judged by."""
    parts = visit.parts.filter(removed_at__isnull=True).prefetch_related("readings__by")
    ordered = tuple(sorted(parts, key=place_of_key))
    readings = {part.key: {reading.fact: reading for reading in part.readings.all()} for part in ordered}
    return VisitRecord(ordered, readings, title=str(visit), basis=basis_of(visit), visit=visit)


def deck_json(visit: Visit) -> dict[str, object]:
    """The record of a visit as the engine's deck file (see `Record.deck`)."""
    return read_record(visit).deck()


def assess_visit(visit: Visit) -> Assessment:
    """The engine's verdicts on the record of a visit. Raises engine.errors.DeckFaults (see `Record.assess`)."""
    return read_record(visit).assess()
