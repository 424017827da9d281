"""Wood values of NDS Supplement Tables 4A, 4B, 4D row by row; look-ups of ledger spacing, decking and rules."""

from __future__ import annotations

import re
from functools import partial

from engine import tables
from engine.codes import edition, editions
from engine.lumber import Lumber, design_values
from tests.published.cells import Cell, PublishedTable, read

COLUMNS = {
    "fb": "Fb_psi", "ft": "Ft_psi", "fv": "Fv_psi", "fc_perp": "Fc_perp_psi", "fc": "Fc_psi", "e": "E_psi",
    "e_min": "Emin_psi", "specific_gravity": "G",
}  # fmt: skip


def _size(row: dict[str, str]) -> str:
    """A size that the row covers."""
    size_class = row["size_class"]
    if row["nds_s_table"] == "4D":
        return "6x10" if size_class.startswith("Beams") else "6x6"
    by_width = re.match(r"2x\d+", size_class)
    if by_width:
        return by_width[0]
    # Stud is valued as No.3 from 8 in on; the light framing grades end at 4 in.
    return "2x4" if "4 in wide" in size_class else "2x6"


def _value(lumber: Lumber, name: str) -> float:
    return float(getattr(design_values(lumber), name))


def _wood() -> list[PublishedTable]:
    found = []
    for file, title in (("design_values_dimension", "4A and 4B"), ("design_values_timbers", "4D")):
        table = PublishedTable(f"NDS Supplement Table {title}", "looked up")
        for row in read(file):
            size = _size(row)
            lumber = Lumber(row["species"], row["grade"], size)
            for name, column in COLUMNS.items():
                place = f"{row['species']} {row['grade']} {size} {name}"
                table.cells.append(Cell(place, float(row[column]), partial(_value, lumber, name), 0))
        found.append(table)
    return found


def _ledger() -> list[PublishedTable]:
    table = PublishedTable("Ledger spacing, DCA 6 Table 5 to IRC 2024 R507.9.1.3(1)", "looked up")
    state = {}
    for row in tables.load("ledger_spacing_wisconsin").rows:
        state[str(row["joist_span_ft"])] = row["spacing_in"]
    for row in read("ledger_fastener_spacing"):
        feet, spacing_in = row["joist_span_ft_max"], float(row["on_center_spacing_in"])
        place = f"{row['fastener']} into {row['band_joist']}, {row['load_psf']} psf, {feet} ft"
        if row["edition"].startswith("Wisconsin"):
            table.cells.append(Cell(f"state table, {place}", spacing_in, lambda f=feet: float(str(state[f])), 0))
            continue
        for name in _editions_of(row):
            gap = float(row["max_sheathing_in"])
            arguments = (row["fastener"], row["band_joist"], float(feet) * 12, float(row["load_psf"]), gap)
            look = lambda n=name, a=arguments: edition(n).ledger_spacing(*a).value  # noqa: E731
            table.cells.append(Cell(f"{name} {place}, gap {gap:g}", spacing_in, look, 0))
    return [table]


def _editions_of(row: dict[str, str]) -> tuple[str, ...]:
    text = row["edition"]
    if "engineered band" in text:
        return ("DCA 6-2012",)
    if text.startswith("DCA 6"):
        return ("DCA 6-2012", "IRC 2015")
    return ("IRC 2018", "IRC 2021", "IRC 2024") if row["load_kind"] == "live" else ("IRC 2021", "IRC 2024")


def _decking() -> list[PublishedTable]:
    table = PublishedTable("Decking, IRC 2015 R507.4 and IRC 2018 to 2024 R507.7", "looked up")
    for row in read("decking_joist_spacing"):
        names = ("IRC 2015", "IRC 2018") if "2018" in row["edition"] else ("IRC 2021", "IRC 2024")
        for name in names:
            spans = ("single", "multiple") if row["board_span"] == "any" else (row["board_span"].split(" ")[0],)
            for span in spans:
                arguments = (row["decking"], row["direction"], span)
                look = lambda n=name, a=arguments: edition(n).decking_spacing(*a).value  # noqa: E731
                place = f"{name} {row['decking']} {row['direction']} {span}"
                table.cells.append(Cell(place, float(row["max_joist_spacing_in"]), look, 0))
    return [table]


def _rules() -> list[PublishedTable]:
    table = PublishedTable("Rules and limits", "looked up")
    for row in read("rules"):
        if re.fullmatch(r"[\d.]+", row["value"]):
            for name in editions():
                look = lambda n=name, k=row["key"]: edition(n).rule(k).value  # noqa: E731
                table.cells.append(Cell(f"{name} {row['key']}", float(row["value"]), look, 0))
    return [table]


TABLES = [*_wood(), *_ledger(), *_decking(), *_rules()]
