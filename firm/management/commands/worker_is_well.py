from typing import Any

from django.core.management.base import BaseCommand, CommandError

from firm.jobs.sweep import seconds_since_last_sweep

MOST_SECONDS = 60


class Command(BaseCommand):
    help = "End with 0 if the scheduler, the broker and a worker do their part: the sweep that they run is recent."
    requires_system_checks = []

    def handle(self, *_: Any, **__: Any) -> None:
        age_s = seconds_since_last_sweep()
        if age_s is None or age_s > MOST_SECONDS:
            raise CommandError(f"The last sweep: {'none yet' if age_s is None else f'{age_s:.0f} s ago'}")
        self.stdout.write(f"The last sweep: {age_s:.0f} s ago")
