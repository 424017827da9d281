"""How long 50,000 clients take from a CSV file to the table, looked at and taken over, and how much memory.

The floor is reading and validating the same file with `csv` and Django's form alone, in the same process.
Run it as `python -m tests.bench.bench_import`; it needs an empty database, which it makes in a temporary folder.
"""

import csv
import io
import json
import os
import resource
import tempfile
import time

ROWS = 50_000
MOST_MB = 400
MOST_TIMES_THE_FLOOR = 4


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"SOUNDINGS_DATA": folder, "DJANGO_SETTINGS_MODULE": "firm.settings", "LOG_LEVEL": "ERROR"}
        import django

        django.setup()
        from django.core.files.base import ContentFile
        from django.core.management import call_command

        from firm.clients.forms import ClientForm
        from firm.clients.models import Client
        from firm.jobs.work import run_job
        from firm.people.models import User
        from inspections.exchange.models import Import
        from inspections.exchange.services import look_at, run, take_over

        call_command("migrate", verbosity=0)
        by = User.objects.create_user("admin", is_administrator=True)
        lines = [f"Client number{n},207 555 {n:05},c{n}@example.org,Two decks" for n in range(ROWS)]
        content = "name,phone,email,notes\n" + "\n".join(lines)

        started = time.perf_counter()
        for cells in csv.DictReader(io.StringIO(content)):
            assert ClientForm({**cells, "is_another": "on"}).is_valid()
        floor_s = time.perf_counter() - started
        before_mb = _most_mb()

        started = time.perf_counter()
        job = look_at(ContentFile(content.encode(), "clients.csv"), "clients", by=by)
        assert run_job(Import, job.pk, run)
        looked_s = time.perf_counter() - started
        job.refresh_from_db()
        assert take_over(job, by=by)
        started = time.perf_counter()
        assert run_job(Import, job.pk, run)
        taken_s = time.perf_counter() - started
        assert Client.objects.count() == ROWS

        _say("looking at 50,000 rows", looked_s, "s", floor_s, MOST_TIMES_THE_FLOOR)
        _say("taking 50,000 rows over", taken_s, "s", floor_s, 2 * MOST_TIMES_THE_FLOOR)
        grown = _most_mb() - before_mb
        answer = {"figure": "memory on top", "value": round(grown), "unit": "MB", "floor": round(before_mb)}
        answer |= {"ratio": round(grown / before_mb, 2), "target": f"{MOST_MB} MB", "holds": grown <= MOST_MB}
        print(json.dumps(answer))


def _most_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _say(figure: str, value: float, unit: str, floor: float, target: float) -> None:
    ratio = value / floor
    print(json.dumps({"figure": figure, "value": round(value, 2), "unit": unit, "floor": round(floor, 2),
                      "ratio": round(ratio, 2), "target": target, "holds": ratio <= target}))  # fmt: skip


if __name__ == "__main__":
    main()
