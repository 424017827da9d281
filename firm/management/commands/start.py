"""`python3 manage.py start`: everything that one machine needs, in one terminal."""

import fcntl
import hashlib
import json
import os
import secrets
import socket
import sys
import time
import urllib.error
import urllib.request
from argparse import ArgumentParser
from io import StringIO
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError
from django.db import connections

from firm.jobs.bell import make_broker_folders
from firm.jobs.lines import LONG, QUICK
from firm.people.services import found_first_administrator
from firm.supervisor import Part, Supervisor

DEMO_PEOPLE = {
    "office": "books visits, keeps clients",
    "inspector": "records the deck on site",
    "manager": "releases reports, sees what recurs",
    "admin": "looks after people and settings",
}
READY_WITHIN_S = 60
LOG_KEPT_BYTES = 10_000_000


class Command(BaseCommand):
    help = "Bring the database up to date and run the web server, the workers and the scheduler until Ctrl-C."
    requires_system_checks = []  # they run below, once the folders are there

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--demo", action="store_true", help="fill an empty database with an invented firm")
        parser.add_argument("--port", type=int, default=8000, help="port of the web server (8000)")
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (127.0.0.1: this machine only)")

    def handle(self, *, demo: bool, port: int, host: str, verbosity: int, **_: Any) -> None:
        refuse_a_taken_port(host, port)
        if "PUBLIC_URL" not in os.environ:
            # Mails and reports print the address; the processes started below read it from their environment.
            os.environ["PUBLIC_URL"] = settings.PUBLIC_URL = f"http://127.0.0.1:{port}"
        make_folders()
        with hold_the_data_folder():
            self.stdout.write("Preparing the database ...")
            call_command("check", stdout=StringIO())
            call_command("upgrade", stdout=self.stdout)
            collect_static_if_changed()
            lines = self.load_demo() if demo else self.first_sign_in()
            connections.close_all()
            self.run(host, port, lines, quiet=verbosity < 2)

    def run(self, host: str, port: int, lines: list[str], *, quiet: bool) -> None:
        supervisor = Supervisor(parts(host, port, quiet=quiet), environment=dict(os.environ), say=self.say)
        supervisor.start()
        try:
            deadline = time.monotonic() + READY_WITHIN_S
            runs = supervisor.watch(until=lambda: answers(host, port) or time.monotonic() > deadline)
            if runs and not supervisor.is_stopping:
                if not answers(host, port):
                    raise CommandError(f"The web server does not answer; see {settings.DATA_DIR / 'logs'}")
                self.say("\n".join([f"\nSoundings is running at {settings.PUBLIC_URL}/", *lines, *footer()]))
                runs = supervisor.watch()
        finally:
            self.say("Stopping ...")
            supervisor.stop()
        if not runs:
            raise CommandError("Stopped, because a part could not be kept running.")
        self.say("Stopped. The data is kept.")

    def load_demo(self) -> list[str]:
        """Load the demo firm into an empty database; what to print about it."""
        if "load_demo" not in get_commands():
            raise CommandError("This version has no demo firm.")
        password = os.environ.get("DEMO_PASSWORD") or secrets.token_urlsafe(9)
        answer = StringIO()
        call_command("load_demo", password=password, stdout=answer)
        demo = json.loads(answer.getvalue())
        if not demo["created"]:
            lines = ["  The data is kept; passwords as before."]
        else:
            lines = ["  Sign in with one of these; the password is shown only now:"]
            lines += [f"    {name:<10} {password}   {what}" for name, what in DEMO_PEOPLE.items()]
        if demo["client_link"]:
            lines.append(f"  A client's link to a released report:\n    {settings.PUBLIC_URL}{demo['client_link']}")
        return lines

    def first_sign_in(self) -> list[str]:
        password = secrets.token_urlsafe(9)
        if not found_first_administrator("admin", password):
            return ["  The data is kept; passwords as before."]
        return [
            "  The first sign-in; the password is shown only now, change it at once:",
            f"    admin      {password}   looks after people and settings",
        ]

    def say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()


