import json

from django.core.management.base import BaseCommand

from inspections.demo.load import is_empty, load_demo


class Command(BaseCommand):
    help = "Put the demo firm into an empty database; a database in use is left as it is. Prints one JSON object."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--password", required=True, help="the password of all demo sign-ins")

    def handle(self, *args, password: str, **options) -> None:
        if not is_empty():
            self.stdout.write(json.dumps({"created": False, "client_link": ""}))
            return
        token = load_demo(password)
        self.stdout.write(json.dumps({"created": True, "client_link": f"/r/{token}/"}))
