from django.db import transaction
from django.utils import timezone

from firm import audit
from firm.people.models import User
from firm.setup.models import SetUp

STEPS = {
    "firm": "Who you are",
    "clock": "Your clock",
    "people": "Your people",
    "hours": "When you work",
    "rules": "Your building rules",
}


@transaction.atomic
def pass_step(step: str, *, by: User) -> str:
    """Note that the step was done or skipped. The next open one; empty, and the set-up is done, after the last."""
    SetUp.objects.get_or_create(pk=1)
    row = SetUp.objects.select_for_update().get(pk=1)
    row.passed = [name for name in STEPS if name in row.passed or name == step]
    following = next_step(row)
    if not following and row.done_at is None:
        row.done_at = timezone.now()
        audit.record(by, "finished", row)
    row.save()
    return following


def next_step(row: SetUp) -> str:
    return next((name for name in STEPS if name not in row.passed), "")
