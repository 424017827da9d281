"""How long the engine takes over a typical deck, and how much of that is the bare arithmetic.

Prints one JSON line for each figure: {figure, value, least, unit, floor, ratio, target, holds}. `floor` is the same
sums written out by hand with every number at hand: no facts to read, no steps, no citations. `value` is the median of
many runs, each on a deck that was read afresh, and `least` the quickest of them: what the engine itself needs where
nothing else is going on. `holds` goes by the median.

Run: python -m tests.bench.bench_engine
"""

from __future__ import annotations

import copy
import json
import math
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from engine.assessment import assess
from engine.deck import Deck

ROOT = Path(__file__).parents[2]
RUNS = 40


def typical_deck() -> dict[str, Any]:
    """One ledger with 12 fasteners, 20 joists, a beam on 3 posts, 4 guards, one stair."""
    file = json.loads((ROOT / "tests" / "engine" / "decks" / "sound_ledger_deck.json").read_text("utf-8"))
    file["levels"][0]["width_in"] = file["ledgers"][0]["length_in"] = 304
    file["joist_fields"][0]["count"] = 20
    first = file["fasteners"][0]
    file["fasteners"] = [
        {**first, "id": f"F{n}", "position_in": 3 + n * 27, "row": "lower" if n % 2 else "upper"} for n in range(12)
    ]
    file["beams"][0].update(spans_in=[140, 140])
    for post, position_in in zip(file["posts"], (12, 152, 292), strict=True):
        post["position_in"] = position_in
    file["guards"] = [{**file["guards"][0], "id": f"G{n}"} for n in range(4)]
    return file


def typical_decks_that_differ(count: int) -> list[Deck]:
    """The same, each with other lengths: no formula has been asked with these numbers before."""
    decks = []
    for number in range(count):
        file, more_in = typical_deck(), number / 1000
        file["joist_fields"][0]["span_in"] += more_in
        file["beams"][0]["spans_in"] = [140 + more_in, 140 - more_in]
        for part in (*file["posts"], *file["guards"]):
            part["height_in"] += more_in
        decks.append(Deck.from_json(file))
    return decks


def five_unknowns() -> dict[str, Any]:
    """The same with five facts of four candidates each, one on each part that bears a load."""
    file = typical_deck()
    file["joist_fields"][0]["spacing_in"] = {"one_of": [12, 16, 19.2, 24]}
    for part in (file["ledgers"][0], file["joist_fields"][0], file["beams"][0], file["posts"][0]):
        part["species"] = "unknown"
        part["is_incised"] = True
    return file


def five_unknowns_in_one_field() -> dict[str, Any]:
    """The hardest case of five: all on one field of joists, so that its checks run over all 1024 combinations."""
    file = typical_deck()
    file["joist_fields"][0].update(
        species="unknown",
        is_incised=True,
        size={"one_of": ["2x6", "2x8", "2x10", "2x12"]},
        grade={"one_of": ["Select Structural", "No. 1", "No. 2", "No. 3"]},
        spacing_in={"one_of": [12, 16, 19.2, 24]},
        span_in={"one_of": [96, 100, 104, 108]},
    )
    return file


def joist_arithmetic() -> float:
    """The sums behind the checks of one field of joists, once each, on plain numbers."""
    total, w = 0.0, 50 * 16 / 144
    span, over, b, d, fb, fv, e = 104.0, 24.0, 1.5, 9.25, 920.0, 169.75, 1.26e6
    s, i, area = b * d * d / 6, b * d**3 / 12, b * d
    total += w * span**2 / 8 / s / fb + max(w * span / 2 + w * over**2 / 2 / span, w * over) / (2 / 3 * fv * area)
    total += 5 * w * span**4 / (384 * e * i) / (span / 360) + 5 * w * span**4 / (384 * e * i) / (span / 240)
    total += w * (span + over) ** 2 / 2 / span / 4.5 / 373
    return total + 220 * over**2 * (span + over) / (3 * e * i) / (over / 180) + (w * over**2 / 2) / s / fb


