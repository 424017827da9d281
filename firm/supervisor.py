"""Keeping the processes of one machine running: start them, restart what dies, stop all of it without an orphan."""

import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

STOP_WITHIN_S = 5.0  # a job that takes longer is killed: its row is taken up again at the next start
LOOK_EVERY_S = 0.2
QUICK_DEATH_S = 10.0  # one that dies sooner did not really start
MOST_QUICK_DEATHS = 5
PR_SET_PDEATHSIG = 1  # linux/prctl.h


@dataclass
class Part:
    """One process: its name, its command, and where its output goes (None: to ours)."""

    name: str
    command: list[str]
    log: Path | None = None
    process: subprocess.Popen | None = field(default=None, init=False)
    started_at: float = field(default=0.0, init=False)
    quick_deaths: int = field(default=0, init=False)

    def start(self, environment: dict[str, str]) -> None:
        output = self.log.open("ab") if self.log else None
        try:
            # A session of its own: Ctrl-C reaches only us, and what the process leaves behind can be killed with it.
            self.process = subprocess.Popen(
                self.command,
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT if output else None,
                start_new_session=True,
                preexec_fn=_die_with_the_parent if sys.platform == "linux" else None,
            )
        finally:
            if output:
                output.close()
        self.started_at = time.monotonic()

    def has_died(self) -> bool:
        return self.process is not None and self.process.poll() is not None

    def kill_group(self) -> None:
        """Kill what is left of it, children included: a worker whose parent was killed goes on with its job."""
        if self.process is None:
            return
        with suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)


class Supervisor:
    def __init__(self, parts: list[Part], *, environment: dict[str, str], say: Callable[[str], None]) -> None:
        self._parts = parts
        self._environment = environment
        self._say = say
        self._is_stopping = False

    def start(self) -> None:
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            signal.signal(number, self._ask_to_stop)
        for part in self._parts:
            part.start(self._environment)

    def watch(self, until: Callable[[], bool] = lambda: False) -> bool:
        """Restart what dies, until told to stop or until `until()`. False if a part cannot be kept running."""
        while not self._is_stopping:
            for part in self._parts:
                if part.has_died() and not self._restart(part):
                    return False
            if until():
                return True
            time.sleep(LOOK_EVERY_S)
        return True

    @property
    def is_stopping(self) -> bool:
        return self._is_stopping

    def stop(self) -> None:
        """End every part: politely first, then by force, and what they left behind in any case."""
        for part in self._parts:
            if part.process is not None and part.process.poll() is None:
                part.process.terminate()
        deadline = time.monotonic() + STOP_WITHIN_S
        while time.monotonic() < deadline and not all(part.has_died() for part in self._parts if part.process):
            time.sleep(0.05)
        for part in self._parts:
            part.kill_group()
            if part.process is not None:
                part.process.wait()

    def _restart(self, part: Part) -> bool:
        code = part.process.returncode
        part.kill_group()
        lived_s = time.monotonic() - part.started_at
        part.quick_deaths = part.quick_deaths + 1 if lived_s < QUICK_DEATH_S else 0
        if part.quick_deaths >= MOST_QUICK_DEATHS:
            where = f"; see {part.log}" if part.log else ""
            self._say(f"The {part.name} cannot be kept running (ended with {code}){where}.")
            return False
        if part.quick_deaths > 1:
            time.sleep(min(part.quick_deaths, 3))
        self._say(f"The {part.name} ended with {code} and is started again.")
        part.start(self._environment)
        return True

    def _ask_to_stop(self, *_: object) -> None:
        self._is_stopping = True


def _die_with_the_parent() -> None:
    """Runs in the child before its program: be told to stop even if the parent is killed and can tell nobody."""
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
