"""`python3 manage.py restore FILE`: a backup into an empty installation, on either kind of database."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from firm.backup import archive, restoring
from firm.backup.making import CannotBeMade, is_in_use, make_backup
from firm.management.commands.start import hold_the_data_folder, make_folders


class Command(BaseCommand):
    help = "Load a backup, checked before and compared row by row after. Stop Soundings first."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--key", type=Path, metavar="FILE", help="file with the secret key of an encrypted backup")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="the database is not empty: make a backup of it, then put this one in its place",
        )
        parser.add_argument("--rows-only", action="store_true", help="leave photos and reports in the archive")

    def handle(self, *, file: Path, key: Path | None, replace: bool, rows_only: bool, **_: Any) -> None:
        make_folders()
        with hold_the_data_folder():
            try:
                with restoring.opened(file, key, Path(settings.DATA_DIR)) as plain:
                    self._restore(plain, replace, rows_only)
            except archive.Damaged as error:
                raise CommandError(f"{file} was not restored: {error}.") from error
            except (restoring.CannotBeRestored, CannotBeMade) as error:
                raise CommandError(str(error)) from error
            except FileNotFoundError as error:
                raise CommandError(f"There is no file {error.filename}.") from error

    def _restore(self, plain: Path, replace: bool, rows_only: bool) -> None:
        if is_in_use():
            if not replace:
                raise CommandError(
                    "The database is not empty, and nothing was touched. To put this backup in its place:"
                    " --replace (a backup of what is there is made first)."
                )
            archive.check(plain)
            kept = make_backup(Path(settings.BACKUP_DIR), "before-restore", settings.BACKUP_RECIPIENT)
            self.stdout.write(f"What was there is kept in {kept.path}")
            with restoring.marked():
                restoring.empty_the_database()
        done = restoring.restore(plain, with_media=not rows_only, say=self.stdout.write)
        self.stdout.write(f"Restored: {done.rows} rows and {done.files} files of {done.at}.")
        if done.held_mails:
            self.stdout.write(f"{done.held_mails} mails that waited then are held back; see the page Operations.")
        if done.locked_apps:
            self.stdout.write(
                f"Authenticator apps set up under another secret key, which cannot be judged here: {done.locked_apps}."
                " Put that machine's SECRET_KEY (or its file secret-key) in place of this one's; or their owners sign"
                " in with a recovery code and set the app up anew."
            )
        for name in done.missing_files:
            self.stderr.write(f"A row names this file, and the backup does not have it: {name}")
