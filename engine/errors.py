"""What the engine says when it will not compute: a typed refusal, never a guess."""

from __future__ import annotations

from math import isfinite

from engine.records import dataclass


class EngineError(ValueError):
    """Base of every refusal; a caller that catches this one has caught them all."""


class OutOfRange(EngineError):
    """A value lies outside what a formula or a published table covers.

    `field` names the argument with its unit, `accepted` says in words what would be taken.
    """

    def __init__(self, field: str, value: object, accepted: str) -> None:
        super().__init__(f"{field} = {value!r}: {accepted}")
        self.field = field
        self.value = value
        self.accepted = accepted


class NotPublished(EngineError):
    """The edition holds no cell for this case (a species, fastener or load it does not list)."""


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong with a deck file: where, what stands there, what is accepted."""

    path: str
    value: object
    accepted: str

    def __str__(self) -> str:
        return f"{self.path} = {self.value!r}: {self.accepted}"


class DeckFaults(EngineError):
    """All faults of a deck file at once; `.faults` in the order of the file."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__("; ".join(str(fault) for fault in faults))
        self.faults = faults


def require_positive(**values: float) -> None:
    """Raise OutOfRange unless every value is a finite number above zero."""
    for name, value in values.items():
        if value.__class__ is not float or not isfinite(value):
            _require_number(name, value)
        if value <= 0:
            raise OutOfRange(name, value, "a number above zero")


def require_not_negative(**values: float) -> None:
    """Raise OutOfRange unless every value is a finite number, zero or more."""
    for name, value in values.items():
        if value.__class__ is not float or not isfinite(value):
            _require_number(name, value)
        if value < 0:
            raise OutOfRange(name, value, "zero or more")


def require_between(low: float, high: float, **values: float) -> None:
    """Raise OutOfRange unless every value is a finite number from `low` to `high`."""
    for name, value in values.items():
        if value.__class__ is not float or not isfinite(value):
            _require_number(name, value)
        if not low <= value <= high:
            raise OutOfRange(name, value, f"from {low:g} to {high:g}")


def _require_number(name: str, value: object) -> None:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
        raise OutOfRange(name, value, "a finite number")
