"""What a page of the walk sent with signal, under the id that it has on the tablet's disk until it is answered.

Where the answer is lost, as when the browser is killed, the tablet sends the same entry again as an operation; it is
then known here, and applied once.
"""

from typing import Any
from uuid import UUID

from django.dispatch import receiver

from inspections.survey.signals import entry_written
from inspections.sync.models import SyncOperation
from inspections.visits.models import Visit


@receiver(entry_written)
def remember(
    operation: UUID, visit: Visit, kind: str, payload: dict[str, Any], answer: dict[str, Any], by: Any, **_: Any
) -> None:
    SyncOperation.objects.get_or_create(
        pk=operation,
        defaults={
            "by": by, "visit": visit, "outcome": SyncOperation.Outcome.APPLIED,
            "kind": kind, "payload": payload, "answer": answer,
        },
    )  # fmt: skip
