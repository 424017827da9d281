"""Reading the data files in `engine/data`: every published number the engine uses lives there, with its source.

A data file is JSON: {"title", "source", "edition", "read", "units", "columns", "rows", "notes"}; `rows` is a list of
lists in the order of `columns`. A column named `confirmed` says how each row is known: `two` (read in two
public sources), `source` (read in one), `memory` (written from memory).
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from functools import cache
from typing import Any

from engine.records import dataclass


@dataclass(frozen=True)
class Table:
    """A published table: where it is from, and its rows as mappings from column name to value."""

    name: str
    title: str
    source: str
    edition: str
    read: str
    rows: tuple[Mapping[str, object], ...]
    notes: tuple[str, ...] = ()


@cache
def load(name: str) -> Table:
    """Read `engine/data/<name>.json` once. Raises FileNotFoundError for a name that is not there."""
    raw = json.loads(_bytes_of(name))
    columns = raw["columns"]
    return Table(
        name=name,
        title=raw["title"],
        source=raw["source"],
        edition=raw["edition"],
        read=raw["read"],
        rows=tuple(dict(zip(columns, row, strict=True)) for row in raw["rows"]),
        notes=tuple(raw.get("notes", ())),
    )


def row_key(name: str, row: Mapping[str, object]) -> str:
    """The key of one row of a table for a confirmation: `post_heights.17`, counted from 1."""
    return f"{name}.{next(number for number, each in enumerate(load(name).rows, start=1) if each is row)}"


def _bytes_of(name: str) -> bytes:
    # As pkgutil.get_data reads, from a folder or from a zip archive: importlib.resources would load zipfile, tempfile
    # and pathlib at every start.
    loader: Any = globals()["__loader__"]
    found: bytes = loader.get_data(os.path.join(os.path.dirname(__file__), "data", f"{name}.json"))
    return found


def names() -> list[str]:
    """The names of all data files, sorted."""
    from importlib import resources

    folder = resources.files("engine").joinpath("data")
    return sorted(item.name[:-5] for item in folder.iterdir() if item.name.endswith(".json"))
