from django.core.management.base import BaseCommand, CommandParser

from inspections.findings.catalogue import load_catalogue


class Command(BaseCommand):
    help = "Adds the defects that the program comes with to the firm's catalogue; safe to run again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--overwrite", action="store_true", help="give entries that the firm has changed the program's words again"
        )

    def handle(self, *args, **options) -> None:
        added, rewritten = load_catalogue(overwrite=options["overwrite"])
        self.stdout.write(f"{added} added, {rewritten} rewritten.")
