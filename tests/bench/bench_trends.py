"""How long the trends take, against the plain SQL that would count the same from the records.

    python tests/bench/bench_trends.py                         SQLite, 5,000 visits
    DATABASE_URL=postgres://... python tests/bench/bench_trends.py   PostgreSQL, 100,000 visits, 1,000,000 findings
    python tests/bench/bench_trends.py load rebuild visit pages      these are its steps; named, only those are run

The database must be one of its own: an empty one is filled with the planted rates of `inspections.demo.history`, some
thousand visits by bulk insert and copies of them made by the database; one that is filled already is used as it is.
Prints one JSON line for each figure: {figure, value, unit, floor, ratio, target, holds}. A page is a whole request
through the application, in this process; its floor is the bare SQL that counts the visits behind its main table from
the records, run beside it, and the counts of the first page must be those of the bare SQL. On a busy machine the
processor time of this process, without the database's, says more than the clock.
"""

import csv
import io
import json
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
os.environ.setdefault("SOUNDINGS_DATA", tempfile.mkdtemp(prefix="soundings-bench-"))
os.environ.update(DJANGO_SETTINGS_MODULE="firm.settings", LOG_LEVEL="ERROR")
IS_POSTGRES = "DATABASE_URL" in os.environ
VISITS = int(os.environ.get("BENCH_VISITS", 100_000 if IS_POSTGRES else 5_000))
PLANTED = 2_500 if IS_POSTGRES else 5_000  # written one by one; the others are copies of them
PAGE_MS, REBUILD_S, TARGET, ROUNDS = 300, 120, 1.5, 15
SLOW_MS = 1000  # bare SQL that takes longer than this is measured once

FROM = """FROM visits_visit v JOIN properties_property p ON p.id = v.property_id"""
FINISHED = "v.state IN ('handed_in', 'released')"
NOTICED = "f.removed_at IS NULL AND f.action <> 'sound'"


def visits_per(key):
    """Bare SQL: in how many visits something was noticed, for each value of `key`."""
    return f"""SELECT {key}, COUNT(DISTINCT f.visit_id) {FROM} JOIN findings_finding f ON f.visit_id = v.id
        WHERE {FINISHED} AND {NOTICED} {{narrow}} GROUP BY {key}"""


PER_DEFECT, PER_LINK, PER_WORD, PER_COUNTY = map(visits_per, ("f.defect_id", "f.link", "f.action", "p.county"))
OF_COUNTY = f"SELECT p.county, COUNT(*) {FROM} WHERE {FINISHED} {{narrow}} GROUP BY p.county"
PAIRS = f"""SELECT a.defect_id, b.defect_id, COUNT(DISTINCT a.visit_id) FROM findings_finding a
    JOIN findings_finding b ON a.visit_id = b.visit_id AND a.defect_id < b.defect_id
    JOIN visits_visit v ON v.id = a.visit_id WHERE {FINISHED} AND a.action <> 'sound' AND b.action <> 'sound'
    GROUP BY a.defect_id, b.defect_id"""
RATES = (PER_DEFECT, PER_LINK, PER_WORD, PER_COUNTY, OF_COUNTY)
PAGES = {
    "what recurs": ("/trends/?cut=county", RATES, ""),
    "what recurs, three cuts": (
        "/trends/?cut=county&decade=1980&exposure=inland&purpose=whole_deck",
        RATES,
        "AND p.deck_year_built BETWEEN 1980 AND 1989 AND NOT p.is_near_salt_water AND v.purpose = 'whole_deck'",
    ),
    "what changed": ("/trends/changed/", (PER_DEFECT, PER_DEFECT), ""),
    "what comes together": ("/trends/together/", (PAIRS,), ""),
    "until repaired": ("/trends/repaired/", (PER_DEFECT,), ""),
    "measured": ("/trends/measured/", (PER_DEFECT,), ""),
    "do we judge alike": ("/trends/alike/", (visits_per("v.inspector_id, f.action"),), ""),
    "the visits behind a number": ("/trends/visits/?link=edge", (PER_LINK,), ""),
}


def line(figure, value, unit, floor, target, holds):
    ratio = round(value / floor, 2) if floor else None
    said = {
        "figure": figure,
        "value": round(value, 2),
        "unit": unit,
        "floor": floor and round(floor, 2),
        "ratio": ratio,
    }
    print(json.dumps({**said, "target": target, "holds": holds}), flush=True)


def set_up():
    import django

    django.setup()
    from django.core.management import call_command

    from firm.people.models import User

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    manager, _ = User.objects.get_or_create(username="bench-manager", defaults={"is_manager": True})
    return manager


