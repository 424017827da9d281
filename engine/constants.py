"""Single published numbers of the member checks, by key, out of `data/member_constants.json` and `data/rules.json`."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from engine import tables


@cache
def _constants() -> Mapping[str, float]:
    return {str(row["key"]): float(str(row["value"])) for row in tables.load("member_constants").rows}


@cache
def _rules() -> Mapping[str, float]:
    rows = tables.load("rules").rows
    return {str(row["key"]): float(row["value"]) for row in rows if isinstance(row["value"], (int, float))}


def constant(key: str) -> float:
    """The value of a factor of the standard, such as `repetitive`; KeyError for a key that is not there."""
    return _constants()[key]


def model_rule(key: str) -> float:
    """The value of a rule of the model codes, such as `load.overhang_point_load`, without local amendments."""
    return _rules()[key]
