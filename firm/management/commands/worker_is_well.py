from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from firm.jobs.lines import LINES, QUICK
from firm.jobs.sweep import seconds_since_sign_of_life

MOST_SECONDS = 60


class Command(BaseCommand):
    help = "End with 0 if the scheduler, the broker and a worker do their part: it answered or worked lately."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--line", choices=LINES, default=QUICK, help="whose worker is asked for (quick)")

    def handle(self, *_: Any, line: str, **__: Any) -> None:
        age_s = seconds_since_sign_of_life(line)
        if age_s is None or age_s > MOST_SECONDS:
            raise CommandError(f"The worker was last seen: {'never yet' if age_s is None else f'{age_s:.0f} s ago'}")
        self.stdout.write(f"The worker was last seen: {age_s:.0f} s ago")
