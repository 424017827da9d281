"""What makes the index out of date. Each such change leaves a job, in the transaction that makes the change."""

from typing import Any

from django.db.models.signals import post_save
from django.dispatch import receiver

from firm.jobs.bell import ring
from firm.properties.models import Property
from inspections.reports.models import Report
from inspections.trends.models import CountingJob
from inspections.trends.traits import FINISHED
from inspections.visits.models import Visit


@receiver(post_save, sender=Visit)
def visit_was_finished_or_opened_again(instance: Visit, **_: Any) -> None:
    if instance.state in (*FINISHED, Visit.State.SENT_BACK):
        _count(instance.pk)


@receiver(post_save, sender=Report)
def report_was_issued(instance: Report, created: bool, **_: Any) -> None:
    """Also a corrected version, at which the visit itself does not change."""
    if created:
        _count(instance.visit_id)


@receiver(post_save, sender=Property)
def house_was_changed(instance: Property, created: bool, **_: Any) -> None:
    """Another county or year built puts its visits into another column."""
    if not created:
        for pk in instance.visits.filter(state__in=FINISHED).values_list("pk", flat=True):
            _count(pk)


def _count(visit_id: int) -> None:
    ring(CountingJob.objects.create(visit_id=visit_id))