def load(manager):
    """Fill an empty database."""
    from firm.people.models import User
    from inspections.demo.history import plant
    from inspections.findings.models import Finding
    from inspections.visits.models import Visit

    if not Visit.objects.exists():
        people = [
            User.objects.create(username=f"bench-{n}", first_name=f"No. {n}", is_inspector=True) for n in range(20)
        ]
        begun = time.perf_counter()
        plant(min(VISITS, PLANTED), people, days=4000, scale=1.6, kinds=("level",))
        multiply(VISITS // PLANTED)
        analyze()
        line("loading", time.perf_counter() - begun, "s", None, None, True)
    line("visits", Visit.objects.count(), "visits", None, VISITS, Visit.objects.count() >= VISITS)
    line("findings", Finding.objects.count(), "findings", None, None, None)  # about ten a visit, as drawn


def analyze():
    """As the database's own upkeep would have done by then."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def multiply(times):
    """Copies of every planted row but the inspectors, made inside PostgreSQL: inserting a million by hand takes hours.

    The copies of a visit stand at the same hour, so the rule against double booking is lifted in this database.
    """
    if times < 2:
        return
    from django.db import connection
    from django.db.models import UUIDField

    from firm.clients.models import Client
    from firm.properties.models import Property
    from inspections.findings.models import Finding
    from inspections.survey.models import Part, Reading
    from inspections.trends.models import MeasuredRecord
    from inspections.visits.models import Visit

    copied = (Client, Property, Visit, Finding, Part, Reading, MeasuredRecord)
    with connection.cursor() as cursor:
        cursor.execute("SELECT conname FROM pg_constraint WHERE contype = 'x' AND conrelid = 'visits_visit'::regclass")
        for (name,) in cursor.fetchall():
            cursor.execute(f'ALTER TABLE visits_visit DROP CONSTRAINT "{name}"')
        stride = {model: model.objects.order_by("-pk").first().pk for model in (Client, Property, Visit, Reading)}

        def copy_of(field):
            key = field.related_model if field.is_relation else field.model if field.primary_key else None
            target = (key._meta.pk.remote_field.model if key and key._meta.pk.is_relation else key) or None
            if target in stride:
                return f"{field.column} + k * {stride[target]}"
            if target in copied and isinstance(target._meta.pk, UUIDField):
                return f"md5({field.column}::text || k)::uuid"
            return field.column

        for model in copied:
            fields = model._meta.concrete_fields
            columns = ", ".join(f'"{field.column}"' for field in fields)
            copies = ", ".join(map(copy_of, fields))
            table = model._meta.db_table
            cursor.execute(
                f"INSERT INTO {table} ({columns}) SELECT {copies} FROM {table}, generate_series(1, %s) k", [times - 1]
            )


def rebuilding(manager):
    from inspections.trends.keeping import rebuild

    begun, used = time.perf_counter(), time.process_time()
    rebuild()
    took, used = time.perf_counter() - begun, time.process_time() - used
    line("rebuild of the whole index", took, "s", None, REBUILD_S, took < REBUILD_S)
    line("rebuild, processor time of this process", used, "s", None, REBUILD_S, used < REBUILD_S)
    analyze()


def one_visit(manager):
    """Bringing the index up to date with one visit."""
    from inspections.trends.keeping import refresh
    from inspections.visits.models import Visit

    took = []
    for pk in Visit.objects.order_by("?").values_list("pk", flat=True)[:ROUNDS]:
        begun = time.perf_counter()
        refresh([pk])
        took.append((time.perf_counter() - begun) * 1000)
    value = statistics.median(took)
    line("one visit counted anew", value, "ms", None, 1000, value < 1000)


def pages(manager):
    from django.test import Client

    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(manager)
    same_counts(client)
    for figure, (path, statements, narrow) in PAGES.items():
        client.get(path)
        values, used = [], time.process_time()
        for _ in range(ROUNDS):
            begun = time.perf_counter()
            answer = client.get(path)
            values.append((time.perf_counter() - begun) * 1000)
            assert answer.status_code == 200, f"{path}: {answer.status_code}"
        used = (time.process_time() - used) * 1000 / ROUNDS
        floors = [bare(statements, narrow)]
        while floors[0] < SLOW_MS and len(floors) < ROUNDS:
            floors.append(bare(statements, narrow))
        value, floor = statistics.median(values), statistics.median(floors)
        line(f"page, processor time: {figure}", used, "ms", None, PAGE_MS, used < PAGE_MS)
        line(f"page: {figure}", value, "ms", floor, PAGE_MS, value < PAGE_MS)
        line(f"page against bare SQL: {figure}", value, "ms", floor, TARGET, value / floor <= TARGET)
        line(f"of it, the page's own queries: {figure}", own_queries(client, path), "ms", None, None, True)


def bare(statements, narrow):
    begun = time.perf_counter()
    for statement in statements:
        rows_of(statement.format(narrow=narrow))
    return (time.perf_counter() - begun) * 1000


def rows_of(statement):
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchall()


def own_queries(client, path):
    """How long the page waits for the database."""
    from django.db import connection

    took = []

    def timed(execute, *args):
        begun = time.perf_counter()
        try:
            return execute(*args)
        finally:
            took.append((time.perf_counter() - begun) * 1000)

    with connection.execute_wrapper(timed):
        client.get(path)
    return sum(took)


def same_counts(client):
    """Every defect on the page has the count that the bare SQL gives it."""
    from inspections.findings.models import Defect

    titles = dict(Defect.objects.values_list("pk", "title"))
    direct = {titles[pk]: count for pk, count in rows_of(PER_DEFECT.format(narrow="")) if pk}
    text = b"".join(client.get("/trends/figures.csv?page=trends").streaming_content).decode()
    rows = [row for row in csv.DictReader(io.StringIO(text)) if row["table"] == "defects"]
    shown = {row["row"]: int(row["visits"]) for row in rows if row["row"] in direct}
    line("defects whose count is that of the bare SQL", len(shown), "defects", None, len(direct), shown == direct)


STEPS = {"load": load, "rebuild": rebuilding, "visit": one_visit, "pages": pages}

if __name__ == "__main__":
    unknown = set(sys.argv[1:]) - STEPS.keys()
    if unknown:
        sys.exit(f"No step {', '.join(sorted(unknown))}. There are: {', '.join(STEPS)}.")
    who = set_up()
    for step in sys.argv[1:] or STEPS:
        STEPS[step](who)
