"""`python3 manage.py bench`: every bench of tests/bench, and one table of what came out."""

import json
import os
import platform
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

FOLDER = Path(settings.BASE_DIR) / "tests" / "bench"
HEADS = ("bench", "figure", "value", "unit", "floor", "ratio", "target", "holds")


class Row(NamedTuple):
    bench: str
    told: dict[str, Any]  # figure, value, unit, floor, ratio, target, holds

    @property
    def holds(self) -> bool:
        return self.told.get("holds") is not False

    def cells(self) -> list[str]:
        words = {True: "yes", False: "NO", None: ""}
        told = {**self.told, "holds": words[self.told.get("holds")]}
        return [self.bench, *("" if told.get(head) is None else str(told[head]) for head in HEADS[1:])]


class Command(BaseCommand):
    help = "Run the benches and print one table: value, floor measured in the same run, ratio, target."
    requires_system_checks = []

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("only", nargs="*", help="as in bench_booking.py: booking; all of them unless named")
        parser.add_argument("--to", type=Path, help="write the table into this file, too")
        parser.add_argument("--minutes", type=float, default=15, help="the most that one bench may take")

    def handle(self, *_: Any, only: list[str], to: Path | None, minutes: float, **__: Any) -> None:
        there = {path.stem.removeprefix("bench_"): path for path in sorted(FOLDER.glob("bench_*.py"))}
        if not there:
            raise CommandError("The benches are with the tests, which are not installed here.")
        if unknown := set(only) - there.keys():
            raise CommandError(f"No bench {', '.join(sorted(unknown))}. There are: {', '.join(there)}.")
        lines = [f"On {machine()}.", "", _line(HEADS), _line(["---"] * len(HEADS))]
        rows = []
        self.stdout.write("\n".join(lines))
        for name in only or there:
            for row in run(name, there[name], minutes * 60):
                rows.append(row)
                lines.append(_line(row.cells()))
                self.stdout.write(lines[-1])
                self.stdout.flush()
        if to:
            to.write_text("\n".join(lines) + "\n", encoding="utf-8")
        if missed := sum(not row.holds for row in rows):
            raise CommandError(f"{missed} of {len(rows)} do not hold.")


def run(name: str, path: Path, most_s: float) -> Iterator[Row]:
    """The figures of one bench as it prints them. One that breaks or takes too long ends with a row that says so."""
    process = subprocess.Popen(  # noqa: S603  our own interpreter and our own file
        ["/usr/bin/env", "timeout", "--kill-after=10", str(most_s), sys.executable, str(path)],
        cwd=settings.BASE_DIR,
        # A file that is run by its path finds what lies beside it, and not the engine.
        env={**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONPATH": _also(str(settings.BASE_DIR))},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    with process:
        for line in process.stdout:
            try:
                told = json.loads(line)
            except ValueError:
                continue  # what else it says
            if isinstance(told, dict) and "figure" in told:
                yield Row(name, told)
        last = process.stderr.read().strip().rpartition("\n")[2][:200]
    if process.returncode:
        why = (
            f"took longer than {most_s:g} s"
            if process.returncode == 124
            else last or f"ended with {process.returncode}"
        )
        yield Row(name, {"figure": f"did not run to its end: {why}", "holds": False})


def _also(folder: str) -> str:
    return os.pathsep.join(filter(None, (folder, os.environ.get("PYTHONPATH"))))


def machine() -> str:
    """Processor, cores, memory, system and Python."""
    model = _first("/proc/cpuinfo", "model name") or platform.processor() or platform.machine()
    memory_kib = (_first("/proc/meminfo", "MemTotal") or "0").split()[0]
    kinds = [name for name in ("DATABASE_URL", "CELERY_BROKER_URL") if os.environ.get(name)]
    return ", ".join(
        [
            model,
            f"{os.cpu_count()} cores",
            f"{int(memory_kib) / 1_048_576:.1f} GiB",
            platform.system(),
            f"Python {platform.python_version()}",
            f"load {os.getloadavg()[0]:.1f} before",
            *(f"with {name}" for name in kinds),
        ]
    )


def _first(path: str, name: str) -> str:
    try:
        lines = Path(path).read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    return next((line.partition(":")[2].strip() for line in lines if line.startswith(name)), "")


def _line(cells: Any) -> str:
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"
