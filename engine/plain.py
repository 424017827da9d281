"""Results as plain data that JSON can hold."""

from __future__ import annotations

import math
from collections.abc import Mapping


def finite(value: object) -> object:
    """`value` in dicts, lists, text and numbers; an infinite number (a demand and nothing to carry it) becomes None."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [finite(item) for item in value]
    return str(value) if isinstance(value, str) else value  # an enumeration of words becomes the word
