"""The readings of a frozen record as tables: one for each kind of part, whichever way round is narrower."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inspections.reports.subjects import in_few_words

MOST_ACROSS = 3  # parts side by side; beyond that each part is a row
NARROW = 3  # columns of cells that fit into half a page


@dataclass(frozen=True)
class RecordTable:
    """`heads` stand across, `rows` are (head, cells); a cell is a reading, or None where nothing was recorded.

    `same` are the readings that all of several parts share; they are said once and left out of the rows.
    """

    title: str
    corner: str
    parts: str
    same: tuple[Mapping[str, Any], ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Mapping[str, Any] | None, ...]], ...]
    writers: tuple[tuple[str, str], ...]  # who, and at what moment of each day first

    @property
    def is_narrow(self) -> bool:
        return len(self.heads) <= NARROW


def record_tables(parts: Sequence[Mapping[str, Any]]) -> list[RecordTable]:
    """Every reading of every part; parts without any are left out."""
    by_kind: dict[str, list[Mapping[str, Any]]] = {}
    for part in parts:
        if part["readings"]:
            by_kind.setdefault(part["kind_words"], []).append(part)
    return [_table(kind, members) for kind, members in by_kind.items()]


def _table(kind: str, parts: list[Mapping[str, Any]]) -> RecordTable:
    parts = sorted(parts, key=lambda part: _in_order(part["key"]))
    facts = list(dict.fromkeys(reading["fact"] for part in parts for reading in part["readings"]))
    same = _same(parts, facts)
    facts = [fact for fact in facts if fact not in {reading["fact"] for reading in same}]
    cells = {(part["key"], reading["fact"]): reading for part in parts for reading in part["readings"]}
    names = tuple(f"{part['key']}, {part['name']}" if part["name"] else part["key"] for part in parts)
    if len(parts) <= MOST_ACROSS:
        heads, corner = names, "Fact"
        rows = tuple((fact, tuple(cells.get((part["key"], fact)) for part in parts)) for fact in facts)
    else:
        heads, corner = tuple(facts), "Part"
        rows = tuple(
            (name, tuple(cells.get((part["key"], fact)) for fact in facts))
            for name, part in zip(names, parts, strict=True)
        )
    writers: dict[tuple[str, str], str] = {}
    for part in parts:
        for reading in part["readings"]:
            writers.setdefault((reading["by"], reading["at"][:10]), reading["at"])
    return RecordTable(
        title=kind.capitalize(),
        corner=corner,
        parts=in_few_words([f"{kind} {part['key']}" for part in parts]),
        same=tuple(same),
        heads=heads,
        rows=rows if facts else (),
        writers=tuple((who, at) for (who, _), at in writers.items()),
    )


def _same(parts: Sequence[Mapping[str, Any]], facts: Sequence[str]) -> list[Mapping[str, Any]]:
    """The readings in which all of several parts agree, in value and in how it was got."""
    if len(parts) == 1:
        return []
    found = []
    for fact in facts:
        readings = [next((each for each in part["readings"] if each["fact"] == fact), None) for part in parts]
        first = readings[0]
        if first and all(each and (each["value"], each["how"]) == (first["value"], first["how"]) for each in readings):
            found.append(first)
    return found


def _in_order(key: str) -> tuple[str, int]:
    """F2 before F10."""
    head = key.rstrip("0123456789")
    return head, int(key[len(head) :] or 0)
