"""Sizes of sawn lumber: from the nominal name (`2x10`) to the dressed inches."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from engine import tables
from engine.errors import OutOfRange
from engine.records import dataclass


@dataclass(frozen=True)
class Size:
    """A nominal size and its dressed dimensions; the width is the thinner face."""

    name: str
    nominal_width_in: float
    nominal_depth_in: float
    width_in: float
    depth_in: float

    @property
    def is_timber(self) -> bool:
        """5 x 5 in nominal and larger: its design values stand in a table of their own."""
        return self.nominal_width_in >= 5


@cache
def _by_name() -> Mapping[str, Size]:
    found = {}
    for row in tables.load("dressed_sizes").rows:
        numbers = (float(str(row[c])) for c in ("nominal_width_in", "nominal_depth_in", "width_in", "depth_in"))
        found[str(row["size"])] = Size(str(row["size"]), *numbers)
    return found


def sizes() -> list[str]:
    """The nominal sizes that are known, thinner first."""
    return list(_by_name())


@cache
def find_size(name: str) -> Size:
    """The size behind `2x10`, `2 x 10`, `2X10` or `2×10`. Raises OutOfRange with the accepted sizes."""
    plain = re.sub(r"\s*[x×]\s*", "x", name.strip().lower()) if isinstance(name, str) else ""
    parts = plain.split("x")
    if len(parts) == 2 and parts[0].isdigit() and parts[1].isdigit() and int(parts[0]) > int(parts[1]):
        plain = f"{parts[1]}x{parts[0]}"
    found = _by_name().get(plain)
    if found is None:
        raise OutOfRange("size", name, "one of " + ", ".join(sizes()))
    return found
