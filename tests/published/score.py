"""How many published cells come out: `python -m tests.published.score`.

Prints a line a table, first what is recomputed from first principles, then what is looked up. Every module of this
folder whose name ends in `_cells` and which has a list `TABLES` takes part; the tests check the same cells.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

from tests.published.cells import PublishedTable


def published_tables() -> list[PublishedTable]:
    """All tables, sorted by basis and title."""
    found: list[PublishedTable] = []
    for path in sorted(Path(__file__).parent.glob("*_cells.py")):
        if path.name.startswith("test_"):  # it lists the tables of the module that it tests
            continue
        found += importlib.import_module(f"tests.published.{path.stem}").TABLES
    return sorted(found, key=lambda table: (table.basis != "recomputed", table.title))


def score(table: PublishedTable) -> tuple[int, int]:
    """(cells that come out, cells published)."""
    return sum(cell.comes_out() for cell in table.cells), len(table.cells)


def lines() -> list[str]:
    """The score as it is printed and as it stands in the README: a line a table, then the sums."""
    found, basis = [], ""
    sums: dict[str, list[int]] = {}
    for table in published_tables():
        if table.basis != basis:
            basis = table.basis
            found.append(f"{basis}:")
        good, all_ = score(table)
        sums.setdefault(basis, [0, 0])
        sums[basis][0] += good
        sums[basis][1] += all_
        found.append(f"  {good:5d} of {all_:5d}  {table.title}")
    return [*found, *(f"{basis}: {good} of {all_}" for basis, (good, all_) in sums.items())]


def main() -> int:
    print("\n".join(lines()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
