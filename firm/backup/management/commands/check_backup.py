"""`python3 manage.py check_backup FILE`: is it whole, and does it come back?"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from firm.backup import archive, restoring
from firm.backup.proving import NotProved, prove


class Command(BaseCommand):
    help = "Compare every checksum of a backup, and restore its rows for trial into a database that is thrown away."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--key", type=Path, metavar="FILE", help="file with the secret key of an encrypted backup")
        parser.add_argument("--no-trial", action="store_true", help="compare the checksums only")

    def handle(self, *, file: Path, key: Path | None, no_trial: bool, **_: Any) -> None:
        try:
            with restoring.opened(file, key, Path(settings.DATA_DIR)) as plain:
                manifest = archive.check(plain)
                if not no_trial:
                    prove(plain)
        except (archive.Damaged, restoring.CannotBeRestored, NotProved) as error:
            raise CommandError(f"{file} is no good: {error}") from error
        except FileNotFoundError as error:
            raise CommandError(f"There is no file {error.filename}.") from error
        rows = sum(table["rows"] for table in manifest["tables"].values())
        tried = "checksums only" if no_trial else "restored for trial, every row as it was"
        self.stdout.write(f"{file} is whole: {rows} rows, {manifest['files']} files of {manifest['at']}; {tried}.")
