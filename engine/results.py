"""The shapes every answer of the engine has: a step, a limit, a check.

A step is a value, not text scraped from code: `formula` is an arithmetic expression in the names of
`inputs`, which a test (or a reader with a pocket calculator) can work out again and must get `value`.
Allowed in a formula: + - * / **, brackets, numbers, the input names, and sqrt, min, max, floor, ceil,
sin, cos, tan, radians, pi.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from engine.records import dataclass

FORMULA_NAMES: Mapping[str, object] = {
    "sqrt": math.sqrt, "min": min, "max": max, "floor": math.floor, "ceil": math.ceil,
    "sin": math.sin, "cos": math.cos, "tan": math.tan, "radians": math.radians, "pi": math.pi,
}  # fmt: skip


@dataclass(frozen=True)
class Step:
    """One line of a derivation: `symbol = formula` with `inputs` put in gives `value` `unit`."""

    symbol: str
    formula: str
    inputs: Mapping[str, float]
    value: float
    unit: str
    source: str
    note: str = ""


class Verdict(StrEnum):
    """What a check found."""

    HOLDS = "holds"
    FAILS = "fails"
    CANNOT_TELL = "cannot tell"

    __hash__ = str.__hash__  # that of Enum is written in Python, and verdicts are sorted by the thousand


class Method(StrEnum):
    """How a check judges: by statics and NDS values, or by a published table or rule."""

    CALCULATION = "calculation"
    PRESCRIPTIVE = "prescriptive"


@dataclass(frozen=True)
class Limit:
    """The largest length (in) that still holds, and what sets it.

    `candidates` gives the length each single criterion would allow, in inches.
    """

    value_in: float
    governs: str
    steps: tuple[Step, ...] = ()
    candidates: Mapping[str, float] = field(default_factory=dict)
    assumptions: tuple[str, ...] = ()


# A ratio this close above 1 is floating-point noise, not an overload.
RATIO_TOLERANCE = 1e-9


@dataclass(frozen=True)
class Check:
    """One question put to one part: does what it can carry cover what it must?

    `demand` is what it must carry or show, `capacity` what it can; both in `unit`. `ratio` is demand over
    capacity, above 1 fails. For a least dimension (a guard height) the required value is the demand and the
    measured one the capacity; for a greatest dimension (an opening) it is the other way round, so that a
    ratio above 1 always means "not good enough". `demand`, `capacity` and `ratio` are None where the verdict
    is `cannot tell` and no number is honest, and for a yes-or-no rule (unit "yes/no").
    """

    id: str
    subject: str
    link: str
    title: str
    verdict: Verdict
    method: Method
    citation: str
    unit: str = ""
    demand: float | None = None
    capacity: float | None = None
    ratio: float | None = None
    governs: str = ""
    reason: str = ""
    steps: tuple[Step, ...] = ()
    assumptions: tuple[str, ...] = ()
    settles: tuple[str, ...] = ()
    from_memory: tuple[str, ...] = ()
    depends_on: tuple[str, ...] = ()


def ratio_of(demand: float, capacity: float) -> float:
    """Demand over capacity; infinite where there is a demand and nothing to carry it."""
    if capacity > 0:
        return demand / capacity
    return 0.0 if demand == 0 else math.inf


def verdict_of(ratio: float) -> Verdict:
    """`holds` up to a ratio of 1 (allowing for floating-point noise), `fails` above."""
    return Verdict.HOLDS if ratio <= 1 + RATIO_TOLERANCE else Verdict.FAILS
