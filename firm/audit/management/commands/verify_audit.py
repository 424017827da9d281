"""`python3 manage.py verify_audit`: whether the audit trail is as it was written."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from firm.audit.models import AuditEntry


class Command(BaseCommand):
    help = "Recompute the hash chain of the audit trail and name the first line that does not fit."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--holds",
            metavar="SHA256",
            help="also look for this digest, noted at an earlier run: a trail whose end was cut off lacks it",
        )

    def handle(self, *, holds: str | None = None, **_: Any) -> None:
        verdict = AuditEntry.objects.verify()
        if verdict.misfit:
            pk, position, why = verdict.misfit
            raise CommandError(f"Line {position} of the audit trail (row {pk}) does not fit: {why}.")
        if holds and not AuditEntry.objects.filter(sha256=holds.strip().lower()).exists():
            raise CommandError(f"The trail fits together, but the line with {holds} is no longer in it.")
        self.stdout.write(f"The audit trail fits together: {verdict.lines} lines. The last one is {verdict.sha256}")
