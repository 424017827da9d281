from django.core.management.base import BaseCommand, CommandError

from firm.people.models import User
from inspections.demo.history import NOTE, plant
from inspections.trends.keeping import rebuild
from inspections.visits.models import Visit


class Command(BaseCommand):
    help = "Give the demo firm a past: invented visits with known rates, as if entered from paper, so that trends show."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--visits", type=int, default=400)

    def handle(self, *args, visits: int, **options) -> None:
        inspectors = list(User.objects.filter(is_inspector=True, is_active=True).order_by("pk"))
        if not inspectors:
            raise CommandError("There is no inspector whose visits these could be.")
        if Visit.objects.filter(notes=NOTE).exists():
            raise CommandError("This firm has such a past already.")
        told = plant(visits, inspectors)
        rebuild()
        self.stdout.write(f"{told.visits} visits with {told.findings} findings were written and counted.")
