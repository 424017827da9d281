"""A copy of the checkout that a test may start, look at and kill, as a user would."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_until(true, within_s, what):
    deadline = time.monotonic() + within_s
    while not (answer := true()):
        assert time.monotonic() < deadline, f"not within {within_s} s: {what}"
        time.sleep(0.1)
    return answer


class Installation:
    """The application in a folder of its own, run by the Python that runs the tests."""

    def __init__(self, folder, **environment):
        self.folder = folder
        ours = (
            "DATABASE_URL",
            "CELERY_BROKER_URL",
            "EMAIL_URL",
            "SOUNDINGS_DATA",
            "DJANGO_SETTINGS_MODULE",
            "PUBLIC_URL",
        )
        clean = {name: value for name, value in os.environ.items() if name not in ours}
        self.environment = {**clean, "SOUNDINGS_SETUP": "no", **environment}
        self.port = free_port()
        self.process = None
        self.output = folder / "terminal.txt"

    def manage(self, *words, **more):
        return subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=self.folder,
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=120,
            **more,
        )

    def start(self, *words):
        with self.output.open("wb") as terminal:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "start", "--port", str(self.port), *words],
                cwd=self.folder,
                env=self.environment,
                stdout=terminal,
                stderr=subprocess.STDOUT,
                stdin=subprocess.DEVNULL,
            )
        wait_until(lambda: "is running at" in self.said() or self.process.poll() is not None, 120, "the address")
        assert self.process.poll() is None, self.said()

    def said(self):
        return self.output.read_text()

    def is_well(self):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/healthz", timeout=5) as answer:
                return answer.read() == b"ok"
        except (urllib.error.URLError, OSError):
            return False

    def processes(self):
        """pid -> (parent, command) of everything that runs in this folder."""
        found = {}
        for entry in Path("/proc").iterdir():
            try:
                if entry.name.isdigit() and (entry / "cwd").readlink() == self.folder:
                    command = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode()
                    state, parent = (entry / "stat").read_text().rpartition(")")[2].split()[:2]
                    if state != "Z":
                        found[int(entry.name)] = (int(parent), command)
            except (FileNotFoundError, ProcessLookupError, PermissionError):
                continue  # it ended while we looked
        return found

    def part(self, word):
        """The pid of the part whose command holds the word; None while it is down."""
        for pid, (parent, command) in self.processes().items():
            if parent == self.process.pid and word in command:
                return pid
        return None

    def stop(self):
        """Ask politely; the seconds that it took."""
        begun = time.monotonic()
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(timeout=30)
        return time.monotonic() - begun

    def clear_away(self):
        if self.process is not None and self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        for pid in self.processes():
            os.kill(pid, signal.SIGKILL)


def copy_checkout(folder):
    """What git holds or would take in, without the tests."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    for name in filter(None, listed.split("\0")):
        if not name.startswith("tests/") and (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)
