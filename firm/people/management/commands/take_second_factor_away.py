"""`python3 manage.py take_second_factor_away NAME`: for an administrator who lost it, and has nobody to ask."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from firm.people.models import User
from firm.people.second_factor import take_away


class Command(BaseCommand):
    help = "Take app, passkeys and recovery codes away from somebody; the password stays."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")

    def handle(self, *, username: str, **_: Any) -> None:
        person = User.objects.filter(username=username).first()
        if person is None:
            raise CommandError(f"Nobody here is called {username!r}.")
        if not take_away(person, None):
            raise CommandError(f"{person.display_name} has no second factor.")
        self.stdout.write(f"{person.display_name} now signs in with the password alone.")
