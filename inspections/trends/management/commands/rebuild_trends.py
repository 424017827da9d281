from typing import Any

from django.core.management.base import BaseCommand

from inspections.trends.keeping import rebuild


class Command(BaseCommand):
    help = "Makes the index behind the trends anew from the records. Pages go on showing the old one until it is done."

    def handle(self, *args: Any, **options: Any) -> None:
        told = self.stdout.write if options["verbosity"] else lambda words: None
        count = rebuild(say=told)
        told(f"The trends count {count} visits.")
