"""The short names of parts: LD1, F1, J1. Unique in the visit, and never given to another part, even after removal."""

import re
from collections.abc import Iterable

PREFIXES = {
    "level": "L",
    "ledger": "LD",
    "fastener": "F",
    "joist_field": "J",
    "beam": "B",
    "post": "P",
    "footing": "FT",
    "guard": "G",
    "stair": "S",
    "lateral_tie": "T",
    "patch": "PT",
}


def next_key(kind: str, taken: Iterable[str]) -> str:
    """The key after the highest one taken of this kind. `taken` are all keys of the visit, removed parts included."""
    prefix = PREFIXES[kind]
    numbers = [int(found[1]) for key in taken if (found := re.fullmatch(rf"{prefix}(\d{{1,6}})", key))]
    return f"{prefix}{max(numbers, default=0) + 1}"
