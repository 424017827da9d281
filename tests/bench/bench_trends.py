"""How long the trends take, against the plain SQL that would count the same from the records.

    python tests/bench/bench_trends.py                         SQLite, 5,000 visits
    DATABASE_URL=postgres://... python tests/bench/bench_trends.py   PostgreSQL, 100,000 visits, 1,000,000 findings

The database must be one of its own: an empty one is filled by bulk insert with the planted rates of
`inspections.demo.history`; one that is filled already is used as it is. Prints one JSON line for each figure: {figure,
value, unit, floor, ratio, target, holds}. A page is a whole request through the application, in this process; its floor
is the bare SQL that counts the visits behind its main table, run in turns with it. On a busy machine the processor time
of this process, without the database's, says more than the clock.
"""

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
PAGE_MS, REBUILD_S, TARGET, ROUNDS = 300, 120, 1.5, 15

FROM = """FROM visits_visit v JOIN properties_property p ON p.id = v.property_id"""
FINISHED = "v.state IN ('handed_in', 'released')"
NOTICED = "f.removed_at IS NULL AND f.action <> 'sound'"
PER_DEFECT = f"""SELECT f.defect_id, COUNT(DISTINCT f.visit_id) {FROM} JOIN findings_finding f ON f.visit_id = v.id
    WHERE {FINISHED} AND {NOTICED} {{narrow}} GROUP BY f.defect_id"""
PER_LINK = PER_DEFECT.replace("f.defect_id", "f.link")
PER_WORD = PER_DEFECT.replace("f.defect_id", "f.action")
PER_COUNTY = PER_DEFECT.replace("f.defect_id", "p.county")
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
    "do we judge alike": ("/trends/alike/", (PER_WORD.replace("f.action", "v.inspector_id, f.action"),), ""),
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


def prepare():
    import django

    django.setup()
    from django.core.management import call_command

    from firm.people.models import User
    from inspections.demo.history import plant
    from inspections.findings.models import Finding
    from inspections.visits.models import Visit

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    manager, _ = User.objects.get_or_create(username="bench-manager", defaults={"is_manager": True})
    if not Visit.objects.exists():
        people = [
            User.objects.create(username=f"bench-{n}", first_name=f"No. {n}", is_inspector=True) for n in range(20)
        ]
        begun = time.perf_counter()
        plant(min(VISITS, 5_000), people, days=4000, scale=1.6, kinds=("level",))
        multiply(VISITS // 5_000)
        line("planting", time.perf_counter() - begun, "s", None, None, True)
    line("visits", Visit.objects.count(), "visits", None, VISITS, Visit.objects.count() >= VISITS)
    line("findings", Finding.objects.count(), "findings", None, 10 * VISITS, Finding.objects.count() >= 10 * VISITS)
    return manager


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


def rebuilding():
    from django.db import connection

    from inspections.trends.keeping import rebuild

    if IS_POSTGRES:  # as its own upkeep would have by then
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    begun, used = time.perf_counter(), time.process_time()
    rebuild()
    took, used = time.perf_counter() - begun, time.process_time() - used
    line("rebuild of the whole index", took, "s", None, REBUILD_S, took < REBUILD_S)
    line("rebuild, processor time of this process", used, "s", None, REBUILD_S, used < REBUILD_S)
    with connection.cursor() as cursor:
        if IS_POSTGRES:
            cursor.execute("ANALYZE")


def one_visit():
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
    for figure, (path, statements, narrow) in PAGES.items():
        client.get(path)
        values, floors, used = [], [], time.process_time()
        for turn in range(ROUNDS):
            begun = time.perf_counter()
            answer = client.get(path)
            values.append((time.perf_counter() - begun) * 1000)
            assert answer.status_code == 200, f"{path}: {answer.status_code}"
            if turn < 3:  # the bare SQL is slow and steady
                floors.append(bare(statements, narrow))
        used = (time.process_time() - used) * 1000 / ROUNDS
        value, floor = statistics.median(values), statistics.median(floors)
        line(f"page, processor time: {figure}", used, "ms", None, PAGE_MS, used < PAGE_MS)
        line(f"page: {figure}", value, "ms", floor, PAGE_MS, value < PAGE_MS)
        line(f"page against bare SQL: {figure}", value, "ms", floor, TARGET, value / floor <= TARGET)


def bare(statements, narrow):
    from django.db import connection

    begun = time.perf_counter()
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement.format(narrow=narrow))
            cursor.fetchall()
    return (time.perf_counter() - begun) * 1000


if __name__ == "__main__":
    who = prepare()
    rebuilding()
    one_visit()
    pages(who)
