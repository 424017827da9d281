"""Two hundred people at once for a minute on a real gunicorn: errors, how long pages and savings take, and memory.

    DATABASE_URL=postgres://…/an_empty_database CELERY_BROKER_URL=redis://…/7 python tests/bench/bench_load.py

Without the two it runs on SQLite and a folder. BENCH_PEOPLE, BENCH_SECONDS and BENCH_PAUSE_S change its size: each
person looks at a page or saves a finding, then reads for so many seconds on average (exponential, mean 4 s: common
practice, no published source) before the next. Three in twenty of what is done by inspectors is a finding saved. The
server is started as docker-compose.yml does (BENCH_GUNICORN: otherwise), on the loopback, and stopped at the end. The
floor is the plainest page of the same server, asked by one person alone just before: same frame, session and database.

Only a quiet machine says anything: the people are threads of this process, and take their share of the cores. How much
of the machine others used meanwhile is printed with the figures.
"""

import http.client
import json
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.parse
from collections import Counter
from pathlib import Path
from threading import Thread

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
from tests.bench.serving import free_port, wait_for  # noqa: E402  (the path is set above)

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")
os.environ.setdefault("SOUNDINGS_DATA", tempfile.mkdtemp(prefix="bench-load-"))
os.environ["LOG_LEVEL"] = "ERROR"
PEOPLE = int(os.environ.get("BENCH_PEOPLE", "200"))
SECONDS = float(os.environ.get("BENCH_SECONDS", "60"))
PAUSE_S = float(os.environ.get("BENCH_PAUSE_S", "4"))
CSRF = "b" * 32
SERVERS = ("postgres", "redis-server")
GUNICORN = os.environ.get("BENCH_GUNICORN", "--workers 3 --threads 8 --keep-alive 0").split()
OFFICE_PAGES = ("/", "/visits/", "/calendar/", "/clients/?q=hallam", "/clients/", "/visits/{visit}/")
INSPECTOR_PAGES = ("/", "/visits/{visit}/", "/visits/{visit}/walk/", "/visits/{visit}/walk/joists/",
                   "/visits/{visit}/findings/")  # fmt: skip
FINDING = {
    "csrfmiddlewaretoken": CSRF, "link": "joists", "title": "Joist end split", "seen": "Split of 9 in at the hanger.",
    "place": "joist 4, house end", "action": "put_right", "how_soon": "three_months", "who": "contractor",
    "meaning": "The hanger no longer holds all of it.", "remedy": "Sister the joist over its whole length.",
}  # fmt: skip


def line(figure, value, unit, floor, target, holds):
    ratio = round(value / floor, 2) if floor else None
    row = {"figure": figure, "value": round(value, 2), "unit": unit, "floor": floor and round(floor, 2), "ratio": ratio}
    print(json.dumps({**row, "target": target, "holds": holds}), flush=True)


def prepare():
    """Half of the people work in the office, half inspect, each inspector a deck of his own."""
    from django.conf import settings
    from django.test import Client
    from django.utils import timezone

    from firm.people.models import User
    from inspections.survey.services import add_part
    from tests.inspections.reports.records import JOISTS
    from tests.make import make_visit

    people = []
    for number in range(PEOPLE):
        is_inspector = bool(number % 2)
        person = User.objects.create_user(f"person-{number}", is_inspector=is_inspector, is_office=not is_inspector)
        if is_inspector:
            visit = make_visit(person, state="under_way", begun_at=timezone.now())
            add_part(visit, "joist_field", by=person, readings=JOISTS)
        browser = Client()
        browser.force_login(person)
        cookie = f"{settings.SESSION_COOKIE_NAME}={browser.cookies[settings.SESSION_COOKIE_NAME].value}"
        people.append((is_inspector, cookie, visit.pk if is_inspector else None))
    visits = [visit for _, _, visit in people if visit]
    return [(inspects, cookie, visit or random.choice(visits)) for inspects, cookie, visit in people]


class Person:
    """Somebody signed in, over one connection that is opened anew when the server closes it."""

    def __init__(self, port, is_inspector, cookie, visit):
        self.port, self.is_inspector, self.visit = port, is_inspector, visit
        self.wire = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.headers = {"Cookie": f"{cookie}; csrftoken={CSRF}", "Origin": f"http://127.0.0.1:{port}"}

    def ask(self, method, path, form=None):
        """What came (a status, or the kind of error) and how many milliseconds it took."""
        body, headers = None, self.headers
        if form:
            body, headers = (
                urllib.parse.urlencode(form),
                {**headers, "Content-Type": "application/x-www-form-urlencoded"},
            )
        begun = time.perf_counter()
        try:
            self.wire.request(method, path, body, headers)
            answer = self.wire.getresponse()
            answer.read()
            came = answer.status
        except (OSError, http.client.HTTPException) as error:
            came = type(error).__name__
            self.wire.close()
        return came, (time.perf_counter() - begun) * 1000

    def live(self, begin, until, told, seed):
        draw = random.Random(seed)
        time.sleep(max(0, begin - time.perf_counter()) + draw.random() * PAUSE_S)  # not all in the same instant
        while time.perf_counter() < until:
            if self.is_inspector and draw.random() < 0.15:
                told.append(("save", *self.ask("POST", f"/visits/{self.visit}/findings/new/", FINDING)))
            else:
                pages = INSPECTOR_PAGES if self.is_inspector else OFFICE_PAGES
                told.append(("read", *self.ask("GET", draw.choice(pages).format(visit=self.visit))))
            time.sleep(min(draw.expovariate(1 / PAUSE_S), max(0, until - time.perf_counter())))


