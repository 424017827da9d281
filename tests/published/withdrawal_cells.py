"""Withdrawal of lag screws: NDS 2018 Table 12.2A, lb per inch of thread, for the diameters up to 1 in.

Read from the page of the standard as it lies in a city's public permit file. The rows whose figures are blurred there
(0.49, 0.46, 0.44 and 0.43) are left out.
"""

from __future__ import annotations

from engine.fasteners import Fastener, withdrawal
from tests.published.cells import Cell, PublishedTable, read


def _cell(gravity: str, diameter: str, published: str) -> Cell:
    lag = Fastener("lag screw", float(diameter))
    name = f"G {gravity}, {diameter} in"
    return Cell(name, float(published), lambda: withdrawal(lag, float(gravity)).w_lb_per_in, tolerance=0.5)


TABLES = [
    PublishedTable(
        "NDS 2018 Table 12.2A lag screw withdrawal",
        "recomputed",
        [
            _cell(row["specific_gravity"], diameter, published)
            for row in read("lag_screw_withdrawal")
            for diameter, published in row.items()
            if diameter != "specific_gravity"
        ],
    )
]
