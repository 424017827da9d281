"""What repair parts are bought in: steps and forms out of `data/remedy_sizes.json`, and rounding to them."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import cache

from engine import tables


@cache
def listed(key: str) -> tuple[float, ...]:
    """All values of a key, rising."""
    return tuple(sorted(float(str(row["value"])) for row in tables.load("remedy_sizes").rows if row["key"] == key))


def one(key: str) -> float:
    """The value of a key that has one. Raises ValueError otherwise."""
    (value,) = listed(key)
    return value


def round_up(value: float, step: float) -> float:
    """The next multiple of `step` that is not below `value`."""
    return math.ceil(value / step - 1e-9) * step


def to_step(value: float, step: float) -> float:
    """The nearest multiple of `step`."""
    return round(value / step) * step


def inches(value_in: float) -> str:
    """A length for a schedule: `13 1/2 in`, to the sixteenth."""
    whole, rest = divmod(round(value_in * 16), 16)
    if not rest:
        return f"{whole} in"
    part = Fraction(rest, 16)
    return f"{whole} {part} in" if whole else f"{part} in"


def places(values_in: tuple[float, ...]) -> str:
    """Places along a member, in words."""
    return ", ".join(inches(value).removesuffix(" in") for value in values_in) + " in"


def several(count: int, one_of_it: str, more: str = "") -> str:
    """`1 post`, `3 posts`."""
    return f"{count} {one_of_it if count == 1 else more or one_of_it + 's'}"
