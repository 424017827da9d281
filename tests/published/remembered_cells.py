"""Cells of further published tables, written from memory: NDS 12A, 12N, 12.2A to C and IRC Table R502.3.1(2).

They were typed in as the tables print them, without the engine, and prove less than cells that were read. A cell that
could not be recalled for certain is left out. The floor joist spans of the IRC are for dry, untreated lumber under
40 psf live and 10 psf dead load, L/360, repetitive, in feet and inches; those above the 18 ft of the deck tables are
asked for without that cap.
"""

from __future__ import annotations

import math
from functools import partial

from engine.fasteners import Fastener, Part, lateral, withdrawal
from engine.joists import max_joist_span
from engine.loads import Loads
from engine.lumber import Lumber
from tests.published.cells import Cell, PublishedTable

# 1-1/2 in on 1-1/2 in, single shear: Z parallel, Z side perpendicular, Z main perpendicular, Z both perpendicular.
BOLTS_12A = {
    (0.55, 0.5): (530, 330, 330, 250),
    (0.55, 0.625): (660, 400, 400, 280),
    (0.55, 0.75): (800, 460, 460, 310),
    (0.55, 0.875): (930, 520, 520, 330),
    (0.55, 1.0): (1060, 580, 580, 350),
    (0.50, 0.5): (480, 300, 300, 220),
    (0.50, 0.625): (600, 360, 360, 240),
    (0.50, 0.75): (720, 420, 420, 270),
    (0.50, 0.875): (850, 470, 470, 290),
    (0.50, 1.0): (970, 530, 530, 310),
    (0.43, 0.5): (410, 250, 250, 180),
    (0.43, 0.75): (620, 350, 350, 210),
    (0.42, 0.5): (410, 240, 240, 170),
    (0.42, 0.625): (510, 290, 290, 190),
    (0.42, 0.75): (610, 340, 340, 210),
}
ANGLES = ((0, 0), (0, 90), (90, 0), (90, 90))  # main, side

# Common nails, 1-1/2 in side member, 10D penetration.
NAILS_12N = {
    0.55: {0.131: 106, 0.148: 128, 0.162: 154, 0.192: 185, 0.207: 203, 0.225: 224, 0.244: 230},
    0.50: {0.131: 97, 0.148: 118, 0.162: 141, 0.192: 170, 0.207: 186, 0.225: 205, 0.244: 211},
    0.43: {0.148: 102, 0.162: 122, 0.192: 147, 0.207: 161, 0.225: 178},
    0.42: {0.131: 82, 0.148: 100, 0.162: 120, 0.192: 144, 0.207: 158},
}
LAGS = (0.25, 0.3125, 0.375, 0.4375, 0.5, 0.625, 0.75, 0.875, 1.0)
LAGS_12_2A = {
    0.55: (260, 307, 352, 395, 437, 516, 592, 664, 734),
    0.50: (225, 266, 305, 342, 378, 447, 513, 576, 636),
    0.43: (179, 212, 243, 273, 302, 357, 409, 459, 508),
    0.42: (173, 205, 235, 264, 291, 344, 395, 443, 490),
    0.36: (137, 163, 186, 209, 231, 273, 313, 352, 389),
}
SCREWS = (0.138, 0.164, 0.19, 0.216, 0.242)
SCREWS_12_2B = {0.55: (119, 141, 164, 186, 209), 0.50: (98, 117, 135, 154, 172)}
NAILS = (0.099, 0.113, 0.128, 0.131, 0.135, 0.148, 0.162, 0.192, 0.207, 0.225, 0.244)
NAILS_12_2C = {
    0.55: (31, 35, 40, 41, 42, 46, 50, 59, 64, 70, 76),
    0.50: (24, 28, 31, 32, 33, 36, 40, 47, 50, 55, 60),
}

