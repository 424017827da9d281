"""How long the pages of the main path take against the plainest page of the same server, and their queries.

    python tests/bench/bench_pages.py

Prints one JSON line for each figure: {figure, value, unit, floor, ratio, target, holds}. The floor of a page is the
page on which one changes one's password: the same frame, session and person, and nothing else to show. Both are the
median of many requests over one open connection to a real gunicorn with one worker and SQLite, taken by turns, so that
both meet the same disturbances. A page of the walk is measured as it is looked at again (the engine's answer kept) and,
for itself, as it is just after an entry, when the engine answers anew; its target is in milliseconds, from the entry to
the verdict shown. The queries are counted before and after the firm has three times as many visits: they must not grow.
"""

import http.client
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.parse
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
from tests.bench.serving import free_port, wait_for  # noqa: E402  (the path is set above)

DATA = tempfile.mkdtemp(prefix="soundings-bench-")
os.environ.update(SOUNDINGS_DATA=DATA, DJANGO_SETTINGS_MODULE="firm.settings", LOG_LEVEL="ERROR")
PASSWORD = "a password for the bench"
FLOOR = "/password/"
TARGET = 3.0
ENTRY_MS = 300
ROUNDS = 30
PAGES = {
    "office": {"today": "/", "visits": "/visits/", "book a visit": "/visits/book/", "a visit": "/visits/{slope}/"},
    "inspector": {
        "today of an inspector": "/",
        "the walk": "/visits/{begun}/walk/",
        "the walk, ledger": "/visits/{begun}/walk/ledger/",
        "the walk, joists": "/visits/{begun}/walk/joists/",
        "findings": "/visits/{begun}/findings/",
    },
    "manager": {"release desk": "/review/", "what recurs": "/trends/"},
}


def line(figure, value, unit, floor, target, most=None):
    """`target` bounds the ratio; or `most` bounds the value itself."""
    ratio = round(value / floor, 2)
    said = {
        "figure": figure,
        "value": round(value, 2),
        "unit": unit,
        "floor": round(floor, 2),
        "ratio": ratio,
    }
    holds = ratio <= target if most is None else value <= most
    print(json.dumps({**said, "target": target if most is None else most, "holds": holds}), flush=True)


class Visitor:
    """Somebody signed in over one open connection."""

    def __init__(self, port, name):
        self.port, self.wire, self.cookie = port, http.client.HTTPConnection("127.0.0.1", port), ""
        page = self.ask("GET", "/sign-in/")
        token = re.search(rb'name="csrfmiddlewaretoken" value="([^"]+)"', page)[1].decode()
        self.ask("POST", "/sign-in/", {"csrfmiddlewaretoken": token, "username": name, "password": PASSWORD})

    def ask(self, method, path, form=None):
        headers = {"Cookie": self.cookie, "Origin": f"http://127.0.0.1:{self.port}"}
        body = None
        if form is not None:
            body = urllib.parse.urlencode(form)
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        self.wire.request(method, path, body, headers)
        answer = self.wire.getresponse()
        text = answer.read()
        if fresh := answer.headers.get_all("Set-Cookie"):
            held = dict(part.split("=", 1) for part in self.cookie.split("; ") if part)
            held.update(one.split(";")[0].split("=", 1) for one in fresh)
            self.cookie = "; ".join(f"{name}={value}" for name, value in held.items())
        if answer.status >= 400:
            raise RuntimeError(f"{path}: {answer.status}")
        return text

    def milliseconds(self, path):
        begun = time.perf_counter()
        self.ask("GET", path)
        return (time.perf_counter() - begun) * 1000


def prepare():
    """The demo firm without its photos, and the addresses of two of its visits."""
    import django

    django.setup()
    from django.core.management import call_command

    from inspections.demo import load
    from inspections.visits.models import Visit

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    load._take = lambda *args, **more: None
    load.load_demo(PASSWORD)
    street = {"slope": "41 Kestrel Rise", "begun": "31 Heron Walk"}
    return {name: Visit.objects.get(property__street=where).pk for name, where in street.items()}


def speed(visits):
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "firm.wsgi", "-b", f"127.0.0.1:{port}", "-w", "1", "--log-level", "error"],
        cwd=ROOT,
        env={**os.environ, "PUBLIC_URL": f"http://127.0.0.1:{port}"},
    )
    try:
        wait_for(port)
        for name, pages in PAGES.items():
            visitor = Visitor(port, name)
            for figure, path in pages.items():
                against_the_floor(visitor, figure, path.format(**visits))
        after_an_entry(Visitor(port, "inspector"), visits)
    finally:
        server.terminate()
        server.wait(timeout=10)


def against_the_floor(visitor, figure, path):
    for warm in (FLOOR, path):
        visitor.milliseconds(warm)
    pairs = [(visitor.milliseconds(FLOOR), visitor.milliseconds(path)) for _ in range(ROUNDS)]
    floors, values = zip(*pairs, strict=True)
    line(f"page: {figure}", statistics.median(values), "ms", statistics.median(floors), TARGET)


def after_an_entry(visitor, visits):
    """The joists' page while their span changes: the engine must answer anew each time."""
    from inspections.survey.models import Reading

    span = Reading.objects.get(part__visit=visits["begun"], part__kind="joist_field", fact="span_in")
    path = f"/visits/{visits['begun']}/walk/joists/"
    floors, values = [], []
    for turn in range(ROUNDS):
        Reading.objects.filter(pk=span.pk).update(value=120 + turn / 8)
        floors.append(visitor.milliseconds(FLOOR))
        values.append(visitor.milliseconds(path))
    figure = "page: the walk, joists, just after an entry"
    line(figure, statistics.median(values), "ms", statistics.median(floors), None, most=ENTRY_MS)


def queries(visits):
    """The number of queries of each page, before and after the firm has three times as many visits."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from firm.people.models import User
    from inspections.visits.models import Visit

    def count(name, path):
        client = Client(headers={"host": "127.0.0.1"})
        client.force_login(User.objects.get(username=name))
        client.get(path)
        with CaptureQueriesContext(connection) as asked:
            client.get(path)
        return len(asked)

    pages = [(name, path.format(**visits)) for name, paths in PAGES.items() for path in paths.values()]
    first = {page: count(*page) for page in pages}
    for visit in list(Visit.objects.all()):
        for _ in range(2):
            visit.pk = None
            visit.save()
    for (name, path), few in first.items():
        many = count(name, path)
        line(f"queries: {name} {path}", many, "queries", few, 1.0)


if __name__ == "__main__":
    found = prepare()
    speed(found)
    queries(found)
