"""`python -m engine sources`: where every published number comes from, and which were written from memory."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict

from engine import tables
from engine.deck import Confirmation

_FROM_MEMORY = ("memory", "practice")


def sources(wants_json: bool, confirmations: Sequence[Confirmation] = ()) -> int:
    """Print every data file with title, source, edition, how it was read, and its rows that rest on memory.

    Each such row has the key under which a firm confirms it; what `confirmations` name is said to be confirmed.
    """
    found = [_entry(tables.load(name), confirmations) for name in tables.names()]
    if wants_json:
        print(json.dumps(found, indent=1))
        return 0
    for entry in found:
        print(f"{entry['name']}: {entry['title']}")
        print(f"  source: {entry['source']}; edition: {entry['edition']}; {entry['rows']} rows")
        print(f"  read: {entry['read']}")
        cells, keys, confirmed = entry["from_memory"], entry["keys"], entry["confirmed"]
        assert isinstance(cells, list) and isinstance(keys, list) and isinstance(confirmed, list)
        for cell, key in zip(cells, keys, strict=True):
            print(f"  from memory or practice: {cell}  (to confirm: {key})")
        for each in confirmed:
            print(f"  confirmed: {each['key']} by {each['by']} on {each['on']}")
    return 0


def _entry(table: tables.Table, confirmations: Sequence[Confirmation]) -> dict[str, object]:
    keys = {_key(table, number): row for number, row in enumerate(table.rows, start=1)}
    confirmed = [each for each in confirmations if each.key == table.name or each.key in keys]
    done = {each.key for each in confirmed}
    open_rows = {key: row for key, row in keys.items() if _rests_on_memory(row) and done.isdisjoint((key, table.name))}
    return {
        "name": table.name,
        "title": table.title,
        "source": table.source,
        "edition": table.edition,
        "read": table.read,
        "rows": len(table.rows),
        "from_memory": [_row(row) for row in open_rows.values()],
        "keys": list(open_rows),
        "confirmed": [asdict(each) for each in confirmed],
        "notes": list(table.notes),
    }


def _key(table: tables.Table, number: int) -> str:
    """A rule has a key of its own, the row of a table its number."""
    return str(table.rows[number - 1]["key"]) if table.name == "rules" else f"{table.name}.{number}"


def _rests_on_memory(row: Mapping[str, object]) -> bool:
    return any(name.startswith("confirmed") and value in _FROM_MEMORY for name, value in row.items())


def _row(row: Mapping[str, object]) -> str:
    return ", ".join(f"{name} {value}" for name, value in row.items() if value not in (None, ""))
