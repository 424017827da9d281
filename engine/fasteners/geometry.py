"""The geometry factor: measured end distance and spacing against what the fastener needs (NDS 12.5.1)."""

from __future__ import annotations

from functools import cache

from engine.errors import OutOfRange, require_positive
from engine.fasteners.parts import LARGE_DIAMETER_IN, cell_number
from engine.records import dataclass
from engine.results import Step
from engine.tables import load

LOADS = ("perpendicular", "compression", "tension")
TOLERANCE = 1e-9
ROWS_FAR_FROM_EDGE = "the edge is as far as half the distance between rows (NDS Table 12.5.1C, l/D above 6)"


@dataclass(frozen=True)
class Geometry:
    """The geometry factor of one fastener or group, and what it came from."""

    factor: float
    governs: str
    steps: tuple[Step, ...]
    assumptions: tuple[str, ...] = ()


def geometry_factor(
    diameter_in: float,
    *,
    direction: str,
    end_distance_in: float | None = None,
    row_spacing_in: float | None = None,
    edge_distance_in: float | None = None,
    unloaded_edge_distance_in: float | None = None,
    slenderness: float | None = None,
    is_hardwood: bool = False,
) -> Geometry:
    """Geometry factor C_delta from measured distances, in inches; a distance that is None was not measured.

    `direction` says where the load goes in this part: "perpendicular" to the grain, or along it in "compression"
    (away from the end) or "tension" (towards it). `row_spacing_in` is the spacing of fasteners in one row.
    `edge_distance_in` is to the loaded edge when the load is across the grain, else to the nearer edge;
    `unloaded_edge_distance_in` the other one. `slenderness` (bearing length over D) matters for the edge along
    the grain only, where it is above 6. The smallest factor of a group counts for the whole group.

    Raises OutOfRange below a hard minimum: then the standard gives no value at all.
    Source: NDS 12.5.1, Tables 12.5.1A to C. Below 1/4 in the factor is 1.0 (NDS 12.5.1.1).
    """
    require_positive(diameter_in=diameter_in)
    if direction not in LOADS:
        raise OutOfRange("direction", direction, "one of " + ", ".join(LOADS))
    if diameter_in < LARGE_DIAMETER_IN:
        step = Step("C_delta", "1.0", {}, 1.0, "-", "NDS 12.5.1.1: D below 1/4 in")
        return Geometry(
            1.0, "diameter", (step,), ("no splitting was seen (NDS 12.5.1.1 asks that wood does not split)",)
        )
    _refuse_short_edges(diameter_in, direction, edge_distance_in, unloaded_edge_distance_in)
    steps: list[Step] = []
    assumed: list[str] = []
    end_key = f"end.{direction}" + ((".hardwood" if is_hardwood else ".softwood") if direction == "tension" else "")
    _measure(steps, assumed, "C_end", "end distance", end_distance_in, diameter_in, end_key)
    if direction != "perpendicular":
        _measure(steps, assumed, "C_spacing", "spacing in the row", row_spacing_in, diameter_in, "row.parallel")
    elif row_spacing_in is not None and row_spacing_in < 3 * diameter_in - TOLERANCE:
        raise OutOfRange("row_spacing_in", row_spacing_in, f"at least {3 * diameter_in:g} in, 3D (NDS Table 12.5.1B)")
    for name, value in (("edge distance", edge_distance_in), ("far edge distance", unloaded_edge_distance_in)):
        if value is None and not (name == "far edge distance" and direction != "perpendicular"):
            assumed.append(f"{name} not measured, taken as enough")
    if direction != "perpendicular" and edge_distance_in is not None and slenderness is not None and slenderness > 6:
        assumed.append(ROWS_FAR_FROM_EDGE)
    factors = {step.symbol: step.value for step in steps} or {"C_full": 1.0}
    least = min(factors, key=lambda name: factors[name])
    whole = Step(
        "C_delta", f"min({', '.join(['1.0', *factors])})", factors, min(1.0, factors[least]), "-", "NDS 12.5.1.2"
    )
    return Geometry(whole.value, least, (*steps, whole), tuple(assumed))


def edge_distance_minimum_in(
    diameter_in: float, key: str, slenderness: float | None = None, between_rows_in: float | None = None
) -> float:
    """Least edge distance, in, for `key` "parallel", "loaded" or "unloaded". Source: NDS Table 12.5.1C."""
    least_in = _row(f"edge.{key}")[0] * diameter_in
    if key == "parallel" and slenderness is not None and slenderness > 6 and between_rows_in is not None:
        return max(least_in, between_rows_in / 2)
    return least_in


def row_spacing_minimum_in(diameter_in: float, direction: str, bearing_length_in: float) -> float:
    """Least distance between rows, in. `bearing_length_in` is the lesser of main and total side bearing length.

    Source: NDS Table 12.5.1D.
    """
    require_positive(diameter_in=diameter_in, bearing_length_in=bearing_length_in)
    if direction not in LOADS:
        raise OutOfRange("direction", direction, "one of " + ", ".join(LOADS))
    if direction != "perpendicular":
        return 1.5 * diameter_in
    slenderness = bearing_length_in / diameter_in
    if slenderness <= 2:
        return 2.5 * diameter_in
    return (5 * bearing_length_in + 10 * diameter_in) / 8 if slenderness < 6 else 5 * diameter_in


def _measure(
    steps: list[Step], assumed: list[str], symbol: str, name: str, value_in: float | None, diameter_in: float, key: str
) -> None:
    if value_in is None:
        assumed.append(f"{name} not measured, taken as enough")
        return
    least, full, reference = _row(key)
    if value_in < least * diameter_in - TOLERANCE:
        raise OutOfRange(
            name.replace(" ", "_") + "_in", value_in, f"at least {least * diameter_in:g} in, {least:g}D ({reference})"
        )
    factor = min(1.0, value_in / (full * diameter_in))
    inputs = {"x": value_in, "n": full, "D": diameter_in}
    steps.append(Step(symbol, "min(1.0, x / (n * D))", inputs, factor, "-", reference, name))


def _refuse_short_edges(diameter_in: float, direction: str, edge_in: float | None, far_edge_in: float | None) -> None:
    near = "loaded" if direction == "perpendicular" else "parallel"
    for field, value, key in (
        ("edge_distance_in", edge_in, near),
        ("unloaded_edge_distance_in", far_edge_in, "unloaded" if direction == "perpendicular" else "parallel"),
    ):
        least_in = edge_distance_minimum_in(diameter_in, key)
        if value is not None and value < least_in - TOLERANCE:
            raise OutOfRange(field, value, f"at least {least_in:g} in at the {key} edge (NDS Table 12.5.1C)")


@cache
def _row(key: str) -> tuple[float, float, str]:
    for row in load("connection_geometry").rows:
        if row["key"] == key:
            return cell_number(row["least_diameters"]), cell_number(row["full_diameters"]), str(row["reference"])
    raise KeyError(key)
