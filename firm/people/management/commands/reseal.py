"""`python3 manage.py reseal`: after SECRET_KEY changed; then the former one may leave SECRET_KEY_FALLBACKS."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from firm.people.second_factor import reseal


class Command(BaseCommand):
    help = "Put the keys of authenticator apps under the present SECRET_KEY."

    def handle(self, **_: Any) -> None:
        if locked := reseal():
            raise CommandError(
                f"Sealed with a secret that is not known here, and left as they are: {locked}."
                " All others are under the present SECRET_KEY."
            )
        self.stdout.write("All keys are under the present SECRET_KEY.")
