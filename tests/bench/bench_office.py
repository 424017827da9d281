"""Search and calendar of a firm with 20,000 clients and 100,000 visits.

    python tests/bench/bench_office.py                                    on SQLite, in a folder of its own
    DATABASE_URL=postgres://…/an_empty_database python tests/bench/bench_office.py

One JSON object a line. A page is asked for through Django's test client, templates and middleware included; the floor
is the bare SQL for the same rows through the same connection, in the same run. Names are drawn from syllables with a
fixed seed; a firm of eight inspectors makes four visits each on every working day of twelve years.
"""

import json
import os
import random
import statistics
import sys
import tempfile
import time as clock
from datetime import datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")
os.environ.setdefault("SOUNDINGS_DATA", tempfile.mkdtemp(prefix="bench-office-"))
os.environ["LOG_LEVEL"] = "ERROR"

CLIENTS, VISITS, INSPECTORS, A_DAY = 20_000, 100_000, 8, 4
SEARCH_MS, WEEK_MS, LISTS_MS, ROUNDS = 150, 100, 500, 25
_SYLLABLES = (
    "ba be bi bo da de di do ka ke la le li lo ma me mi na ne no pa ra re ri ro sa se so ta te ti to va ve vi "
    "han sen ton ley man son ford field"
)
draw = random.Random(17)


def word(syllables):
    return "".join(draw.choices(_SYLLABLES.split(), k=syllables))


def line(figure, value, unit, floor, target):
    ratio = round(value / floor, 2) if floor else None
    row = {"figure": figure, "value": round(value, 2), "unit": unit, "floor": round(floor, 2), "ratio": ratio}
    print(json.dumps({**row, "target": target, "holds": value <= target}), flush=True)


def fill():
    from django.utils import timezone

    from firm.clients.models import Client
    from firm.people.models import User
    from firm.properties.models import Property
    from inspections.visits.models import Visit

    clients = []
    for number in range(CLIENTS):
        first, last = word(2), word(3)
        client = Client(name=f"{first} {last}".title(), email=f"{first}.{last}@mail.example")
        client.phone = f"207 55{number % 10} {number:05d}"
        client.set_search_words()
        clients.append(client)
    houses = []
    for client in clients:
        house = Property(street=f"{draw.randint(1, 300)} {word(3).title()} Lane", town=word(3).title(), region="Maine")
        house.search_text = address_key(house.street, house.town, house.region)
        client.search_all = f" {client.search_text} {house.search_text} "
        houses.append(house)
    Client.objects.bulk_create(clients, batch_size=2000)
    for client, house in zip(clients, houses, strict=True):
        house.client = client
    Property.objects.bulk_create(houses, batch_size=2000)
    people = [User.objects.create_user(f"inspector-{n}", is_inspector=True) for n in range(INSPECTORS)]
    day = timezone.localdate() - timedelta(days=timezone.localdate().weekday()) + timedelta(days=28)
    visits = []
    while len(visits) < VISITS:
        if day.weekday() < 5:
            for person in people:
                for hour in range(8, 8 + 2 * A_DAY, 2):
                    number = draw.randrange(CLIENTS)
                    starts_at = timezone.make_aware(datetime(day.year, day.month, day.day, hour))
                    state = "booked" if starts_at > timezone.now() else "released"
                    visit = Visit(client=clients[number], property=houses[number], inspector=person, state=state)
                    visit.starts_at = starts_at
                    visit.set_times()
                    visits.append(visit)
        day -= timedelta(days=1)
    Visit.objects.bulk_create(visits, batch_size=2000)
    User.objects.create_user("office", is_office=True)


def median_ms(call, rounds=ROUNDS):
    call()
    times = []
    for _ in range(rounds):
        begun = clock.perf_counter()
        call()
        times.append((clock.perf_counter() - begun) * 1000)
    return statistics.median(times)


