"""What stands between a record and its report."""

from inspections.findings.models import Action, Finding
from inspections.reports.snapshot import photos_of
from inspections.visits.models import Visit
from inspections.visits.refusals import Gap
from inspections.visits.services import find_gaps


def gaps_before_release(visit: Visit) -> list[Gap]:
    """Everything that must be put in order first; an empty list means that the report can be issued."""
    return [*find_gaps(visit), *_findings_without_a_remedy(visit), *_photos_not_ready(visit)]


def _findings_without_a_remedy(visit: Visit) -> list[Gap]:
    pressing = Finding.objects.filter(
        visit=visit,
        removed_at__isnull=True,
        action__in=[Action.KEEP_OFF, Action.LIMIT_USE, Action.PUT_RIGHT],
        remedy="",
    )
    return [Gap(f'{finding.get_action_display()} "{finding}" does not say what to do.') for finding in pressing]


def _photos_not_ready(visit: Visit) -> list[Gap]:
    waiting = sum(1 for photo in photos_of(visit) if not photo.printable)
    if not waiting:
        return []
    what = "A photo is" if waiting == 1 else f"{waiting} photos are"
    return [Gap(f"{what} still being prepared for print. This takes a few seconds; then try again.")]
