"""Fifty people of the office book at once for 30 seconds against a running server: nobody is double booked, no 500.

    python tests/bench/bench_booking.py                                    on SQLite, in a folder of its own
    DATABASE_URL=postgres://…/an_empty_database python tests/bench/bench_booking.py

They aim at few inspectors and few days on purpose, so that most of them want an hour that another is just taking. The
answers counted are 302 (booked) and 422 (refused, with the reason); the floor of the rate is bare INSERTs of visits,
each in a transaction of its own, through one connection to the same database.
"""

import http.client
import json
import os
import random
import subprocess
import sys
import tempfile
import time
import urllib.parse
from collections import Counter
from datetime import timedelta
from pathlib import Path
from threading import Thread

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")
os.environ.setdefault("SOUNDINGS_DATA", tempfile.mkdtemp(prefix="bench-booking-"))
os.environ["LOG_LEVEL"] = "ERROR"

PEOPLE, SECONDS, INSPECTORS, DAYS = 50, int(os.environ.get("BENCH_SECONDS", "30")), 4, 60
CSRF = "b" * 32


def line(figure, value, unit, floor, target, holds):
    ratio = round(value / floor, 3) if floor else None
    row = {"figure": figure, "value": round(value, 2), "unit": unit, "floor": floor, "ratio": ratio}
    print(json.dumps({**row, "target": target, "holds": holds}), flush=True)


def prepare():
    from django.conf import settings
    from django.test import Client

    from firm.clients.models import Client as Caller
    from firm.people.models import User
    from firm.properties.models import Property

    caller = Caller.objects.create(name="Ines Hallam")
    house = Property.objects.create(client=caller, street="4 Mill Lane", town="Harrow Point", region="Maine")
    inspectors = [User.objects.create_user(f"inspector-{n}", is_inspector=True).pk for n in range(INSPECTORS)]
    sessions = []
    for number in range(PEOPLE):
        browser = Client()
        browser.force_login(User.objects.create_user(f"office-{number}", is_office=True))
        sessions.append(browser.cookies[settings.SESSION_COOKIE_NAME].value)
    return house, inspectors, sessions, settings.SESSION_COOKIE_NAME


def bare_inserts(house, inspector, seconds=3):
    """INSERTs a second, of visits that are called off: they take nobody's time."""
    from django.db import transaction
    from django.utils import timezone

    from inspections.visits.models import Visit

    done, end = 0, time.perf_counter() + seconds
    while time.perf_counter() < end:
        visit = Visit(client_id=house.client_id, property=house, inspector_id=inspector, starts_at=timezone.now())
        visit.state, visit.called_off_because = Visit.State.CALLED_OFF, "Only to measure."
        with transaction.atomic():
            visit.save(force_insert=True)
        done += 1
    return done / seconds


def book_on_and_on(port, cookie, house, inspectors, until, answers, seed):
    draw = random.Random(seed)
    wire = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    headers = {
        "Cookie": f"{cookie}; csrftoken={CSRF}", "Content-Type": "application/x-www-form-urlencoded",
        "Origin": f"http://127.0.0.1:{port}",
    }  # fmt: skip
    from django.utils import timezone

    while time.perf_counter() < until:
        day = timezone.localdate() + timedelta(days=draw.randint(7, 7 + DAYS))
        fields = {
            "csrfmiddlewaretoken": CSRF, "client": house.client_id, "property": house.pk, "purpose": "whole_deck",
            "inspector": draw.choice(inspectors), "day": day.isoformat(), "length_minutes": draw.choice((45, 60, 90)),
            "time": f"{draw.randint(8, 16)}:{draw.choice((0, 15, 30, 45)):02d}", "travel_minutes": 20,
            "despite": "Only to measure.",
        }  # fmt: skip
        begun = time.perf_counter()
        try:
            wire.request("POST", "/visits/book/", urllib.parse.urlencode(fields), headers)
            answer = wire.getresponse()
            answer.read()
            answers.append((answer.status, time.perf_counter() - begun))
        except OSError as error:
            answers.append((type(error).__name__, time.perf_counter() - begun))
            wire.close()


def serve(port):
    return subprocess.Popen(
        [
            sys.executable, "-m", "gunicorn", "firm.wsgi", "-b", f"127.0.0.1:{port}", "-w", "2", "--threads", "8",
            "--log-level", "error", "--timeout", "120",
        ],
        cwd=ROOT,
        env={**os.environ, "PUBLIC_URL": f"http://127.0.0.1:{port}"},
    )  # fmt: skip


def measure():
    from django.db import connection

    from inspections.visits.models import Visit
    from tests.bench.serving import free_port, wait_for

    where = connection.vendor
    house, inspectors, sessions, cookie = prepare()
    floor = bare_inserts(house, inspectors[0])
    port = free_port()
    server = serve(port)
    answers = []
    try:
        wait_for(port)
        until = time.perf_counter() + SECONDS
        people = [
            Thread(target=book_on_and_on, args=(port, f"{cookie}={one}", house, inspectors, until, answers, number))
            for number, one in enumerate(sessions)
        ]
        for one in people:
            one.start()
        for one in people:
            one.join()
    finally:
        server.terminate()
        server.wait(timeout=30)
    counts = Counter(str(status) for status, _ in answers)
    booked = Visit.objects.filter(state="booked")
    over = [
        (one, other)
        for one in booked
        for other in booked.filter(
            inspector_id=one.inspector_id, pk__gt=one.pk, leaves_at__lt=one.ends_at,
            ends_at__gt=one.leaves_at,
        )
    ]  # fmt: skip
    wrong = len(answers) - counts["302"] - counts["422"]
    line(f"double bookings, {where}", len(over), "pairs", None, 0, not over)
    line(f"answers that are neither booked nor refused {dict(counts)}, {where}", wrong, "answers", None, 0, not wrong)
    line(f"visits on file beside those confirmed, {where}", booked.count() - counts["302"], "visits", None, 0,
         booked.count() == counts["302"])  # fmt: skip
    line(f"bookings and refusals, {where}", len(answers) / SECONDS, "a second", round(floor, 1), None, bool(answers))


if __name__ == "__main__":
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    measure()
