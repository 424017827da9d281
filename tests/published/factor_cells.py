"""Adjustment factors of members: NDS Tables 2.3.2, 2.3.3, 4.3.8 and the factor pages of Supplement Tables 4A to 4D.

The rows on connections are no part of this file. Each factor is read out of a step that the engine shows.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from engine.adjustment import flat_use_factor, size_factors, temperature_factor, wet_factor
from engine.bearing import bearing
from engine.lumber import Lumber, adjusted_values
from engine.sections import find_size
from engine.stability import beam_effective_length_in
from tests.published.cells import Cell, PublishedTable, read

PROPERTY = {"Fb": "fb", "Ft": "ft", "Fc": "fc", "Fv": "fv", "Fc_perp": "fc_perp", "E": "e", "Emin": "e_min"}
TWO_BY = {"4": "2x4", "5": "2x5", "6": "2x6", "8": "2x8", "10": "2x10", "12": "2x12", "14": "2x14"}


def _properties(text: str) -> list[str]:
    return [PROPERTY[each.strip()] for each in re.split(r",| and ", text.split("(")[0].split(";")[0])]


def _size_cells(row: dict[str, str]) -> Iterator[Cell]:
    condition, value = row["condition"], row["value_or_formula"]
    if not re.fullmatch(r"[\d.]+", value):
        return
    grade, pine, size = "No.2", False, "2x12"
    width = re.search(r"nominal width (\d+) in", condition)
    if width:
        size = TWO_BY[width[1]]
    if "4 in thick" in condition:
        size = size.replace("2x", "4x") if width else "4x8"
    if condition.startswith("Stud"):
        grade, size = "Stud", "2x4" if "2-4 in" in condition else "2x6"
    elif condition.startswith("Construction"):
        grade, size = "Construction", "2x4"
    elif condition.startswith("Southern Pine"):
        pine = True
        size = "2x14" if "wider than 12" in condition else "4x8" if "4 in thick" in condition else "2x12"
    elif condition.startswith("Timbers"):
        size = "6x6"
    factors = size_factors(find_size(size), pine, grade)
    for name in _properties(row["applies_to"]):
        yield Cell(f"CF on {name}: {condition}", float(value), lambda f=factors, n=name: f[n], 0)


def _flat_cells(row: dict[str, str]) -> Iterator[Cell]:
    condition = row["condition"]
    thick = "4x" if "4 in thick" in condition else "2x"
    for width in re.match(r"(\d+)(?: to (\d+))?", condition).groups():  # type: ignore[union-attr]
        if width:
            size = find_size(thick + width)
            yield Cell(f"Cfu {size.name}", float(row["value_or_formula"]), lambda s=size: flat_use_factor(s), 0)


def _wet_cells(row: dict[str, str]) -> Iterator[Cell]:
    timbers = row["condition"].startswith("timbers")
    if not timbers and not row["condition"].startswith("dimension"):
        return
    size = find_size("6x6" if timbers else "2x6")
    for name in _properties(row["applies_to"]):
        place = f"CM on {name}, {'timbers' if timbers else 'dimension lumber'}"
        factor = float(row["value_or_formula"])
        yield Cell(place, factor, lambda n=name, s=size: wet_factor(n, s, False, 5000.0), 0)
        step = re.search(r"<= (\d+) psi", row["condition"])
        if step:
            limit = float(step[1])
            yield Cell(f"{place} at {limit:g} psi", 1.0, lambda n=name, s=size, v=limit: wet_factor(n, s, False, v), 0)
            above = lambda n=name, s=size, v=limit: wet_factor(n, s, False, v + 1)  # noqa: E731
            yield Cell(f"{place} above {limit:g} psi", factor, above, 0)


def _incising_cells(row: dict[str, str]) -> Iterator[Cell]:
    incised, plain = (Lumber("hem-fir", "No.2", "2x8", incised=each) for each in (True, False))
    for name in _properties(row["applies_to"]):
        ratio = lambda n=name: getattr(adjusted_values(incised), n) / getattr(adjusted_values(plain), n)  # noqa: E731
        yield Cell(f"Ci on {name}", float(row["value_or_formula"]), ratio, 1e-12)


def _duration_cells(row: dict[str, str]) -> Iterator[Cell]:
    lumber, factor = Lumber("hem-fir", "No.2", "2x8"), float(row["value_or_formula"])
    for name in _properties(row["applies_to"].replace(", connections", "")):
        ratio = lambda n=name, f=factor: getattr(adjusted_values(lumber, f), n) / getattr(adjusted_values(lumber), n)  # noqa: E731
        yield Cell(f"CD on {name}, {row['condition']}", factor, ratio, 1e-12)
    for name in ("e", "e_min", "fc_perp"):
        ratio = lambda n=name, f=factor: getattr(adjusted_values(lumber, f), n) / getattr(adjusted_values(lumber), n)  # noqa: E731
        yield Cell(f"CD not on {name}, {row['condition']}", 1.0, ratio, 0)


def _temperature_cells(row: dict[str, str]) -> Iterator[Cell]:
    hottest = float(re.findall(r"<= (\d+) F", row["condition"])[0])
    for wet in (True, False):
        if ("; dry" in row["applies_to"] and wet) or (row["applies_to"].endswith("; wet") and not wet):
            continue
        for name in _properties(row["applies_to"]):
            place = f"Ct on {name} at {hottest:g} F, {'wet' if wet else 'dry'}"
            read_out = lambda n=name, t=hottest, w=wet: temperature_factor(n, t, w)  # noqa: E731
            yield Cell(place, float(row["value_or_formula"]), read_out, 0)


def _bearing_cells(row: dict[str, str]) -> Iterator[Cell]:
    length = re.search(r"lb = ([\d.]+) in", row["condition"])
    if length:
        lumber, inches = Lumber("hem-fir", "No.2", "2x8"), float(length[1])
        ratio = lambda i=inches: bearing(lumber, 100, i, 6).capacity / bearing(lumber, 100, i, 0).capacity  # noqa: E731
        yield Cell(f"Cb at {inches:g} in", float(row["value_or_formula"]), ratio, 0.0063)  # printed 1.10 for 1.094


def _length_cells(row: dict[str, str]) -> Iterator[Cell]:
    """`1.63 lu + 3d` and the like, at a depth of 10 in."""
    condition, formula = row["condition"], row["value_or_formula"]
    if "braced at centre" in condition:
        return
    loading = (
        "other"
        if condition.startswith("any other")
        else "cantilever uniform"
        if "cantilever, uniform" in condition
        else "cantilever tip"
        if "cantilever" in condition
        else "centre point"
        if "centre point" in condition
        else "uniform"
    )
    ratios = {"< 7": (1, 6.9), ">= 7": (7, 20), "lu/d <= 14.3": (7, 14.2), "> 14.3": (14.4, 30)}
    span = next(r for text, r in ratios.items() if condition.endswith(f" {text}"))
    factor = float(formula.split(" ")[0])
    for ratio in span:
        published = factor * ratio * 10 + (30 if "3d" in formula else 0)
        read_out = lambda r=ratio, k=loading: beam_effective_length_in(r * 10, 10, k)  # noqa: E731
        yield Cell(f"le, {condition}, at lu/d {ratio:g}", published, read_out, 1e-9)


READERS = {
    "CF": _size_cells,
    "Cfu": _flat_cells,
    "CM": _wet_cells,
    "Ci": _incising_cells,
    "CD": _duration_cells,
    "Ct": _temperature_cells,
    "Cb": _bearing_cells,
    "le": _length_cells,
}


def _tables() -> list[PublishedTable]:
    table = PublishedTable("NDS member adjustment factors", "looked up")
    for row in read("adjustment_factors"):
        if row["factor"] in READERS:
            table.cells.extend(READERS[row["factor"]](row))
    return [table]


TABLES = _tables()
