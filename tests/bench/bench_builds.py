"""Many reports at once: two workers against one, and what is left of a worker that is killed at random instants.

    python tests/bench/bench_builds.py            (`--reports 20 --kills 10`, which are the defaults; `--kills 0`: none)

Prints one JSON line for each figure: {figure, value, unit, floor, ratio, target, holds}. Real Celery workers with one
process each, SQLite and the broker that needs no server, in a folder of its own. The floor of two workers is one worker
with the same reports in the same run. For the kills, the lease is shortened to 3 s, so that ten of them fit in; each
time the worker is killed with SIGKILL, at an instant drawn from `--seed`, and another takes its place.
"""

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
DATA = Path(tempfile.mkdtemp(prefix="soundings-bench-"))
(DATA / "bench_settings.py").write_text(
    "from firm.settings import *\nJOB_LEASE_S = 3\nJOB_HEARTBEAT_S = 1\nCELERY_WORKER_CONCURRENCY = 1\n"
)
os.environ.update(
    SOUNDINGS_DATA=str(DATA),
    DJANGO_SETTINGS_MODULE="bench_settings",
    LOG_LEVEL="ERROR",
    PYTHONPATH=os.pathsep.join([str(ROOT), str(DATA)]),
)
ENVIRONMENT = dict(os.environ)  # as it is now: the module that makes the record sets a folder of its own
sys.path[:0] = [str(ROOT), str(DATA)]
TARGET = 0.6
SHORT = 2  # seconds after which the sweep of this bench rings again; fifteen in the application


def made_reports(count, email=""):
    """Issued reports of one made-up record, each of its own visit, with their builds waiting."""
    from django.utils import timezone

    from inspections.reports.models import Report, ReportBuild
    from tests.bench.bench_report import made_up_record
    from tests.make import make_client, make_inspector, make_property, make_visit

    record, inspector = made_up_record(0), make_inspector()
    builds = []
    for number in range(count):
        client = make_client(email=email and f"client-{number}@{email}")
        visit = make_visit(inspector, property=make_property(client), state="released")
        report = Report.objects.create(
            visit=visit, version=1, snapshot=record, snapshot_sha256="0" * 64, issued_at=timezone.now(),
            issued_by=inspector,
        )  # fmt: skip
        builds.append(ReportBuild.objects.create(report=report))
    return builds


def start_worker():
    words = [sys.executable, "-m", "celery", "-A", "firm", "worker", "-Q", "quick,long", "-l", "ERROR", "-c", "1"]
    return subprocess.Popen(words, cwd=ROOT, env=ENVIRONMENT, start_new_session=True, stdout=subprocess.DEVNULL)


def kill(worker):
    os.killpg(worker.pid, signal.SIGKILL)
    worker.wait()


def states():
    from inspections.reports.models import ReportBuild

    return Counter(ReportBuild.objects.values_list("state", flat=True))


def wait_for(true, within_s, tick=lambda: None):
    end = time.monotonic() + within_s
    while not true():
        if time.monotonic() > end:
            raise TimeoutError(f"not within {within_s} s; builds: {dict(states())}")
        tick()
        time.sleep(0.2)


def on_the_cores(workers):
    """Seconds that all threads of the workers ran, and that they were ready to run and no core was free for them."""
    ran = stood = 0
    groups = {worker.pid for worker in workers}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if os.getpgid(int(folder.name)) in groups:
                for told in (folder / "task").glob("*/schedstat"):
                    now_ran, now_stood, _ = told.read_text().split()
                    ran, stood = ran + int(now_ran), stood + int(now_stood)
        except OSError:
            continue  # it ended while we looked
    return ran / 1e9, stood / 1e9


