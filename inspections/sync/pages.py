"""What a page of the walk sent with signal, under the id that it has on the tablet's disk until it is answered.

Where the answer is lost, as when the browser is killed, the tablet sends the same entry again as an operation; it is
then known here, and applied once.
"""

from typing import Any
from uuid import UUID

from django.dispatch import receiver

from inspections.survey.models import Part
from inspections.survey.services import version_of
from inspections.survey.signals import fact_written
from inspections.sync.models import SyncOperation


@receiver(fact_written)
def remember(operation: UUID, part: Part, fact: str, by: Any, **_: Any) -> None:
    reading = part.readings.filter(fact=fact).first()
    typed = {"typed": reading.typed, "how": reading.how} if reading else {}
    SyncOperation.objects.get_or_create(
        pk=operation,
        defaults={
            "by": by, "visit": part.visit, "outcome": SyncOperation.Outcome.APPLIED,
            "kind": "record_reading" if reading else "clear_reading",
            "payload": {"part": str(part.pk), "fact": fact, **typed},
            "answer": {"version": version_of(reading)},
        },
    )  # fmt: skip