def searches(clients, houses):
    """What a caller says: kind of search -> words."""
    some = draw.sample(range(CLIENTS), 10)
    names = [clients[number].name for number in some]
    return {
        "a name": names,
        "two letters": [name[:2] for name in names],
        "a misspelt name": [_slip(name) for name in names],
        "a telephone number": [clients[number].phone for number in some],
        "an address": [f"{houses[number].street} {houses[number].town}" for number in some],
        "a misspelt street": [_slip(houses[number].street) for number in some],
        "nobody at all": ["Zyxwvut Qqqq", "xylophone quartz"],
    }


def _slip(text):
    """Two letters the wrong way round, in the longest word."""
    longest = max(text.split(), key=len)
    at = len(longest) // 2
    return text.replace(longest, longest[: at - 1] + longest[at] + longest[at - 1] + longest[at + 1 :])


def bare(sql, *parameters):
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return cursor.fetchall()


def measure(clients, houses, office):
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext
    from django.utils import timezone

    from inspections.visits.clock import firm_day

    where = connection.vendor
    browser = Client(headers={"host": "127.0.0.1"})
    browser.force_login(office)
    fragment = {"HX-Request": "true", "HX-Target": "found"}
    plain = "SELECT id, name FROM clients_client WHERE search_all LIKE %s ORDER BY name LIMIT 8"
    for kind, texts in searches(clients, houses).items():
        longest = [f"%{max(text.lower().split(), key=len)}%" for text in texts]
        floor = median_ms(lambda longest=longest: [bare(plain, text) for text in longest], 5) / len(texts)

        def ask(texts=texts):
            for text in texts:
                answer = browser.post("/visits/book/", {"find": "1", "q": text}, headers=fragment)
                assert answer.status_code == 200

        line(f"search while booking, {kind}, {where}", median_ms(ask, 5) / len(texts), "ms", floor, SEARCH_MS)
    client = clients[draw.randrange(CLIENTS)]
    for figure, path in (
        ("search in the list of clients", f"/clients/?q={client.name.split()[1]}"),
        ("list of clients", "/clients/"),
        ("search in all visits", f"/visits/?period=all&q={client.name.split()[1]}"),
    ):
        floor = median_ms(lambda: bare(plain, f"%{client.name.split()[1].lower()}%"))
        line(f"{figure}, {where}", median_ms(lambda path=path: browser.get(path)), "ms", floor, SEARCH_MS)
    floor = median_ms(lambda: bare("SELECT state, count(*) FROM visits_visit GROUP BY state"), 5)
    line(
        f"lists of the day, each counted, {where}", median_ms(lambda: browser.get("/lists/"), 5), "ms", floor, LISTS_MS
    )
    today = timezone.localdate()
    monday = today - timedelta(days=today.weekday())
    rows = """SELECT v.*, c.*, p.*, u.* FROM visits_visit v JOIN clients_client c ON c.id = v.client_id
        JOIN properties_property p ON p.id = v.property_id JOIN people_user u ON u.id = v.inspector_id
        WHERE v.starts_at >= %s AND v.starts_at < %s ORDER BY v.starts_at"""
    span = (firm_day(monday)[0], firm_day(monday + timedelta(days=6))[1])
    span = span if where == "postgresql" else [moment.replace(tzinfo=None).isoformat(" ") for moment in span]
    visits = len(bare(rows, *span))
    floor = median_ms(lambda: bare(rows, *span))
    value = median_ms(lambda: browser.get(f"/calendar/?view=week&day={monday}"))
    line(f"week view of {visits} visits, {where}", value, "ms", floor, WEEK_MS)
    counts = {}
    for name, day in (("full", monday), ("empty", today + timedelta(days=900))):
        with CaptureQueriesContext(connection) as asked:
            browser.get(f"/calendar/?view=week&day={day}")
        counts[name] = len(asked)
    line(f"queries of the week view, {where}", counts["full"], "queries", counts["empty"], counts["empty"])


if __name__ == "__main__":
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection, transaction

    from firm.clients.keys import address_key
    from firm.clients.models import Client
    from firm.people.models import User
    from firm.properties.models import Property

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    if not Client.objects.exists():  # a database that is filled already is measured as it is
        with transaction.atomic():
            fill()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    houses = list(Property.objects.select_related("client").order_by("pk"))
    measure([house.client for house in houses], houses, User.objects.get(username="office"))
