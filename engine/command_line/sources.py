"""`python -m engine sources`: where every published number comes from, and which were written from memory."""

from __future__ import annotations

import json
from collections.abc import Mapping

from engine import tables

_FROM_MEMORY = ("memory", "practice")


def sources(wants_json: bool) -> int:
    """Print every data file with title, source, edition, how it was read, and its rows that rest on memory."""
    found = [_entry(tables.load(name)) for name in tables.names()]
    if wants_json:
        print(json.dumps(found, indent=1))
        return 0
    for entry in found:
        print(f"{entry['name']}: {entry['title']}")
        print(f"  source: {entry['source']}; edition: {entry['edition']}; {entry['rows']} rows")
        print(f"  read: {entry['read']}")
        cells = entry["from_memory"]
        assert isinstance(cells, list)
        for cell in cells:
            print(f"  from memory or practice: {cell}")
    return 0


def _entry(table: tables.Table) -> dict[str, object]:
    return {
        "name": table.name,
        "title": table.title,
        "source": table.source,
        "edition": table.edition,
        "read": table.read,
        "rows": len(table.rows),
        "from_memory": [_row(row) for row in table.rows if _rests_on_memory(row)],
        "notes": list(table.notes),
    }


def _rests_on_memory(row: Mapping[str, object]) -> bool:
    return any(name.startswith("confirmed") and value in _FROM_MEMORY for name, value in row.items())


def _row(row: Mapping[str, object]) -> str:
    return ", ".join(f"{name} {value}" for name, value in row.items() if value not in (None, ""))