SIZES = ("2x6", "2x8", "2x10", "2x12")
FLOORS = {  # species, spacing in: spans of No. 2 joists, 2x6 to 2x12, feet and inches
    ("douglas fir-larch", 16): ((9, 9), (12, 9), (15, 7), (18, 1)),
    ("hem-fir", 12): ((10, 0), (13, 2), (16, 10), (20, 4)),
    ("hem-fir", 16): ((9, 1), (12, 0), (15, 2), (17, 7)),
    ("hem-fir", 24): ((7, 11), (10, 2), (12, 5), (14, 4)),
    ("spruce-pine-fir", 12): ((10, 3), (13, 6), (17, 3), (20, 7)),
    ("spruce-pine-fir", 16): ((9, 4), (12, 3), (15, 5), (17, 10)),
    ("spruce-pine-fir", 24): ((8, 1), (10, 3), (12, 7), (14, 7)),
    ("southern pine", 12): ((10, 3), (13, 6), (16, 2), (19, 1)),
    ("southern pine", 16): ((9, 4), (11, 10), (14, 0), (16, 6)),
    ("southern pine", 24): ((7, 7), (9, 8), (11, 5), (13, 6)),
}


def _bolt_lb(gravity: float, diameter_in: float, main_deg: float, side_deg: float) -> float:
    return lateral(Fastener("bolt", diameter_in), Part(gravity, 1.5, main_deg), Part(gravity, 1.5, side_deg)).z_lb


def _nail_lb(gravity: float, diameter_in: float) -> float:
    return lateral(Fastener("nail", diameter_in), Part(gravity, 9 * diameter_in, 90), Part(gravity, 1.5, 90)).z_lb


def _withdrawal_lb_per_in(kind: str, gravity: float, diameter_in: float) -> float:
    return withdrawal(Fastener(kind, diameter_in), gravity).w_lb_per_in


def _floor_in(species: str, spacing_in: float, size: str) -> float:
    joist = Lumber(species, "No. 2", size, wet=False, incised=False, repetitive=True)
    return max_joist_span(joist, spacing_in, Loads(live=40, dead=10), cap_in=math.inf).value_in


def _tables() -> list[PublishedTable]:
    bolts = PublishedTable("NDS 2018 Table 12A, from memory", "recomputed")
    for (gravity, diameter_in), row in BOLTS_12A.items():
        for published, (main, side) in zip(row, ANGLES, strict=True):
            name = f"{diameter_in:g} in bolt, G {gravity:g}, main at {main}, side at {side}"
            bolts.cells.append(Cell(name, published, partial(_bolt_lb, gravity, diameter_in, main, side), 5.01))
    nails = PublishedTable("NDS 2018 Table 12N, from memory", "recomputed")
    for gravity, by_diameter in NAILS_12N.items():
        for diameter_in, published in by_diameter.items():
            ask = partial(_nail_lb, gravity, diameter_in)
            nails.cells.append(Cell(f"{diameter_in:g} in nail, G {gravity:g}", published, ask, 0.5))
    drawn = PublishedTable("NDS 2018 Tables 12.2A to C, from memory", "recomputed")
    for kind, diameters, table in (
        ("lag screw", LAGS, LAGS_12_2A),
        ("wood screw", SCREWS, SCREWS_12_2B),
        ("nail", NAILS, NAILS_12_2C),
    ):
        for gravity, row in table.items():
            for diameter_in, published in zip(diameters, row, strict=True):
                ask = partial(_withdrawal_lb_per_in, kind, gravity, diameter_in)
                drawn.cells.append(Cell(f"{diameter_in:g} in {kind}, G {gravity:g}", published, ask, 0.51))
    floors = PublishedTable("IRC Table R502.3.1(2) floor joists, from memory", "recomputed")
    for (species, spacing_in), spans in FLOORS.items():
        for size, (feet, inches) in zip(SIZES, spans, strict=True):
            ask = partial(_floor_in, species, spacing_in, size)
            floors.cells.append(Cell(f"{species} {size} at {spacing_in} in", 12 * feet + inches, ask, 1))
    return [bolts, nails, drawn, floors]


TABLES = _tables()
