"""Lag screws through sheet steel: NDS Table 12K, lb, for 14 to 10 gage and 1/4 to 3/8 in lags.

Read from two copies of the page of the standard (2015 numbering) as they lie in a city's public permit files; what is
blurred in one is legible in the other, and the two cells that are cut off in both are left out. The table stands on a
penetration of 8D without the tip (its heading), so the bearing length is 8D and half of the tip (12.3.5.3).
"""

from __future__ import annotations

from engine.fasteners import Fastener, Part, lateral
from tests.published.cells import Cell, PublishedTable, read

MEASURES = ("plate_in", "diameter_in")


def _z_lb(plate_in: float, diameter_in: float, gravity: float, angle_deg: float) -> float:
    lag = Fastener("lag screw", diameter_in)
    wood = Part(gravity, 8 * diameter_in + lag.tip_in / 2, angle_deg)
    return lateral(lag, wood, Part(None, plate_in, 0, material="A653 steel")).z_lb


def _cell(row: dict[str, str], column: str) -> Cell:
    gravity, direction = column.split()
    plate_in, diameter_in = (float(row[each]) for each in MEASURES)
    angle_deg = 90 if direction == "perp" else 0
    return Cell(
        f"{plate_in} in steel, {diameter_in} in lag, G {gravity} {direction}",
        float(row[column]),
        lambda: _z_lb(plate_in, diameter_in, float(gravity), angle_deg),
        tolerance=5.0,  # the table is rounded to 10 lb
    )


TABLES = [
    PublishedTable(
        "NDS Table 12K lag screws through sheet steel",
        "recomputed",
        [
            _cell(row, column)
            for row in read("lag_screw_steel_plate")
            for column, published in row.items()
            if column not in MEASURES and published
        ],
    )
]