def seconds_for(workers, count):
    """From the bells to the last PDF, and `on_the_cores`. Each worker has drawn one before: no import is counted."""
    from firm.jobs.bell import ring_now
    from inspections.reports.models import ReportBuild

    running = [start_worker() for _ in range(workers)]
    try:
        for _ in range(3):  # whoever comes first takes it: by the third round each has had one
            warm = made_reports(workers)
            for build in warm:
                ring_now(ReportBuild, build.pk)
            wait_for(lambda: not states()["waiting"] and not states()["running"], 600)
        builds = made_reports(count)
        before = on_the_cores(running)
        start = time.monotonic()
        for build in builds:
            ring_now(ReportBuild, build.pk)
        wait_for(lambda: not states()["waiting"] and not states()["running"], 3600)
        taken = time.monotonic() - start
        return taken, *(now - then for now, then in zip(on_the_cores(running), before, strict=True))
    finally:
        for worker in running:
            kill(worker)


def killed_at_random(count, kills, seed):
    """The attempts at all builds, and how many ended built once, with one printed code and one mail each."""
    from datetime import timedelta

    from firm.jobs import sweep as sweeping
    from firm.jobs.bell import ring_now
    from inspections.reports.models import Report, ReportBuild, ReportMail

    sweeping.RING_AGAIN_AFTER = timedelta(seconds=SHORT)
    chance = random.Random(seed)
    builds = made_reports(count, email="mail.example")
    ReportBuild.objects.filter(pk__in=[build.pk for build in builds]).update(max_attempts=kills + 5)
    for build in builds:
        ring_now(ReportBuild, build.pk)
    worker = start_worker()
    try:
        for _ in range(kills):
            until = time.monotonic() + chance.uniform(2, 12)
            while time.monotonic() < until:
                sweeping.sweep()
                time.sleep(0.1)
            kill(worker)
            worker = start_worker()
        wait_for(
            lambda: not ({"waiting", "running"} & {*states(), *ReportMail.objects.values_list("state", flat=True)}),
            3600,
            tick=sweeping.sweep,
        )
    finally:
        kill(worker)
    ours = Report.objects.filter(build__in=builds)
    written = Counter()
    for path in (DATA / "mail").glob("*"):
        text = path.read_text(errors="replace")
        written.update(word for word in (f"client-{number}@mail.example" for number in range(count)) if word in text)
    attempts = sum(ReportBuild.objects.filter(pk__in=[b.pk for b in builds]).values_list("attempt", flat=True))
    once = sum(
        bool(report.pdf) and report.visit.links.count() == 2 and written[report.visit.client.email] == 1
        for report in ours.select_related("visit__client")
    )
    return attempts, once


def main():
    asked = argparse.ArgumentParser()
    for name, default in (("--reports", 20), ("--kills", 10), ("--seed", 7)):
        asked.add_argument(name, type=int, default=default)
    asked = asked.parse_args()
    import django
    from django.core.management import call_command

    django.setup()
    from firm.jobs.bell import make_broker_folders

    call_command("migrate", verbosity=0)
    make_broker_folders()
    (one, ran_one, stood_one), (two, ran_two, stood_two) = (seconds_for(each, asked.reports) for each in (1, 2))
    cores = f"ran {ran_one:.0f} and {ran_two:.0f} s, stood in line for a core {stood_one:.0f} and {stood_two:.0f} s"
    tell(f"{asked.reports} queued reports, two workers against one ({cores})", two, "s", one, at_most=TARGET)
    if not asked.kills:
        return
    attempts, once = killed_at_random(asked.reports, asked.kills, asked.seed)
    figure = f"reports built and mailed once, worker killed {asked.kills} times ({attempts} attempts)"
    tell(figure, once, "reports", asked.reports, at_least=1.0)


def tell(figure, value, unit, floor, at_most=None, at_least=None):
    ratio = value / floor
    holds = ratio <= at_most if at_most is not None else ratio >= at_least
    said = {
        "figure": figure,
        "value": round(value, 1),
        "unit": unit,
        "floor": round(floor, 1),
        "ratio": round(ratio, 2),
    }
    print(json.dumps({**said, "target": at_most or at_least, "holds": holds}), flush=True)


if __name__ == "__main__":
    main()
