"""`python3 manage.py backup_key FILE`: a pair of keys for encrypted backups."""

import os
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

import pyrage
from django.core.management.base import BaseCommand, CommandError


class Command(BaseCommand):
    help = "Write a new age secret key into FILE and print the public key. Keep FILE away from this machine."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *, file: Path, **_: Any) -> None:
        identity = pyrage.x25519.Identity.generate()
        try:
            with os.fdopen(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w", encoding="ascii") as out:
                out.write(f"# public key: {identity.to_public()}\n{identity}\n")
        except OSError as error:
            raise CommandError(f"{file}: {error.strerror}") from error
        self.stdout.write(f"BACKUP_RECIPIENT={identity.to_public()}")
        self.stdout.write(
            f"The secret half is in {file}. Take it off this machine and keep it twice: without it no backup opens."
        )