def bare_arithmetic() -> float:
    """The sums behind the checks of the typical deck, once each, on plain numbers."""
    total, q = joist_arithmetic(), 50.0
    span, over, s, fb, fv, area = 104.0, 24.0, 21.39, 920.0, 169.75, 13.875
    places = [3 + 27 * n for n in range(12)]
    line = q / 144 * span / 2
    for n in range(12):  # each fastener: its share, the six yield modes, the tested load
        left = 0 if n == 0 else (places[n] + places[n - 1]) / 2
        right = 304 if n == 11 else (places[n] + places[n + 1]) / 2
        fem, fes, lm, ls, dia, fyb = 2350.0, 2850.0, 1.5, 1.5, 0.5, 45000.0
        re, rt = fem / fes, lm / ls
        k1 = (math.sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)) / (1 + re)
        k2 = -1 + math.sqrt(2 * (1 + re) + 2 * fyb * (1 + 2 * re) * dia**2 / (3 * fem * lm**2))
        k3 = -1 + math.sqrt(2 * (1 + re) / re + 2 * fyb * (2 + re) * dia**2 / (3 * fem * ls**2))
        z = min(dia * lm * fem / 5, dia * ls * fes / 5, k1 * dia * ls * fes / 4.5,
                k2 * dia * lm * fem / (1 + 2 * re) / 4, k3 * dia * ls * fem / (2 + re) / 4,
                dia**2 / 4 * math.sqrt(2 * fem * fyb / (3 * (1 + re))))  # fmt: skip
        total += line * (right - left) / (z * 0.7) + line * (right - left) / 725
    tributary, spans = (span + over) ** 2 / 2 / span, (140.0, 140.0)
    for live in ((1, 1), (1, 0), (0, 1)):  # a beam of two spans, three ways of loading
        loads = [tributary / 144 * (10 + 40 * on) for on in live]
        middle = -(loads[0] * spans[0] ** 3 + loads[1] * spans[1] ** 3) / 8 / (spans[0] + spans[1])
        for load, length in zip(loads, spans, strict=True):
            shear = load * length / 2 + middle / length
            total += shear**2 / 2 / load / s / 3 / fb - middle / s / 3 / fb + shear / (2 / 3 * fv * area * 3)
    for _ in range(3):  # posts and footings
        fc, e_min, ratio = 525.0, 440000.0, 30 / 5.5
        euler = 0.822 * e_min / ratio**2 / fc
        half = (1 + euler) / 1.6
        total += 4000 / (fc * (half - math.sqrt(half**2 - euler / 0.8)) * 30.25) + (4000 / 452 * 144 + 150) / 2000
    for _ in range(4):  # guards
        moment = 200 * 41
        total += moment / (3.5**3 / 6) / 1100 + 200 * (41 + 5.25) / 5.25 / 1800 + moment / 5.25 / 1800
    return total + 300 * 52.5 / 4 / (1.5 * 5.5**2 / 6) / 900  # one stringer


def times_ms(
    work: Callable[[], object], runs: int = RUNS, clock: Callable[[], float] = time.process_time
) -> list[float]:
    """The time of each of many calls, in milliseconds of this process alone."""
    times = []
    for _ in range(runs):
        start = clock()
        work()
        times.append((clock() - start) * 1000)
    return times


def assess_ms(file: dict[str, Any], runs: int = RUNS) -> list[float]:
    """How long it takes to assess a deck that was read afresh each time (the reading itself is not counted).

    Formulas remember what they were asked, so this is a deck judged again, as after each entry of an inspector.
    """
    return assess_each_ms([Deck.from_json(copy.deepcopy(file)) for _ in range(runs + 1)])


def assess_each_ms(decks: list[Deck]) -> list[float]:
    """How long it takes to assess each of several decks; the first is not counted, as it loads the tables."""
    rest = iter(decks)
    assess(next(rest))
    return times_ms(lambda: assess(next(rest)), len(decks) - 1)


SOUND = str(ROOT / "tests" / "engine" / "decks" / "sound_ledger_deck.json")


def start_ms(*words: str) -> list[float]:
    """Processor time of one whole process, interpreter and all: the least of ten, as a busy machine only adds to it.

    The first start, which compiles the modules, is not counted; the compiled ones are kept for the others, whatever
    the environment says.
    """
    taken = []
    with tempfile.TemporaryDirectory() as compiled:
        environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": compiled}
        for _ in range(11):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, check=True, env=environment)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            taken.append(after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime)
    return [min(taken[1:]) * 1000]


def figure(name: str, taken_ms: list[float], target_ms: float, floor_ms: float) -> dict[str, object]:
    """One line of the result."""
    value_ms = statistics.median(taken_ms)
    return {
        "figure": name,
        "value": round(value_ms, 3),
        "least": round(min(taken_ms), 3),
        "unit": "ms",
        "floor": round(floor_ms, 4),
        "ratio": round(value_ms / floor_ms, 1),
        "target": target_ms,
        "holds": value_ms < target_ms,
    }


def figures() -> list[dict[str, object]]:
    """All figures, measured now."""
    bare_arithmetic()
    floor_ms = statistics.median(times_ms(bare_arithmetic, 400))
    floor_1024_ms = floor_ms + 1023 * statistics.median(times_ms(joist_arithmetic, 400))
    (interpreter_ms,) = start_ms("-c", "")
    return [
        figure("typical deck", assess_ms(typical_deck()), 10, floor_ms),
        figure("typical deck of other lengths", assess_each_ms(typical_decks_that_differ(RUNS + 1)), 10, floor_ms),
        figure("five unknowns of four candidates", assess_ms(five_unknowns(), 15), 200, floor_ms),
        # 1024 combinations of one field: the floor is the arithmetic of its joists for each of them.
        figure("five unknowns in one field", assess_ms(five_unknowns_in_one_field(), 5), 200, floor_1024_ms),
        figure("start of the command line", start_ms("-m", "engine", "--help"), 150, interpreter_ms),
        figure("a whole deck from the command line", start_ms("-m", "engine", "assess", SOUND), 150, interpreter_ms),
    ]


if __name__ == "__main__":
    for line in figures():
        print(json.dumps(line))
