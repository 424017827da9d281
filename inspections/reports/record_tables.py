"""The readings of a frozen record as tables: one for each kind of part, whichever way round is narrower."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

MOST_ACROSS = 3  # parts side by side; beyond that each part is a row


@dataclass(frozen=True)
class RecordTable:
    """`heads` stand across, `rows` are (head, cells); a cell is a reading, or None where nothing was recorded."""

    title: str
    corner: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Mapping[str, Any] | None, ...]], ...]
    writers: tuple[tuple[str, str], ...]  # who, and at what moment of each day first


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
    return RecordTable(kind.capitalize(), corner, heads, rows, tuple((who, at) for (who, _), at in writers.items()))


def _in_order(key: str) -> tuple[str, int]:
    """F2 before F10."""
    head = key.rstrip("0123456789")
    return head, int(key[len(head) :] or 0)