def processor_s(server):
    """Processor seconds so far: of the whole machine without idling, and of all that belongs to this run."""
    family = {os.getpid(), server.pid}
    ticks = os.sysconf("SC_CLK_TCK")
    spent = [int(one) for one in Path("/proc/stat").read_text().splitlines()[0].split()[1:]]
    ours = 0
    for entry in Path("/proc").iterdir():
        try:
            words = (entry / "stat").read_text().rpartition(")")[2].split() if entry.name.isdigit() else None
            name = (entry / "comm").read_text().strip() if words else ""
        except OSError:
            continue  # it ended while we looked
        parent = int(words[1]) if words else 0
        if words and (family & {int(entry.name), parent} or name in SERVERS):
            ours += int(words[11]) + int(words[12])
    return (sum(spent) - spent[3] - spent[4]) / ticks, ours / ticks


def memory_mib(server):
    """Resident memory of the web processes that the server started."""
    children = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text().split()
    pages = [int(Path(f"/proc/{pid}/statm").read_text().split()[1]) for pid in children]
    return sum(pages) * os.sysconf("SC_PAGE_SIZE") / 1_048_576


def p95(values):
    return statistics.quantiles(values, n=20)[-1] if len(values) > 1 else 0.0


def measure():
    from django.db import connection

    people = prepare()
    where, port = connection.vendor, free_port()
    connection.close()
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "firm.wsgi", "--bind", f"127.0.0.1:{port}", *GUNICORN,
         "--timeout", "60", "--no-control-socket", "--log-level", "error"],
        cwd=ROOT,
        env={**os.environ, "PUBLIC_URL": f"http://127.0.0.1:{port}"},
    )  # fmt: skip
    told = []
    try:
        wait_for(port)
        crowd = [Person(port, *one) for one in people]
        for person in crowd[:2] * 6:  # each web process has then read its code
            for path in INSPECTOR_PAGES if person.is_inspector else OFFICE_PAGES:
                person.ask("GET", path.format(visit=person.visit))
        floor = statistics.median(crowd[0].ask("GET", "/password/")[1] for _ in range(30))
        begin, (busy, ours) = time.perf_counter() + 0.5, processor_s(server)
        threads = [
            Thread(target=person.live, args=(begin, begin + SECONDS, told, seed)) for seed, person in enumerate(crowd)
        ]
        for thread in threads:
            thread.start()
        time.sleep(0.5 + SECONDS / 4)
        early_mib = memory_mib(server)
        for thread in threads:
            thread.join()
        late_mib = memory_mib(server)
        took_s = time.perf_counter() - begin
        busy, ours = (now - before for now, before in zip(processor_s(server), (busy, ours), strict=True))
    finally:
        server.terminate()
        server.wait(timeout=30)
    report(told, floor, early_mib, late_mib, where, ours / took_s, busy / took_s)


def report(told, floor, early_mib, late_mib, where, ours, busy):
    of = f"{PEOPLE} people, {SECONDS:g} s, {where}"
    good = {"read": {200}, "save": {302}}
    wrong = Counter(f"{kind} {came}" for kind, came, _ in told if came not in good[kind])
    line(f"load: answers that are not as they should be {dict(wrong) or ''}; {of}", wrong.total(), "answers", None, 0,
         bool(told) and not wrong)  # fmt: skip
    for kind, figure, most_ms in (("read", "reading a page", 500), ("save", "saving a finding", 700)):
        took = [ms for one, _, ms in told if one == kind]
        value = p95(took)
        line(f"load: {figure}, 95th percentile of {len(took)}; {of}", value, "ms", floor, most_ms,
             len(took) > 1 and value <= most_ms)  # fmt: skip
    line(f"load: answers; {of}", len(told) / SECONDS, "a second", None, None, bool(told))
    line(f"load: processors used by this run with its servers; {of}", ours, "cores", None, None, True)
    line(f"load: processors used by others meanwhile; {of}", busy - ours, "cores", None, 0.2,
         busy - ours <= 0.2)  # fmt: skip
    figure = f"load: memory of the web processes at the end, floor a quarter into the run; {of}"
    line(figure, late_mib, "MiB", early_mib, 1.1, late_mib <= 1.1 * early_mib)


if __name__ == "__main__":
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    measure()
