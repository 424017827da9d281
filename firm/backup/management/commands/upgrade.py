"""`python3 manage.py upgrade`: what `start` does before it serves, for who runs the processes by other means."""

from io import StringIO
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from firm.backup import keeping, restoring
from firm.backup.making import CannotBeMade, is_in_use, make_backup


class Command(BaseCommand):
    help = "Make a backup if the database has to be changed for this version, change it, and check it."
    requires_system_checks = []

    def handle(self, *_: Any, **__: Any) -> None:
        if restoring.marker().exists():
            raise CommandError("A restore was cut off, so the data is not whole. Run the restore again.")
        if pending() and is_in_use():
            try:
                made = make_backup(Path(settings.BACKUP_DIR), keeping.BEFORE_UPGRADE, settings.BACKUP_RECIPIENT)
            except CannotBeMade as error:
                raise CommandError(f"Nothing was changed. {error}") from error
            keeping.remove_old(Path(settings.BACKUP_DIR))
            self.stdout.write(
                f"Backup before the upgrade: {made.path}\n"
                "The way back: install the version from before and give it this file: `manage.py restore --replace`."
            )
        call_command("migrate", verbosity=0, interactive=False)
        call_command("check", stdout=StringIO())


def pending() -> bool:
    """Whether this version's migrations are not all applied."""
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
