"""The keys under which rules are amended and rules, tables and rows are confirmed."""

from __future__ import annotations

import re

from engine import tables
from engine.codes.rules import rule_row
from engine.errors import NotPublished

_ROW = re.compile(r"([a-z0-9_]+)(?:\.(\d{1,5}))?", re.ASCII)


def unit_of_rule(key: str) -> str | None:
    """The unit of a rule that is a number, which is the unit of its amendments; None if there is no such rule."""
    try:
        row = rule_row(key)
    except NotPublished:
        return None
    return str(row["unit"]) if isinstance(row["value"], (int, float)) else None


def can_be_confirmed(key: str) -> bool:
    """Whether a key names a rule, a table (`post_heights`) or a row of a table (`post_heights.17`)."""
    try:
        rule_row(key)
    except NotPublished:
        pass
    else:
        return True
    found = _ROW.fullmatch(key)
    if found is None or found[1] == "rules":  # a rule has a key of its own
        return False
    try:
        rows = tables.load(found[1]).rows
    except OSError:
        return False
    return found[2] is None or 1 <= int(found[2]) <= len(rows)
