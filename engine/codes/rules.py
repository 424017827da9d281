"""Single rules of the codes and guides, by key."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from engine import tables
from engine.codes.base import EditionBase
from engine.codes.rows import Published, Row
from engine.errors import NotPublished


@cache
def _rules() -> Mapping[str, Row]:
    return {str(row["key"]): row for row in tables.load("rules").rows}


def rule_row(key: str) -> Row:
    """The row of a rule. Raises NotPublished for a key that is not held."""
    found = _rules().get(key)
    if found is None:
        raise NotPublished(f"no rule is held under the key {key!r}")
    return found


@cache
def names_edition(text: str, name: str) -> bool:
    """Does `IRC 2009-2024; DCA 6-2012` name this edition?"""
    for part in text.split(";"):
        years = re.fullmatch(r"IRC (\d{4})(?:-(\d{4}))?", part.strip())
        if years and name.startswith("IRC "):
            first, last = int(years[1]), int(years[2] or years[1])
            if first <= int(name[4:]) <= last:
                return True
        elif part.strip() == name:
            return True
    return False


class RuleLookups(EditionBase):
    """The rules of an edition."""

    def rule(self, key: str) -> Published:
        """A single number of the code or guide, such as `guard.min_height`; a local amendment goes before it.

        `in_edition` says whether the rule's source names this edition; a rule of another guide is given all the same,
        with its own citation. Raises NotPublished for a key that is not held or whose value is words.
        """
        for amendment in self.amendments:
            if amendment.key == key:
                citation = amendment.citation
                return Published(amendment.value, amendment.unit, citation, "amendment", "local amendment")
        row = rule_row(key)
        value = row["value"]
        if not isinstance(value, (int, float)):
            raise NotPublished(f"the rule {key} is in words: {value}")
        inside = names_edition(str(row["edition"]), self.name)
        note = str(row["rule"]) if inside else f"{row['rule']} (read for {row['edition'] or 'no edition'})"
        confirmed = "firm" if key in self.confirmed_keys else str(row["confirmed"])
        return Published(float(value), str(row["unit"]), str(row["citation"]), confirmed, note, row, inside)

    def rule_text(self, key: str) -> str:
        """The value of a rule as words or number, such as `ASTM A153`."""
        return str(rule_row(key)["value"])