def footer() -> list[str]:
    return [f"  Data and logs: {settings.DATA_DIR}", "  Stop with Ctrl-C."]


def refuse_a_taken_port(host: str, port: int) -> None:
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # as the web server: a port just left is free
        try:
            probe.bind((host, port))
        except (OSError, OverflowError) as error:
            raise CommandError(
                f"Port {port} on {host} cannot be used ({error}). Stop the other program, or choose another port:\n\n"
                f"    python3 manage.py start --port {port + 1 if port < 65535 else 8001}"
            ) from error


def make_folders() -> None:
    for folder in (settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH, *(settings.DATA_DIR / n for n in ("beat", "logs"))):
        Path(folder).mkdir(parents=True, exist_ok=True)
    make_broker_folders()


class hold_the_data_folder:
    """Refuse a second start on the same data: two schedulers would write one schedule file."""

    def __enter__(self) -> None:
        self._file = (settings.DATA_DIR / "start.lock").open("w")
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise CommandError(f"Soundings already runs on the data in {settings.DATA_DIR}. Stop it first.") from error

    def __exit__(self, *_: object) -> None:
        self._file.close()


def collect_static_if_changed() -> None:
    """Copy, hash and compress the static files, unless names, sizes and times are those of the last time."""
    digest = hashlib.sha256()
    for finder in get_finders():
        for path, storage in finder.list([]):
            about = os.stat(storage.path(path))
            digest.update(f"{path} {about.st_size} {about.st_mtime_ns}\n".encode())
    stamp = settings.STATIC_ROOT / ".stamp"
    if stamp.exists() and stamp.read_text(encoding="ascii") == digest.hexdigest():
        return
    call_command("collectstatic", interactive=False, verbosity=0)
    stamp.write_text(digest.hexdigest(), encoding="ascii")


def parts(host: str, port: int, *, quiet: bool) -> list[Part]:
    python = [sys.executable, "-m"]
    celery = [*python, "celery", "--app", "firm.celery"]
    worker = [*celery, "worker", "--without-gossip", "--without-mingle", "--without-heartbeat", "--loglevel", "WARNING"]
    bind = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    # Threads: a photo that comes in by drops holds up one of them and no whole process. No connection is kept open:
    # a front would send into one that is just being closed.
    web = ["gunicorn", "firm.wsgi", "--bind", bind, "--workers", "2", "--threads", "8", "--keep-alive", "0"]
    web += ["--timeout", "60", "--graceful-timeout", "4"]
    web += ["--max-requests", "5000", "--max-requests-jitter", "500", "--no-control-socket"]
    return [
        Part("web server", [*python, *web], log("web", quiet)),
        Part("worker", [*worker, "--queues", QUICK, "--hostname", "quick@%h"], log("worker", quiet)),
        Part("worker for long jobs", [*worker, "--queues", LONG, "--hostname", "long@%h"], log("long-worker", quiet)),
        Part("scheduler", [*celery, "beat", "--pidfile=", "--loglevel", "WARNING"], log("scheduler", quiet)),
    ]


def log(name: str, quiet: bool) -> Path | None:
    """Where one part writes; a long log is put aside once, so that two of them at most are kept."""
    if not quiet:
        return None
    path = settings.DATA_DIR / "logs" / f"{name}.log"
    if path.exists() and path.stat().st_size > LOG_KEPT_BYTES:
        path.replace(path.with_suffix(".log.1"))
    return path


def answers(host: str, port: int) -> bool:
    """Whether the web server says that it is well."""
    reachable = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(host, f"[{host}]" if ":" in host else host)  # noqa: S104
    request = urllib.request.Request(f"http://{reachable}:{port}/healthz", headers={"Host": settings.PUBLIC_HOST})
    try:
        with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request, timeout=5) as answer:
            return answer.status == 200
    except (urllib.error.URLError, OSError):
        return False
