"""`python3 manage.py backup`: the whole firm into one file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from firm.backup.making import CannotBeMade, make_backup, remove_unfinished
from firm.backup.proving import NotProved, prove


class Command(BaseCommand):
    help = "Write rows, photos and reports into one file, while people work; it is restored for trial before it counts."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--to", type=Path, default=Path(settings.BACKUP_DIR), help="folder for the file (%(default)s)"
        )
        parser.add_argument("--label", default="backup", help="the word in its name (%(default)s)")
        parser.add_argument(
            "--encrypt-for",
            default=settings.BACKUP_RECIPIENT,
            metavar="AGE1...",
            help="an age public key: only its secret half opens the file (made by backup_key)",
        )
        parser.add_argument("--no-trial", action="store_true", help="do not restore it for trial")

    def handle(self, *, to: Path, label: str, encrypt_for: str, no_trial: bool, **_: Any) -> None:
        remove_unfinished(to)
        try:
            made = make_backup(to, label, encrypt_for, None if no_trial else prove)
        except CannotBeMade as error:
            raise CommandError(str(error)) from error
        except NotProved as error:
            raise CommandError(f"It could not be restored for trial and is not kept.\n{error}") from error
        self.stdout.write(f"{made.path}")
        self.stdout.write(f"{made.rows} rows, {made.files} files, {made.size} bytes, SHA-256 {made.sha256}")
        if not no_trial:
            self.stdout.write("Restored for trial: every row came back as it was, every file fits its checksum.")
        for name in made.missing_files:
            self.stderr.write(f"A row names this file, and it is not in the media folder: {name}")
