"""Water: what decay and rust have left, what a moisture reading means, which metal suits where."""

from __future__ import annotations

from collections.abc import Collection

from engine.errors import OutOfRange, require_between, require_not_negative, require_positive
from engine.fasteners import Fastener, corroded
from engine.records import dataclass
from engine.results import Step
from engine.tables import load

FACES = ("top", "bottom", "left", "right")
SOFTENING = (
    "wood beside the soft part may have lost strength before a probe feels it (common practice, no published source)"
)


@dataclass(frozen=True)
class Residual:
    """The sound section behind the soft wood, in, with its derivation."""

    width_in: float
    depth_in: float
    steps: tuple[Step, ...]
    assumptions: tuple[str, ...]


def residual_section(
    width_in: float, depth_in: float, decay_depth_in: float, faces: Collection[str] = FACES
) -> Residual:
    """The section that is left when `decay_depth_in` of soft wood is taken off the named faces.

    `faces` are "top", "bottom", "left", "right"; all four where it was not recorded which. The whole length is taken as
    decayed as deep as the deepest probe.

    Raises OutOfRange for an unknown face, or where nothing sound is left.
    Source: geometry; a probe finds the depth, not the strength of what is left.
    """
    require_positive(width_in=width_in, depth_in=depth_in)
    require_not_negative(decay_depth_in=decay_depth_in)
    for face in faces:
        if face not in FACES:
            raise OutOfRange("faces", face, "top, bottom, left or right")
    if decay_depth_in > 0 and not faces:
        raise OutOfRange("faces", tuple(faces), "at least one face, where there is soft wood")
    across = float(len({"left", "right"} & set(faces)))
    along = float(len({"top", "bottom"} & set(faces)))
    width = _left("b", width_in, across, decay_depth_in)
    depth = _left("d", depth_in, along, decay_depth_in)
    if min(width.value, depth.value) <= 0:
        raise OutOfRange("decay_depth_in", decay_depth_in, "less than what leaves some sound wood")
    assumptions: tuple[str, ...] = ()
    if decay_depth_in > 0:
        assumptions = ("soft all along as deep as at the deepest place", SOFTENING)
        if len(set(faces)) == len(FACES):
            assumptions = ("soft on all four faces", *assumptions)
    return Residual(width.value, depth.value, (width, depth), assumptions)


def _left(symbol: str, whole_in: float, faces: float, decay_in: float) -> Step:
    inputs = {"whole": whole_in, "n": faces, "decay": decay_in}
    return Step(symbol, "whole - n * decay", inputs, whole_in - faces * decay_in, "in", "geometry")


@dataclass(frozen=True)
class MoistureReading:
    """What a reading means: its state, whether the wet-service factors apply, and where that stands."""

    percent: float
    state: str
    meaning: str
    is_wet_service: bool
    citation: str


def moisture_reading(percent: float) -> MoistureReading:
    """What a moisture content means for decay and for the design values. Raises OutOfRange outside 0 to 200 %."""
    require_between(0, 200, percent=percent)
    table = load("moisture_levels")
    reached = [row for row in table.rows if percent > float(str(row["above_percent"])) or row is table.rows[0]]
    row = reached[-1]
    is_wet = any(str(one["state"]) == "wet service" for one in reached)
    return MoistureReading(percent, str(row["state"]), str(row["meaning"]), is_wet, str(row["reference"]))


RUST_NEEDS_MEASURE = "a measured diameter: no published rate turns the look of rust into a loss"


def rusted(fastener: Fastener, look: str, diameter_left_in: float | None = None) -> Fastener:
    """The fastener as rust has left it: by its measured diameter, or whole where the rust is a film only.

    `look` is "clean", "film of rust", "scaling or pitted" or "broken". A threaded fastener loses as much of its root.

    Raises OutOfRange for scaling or pitted rust without a measured diameter, for a broken fastener, for a diameter
    larger than it was made, and where the loss would leave nothing of the root.
    """
    looks = ("clean", "film of rust", "scaling or pitted", "broken")
    if look not in looks:
        raise OutOfRange("look", look, "one of " + ", ".join(looks))
    if look == "broken":
        raise OutOfRange("look", look, "a fastener in one piece; a broken one holds nothing")
    if diameter_left_in is None:
        if look == "scaling or pitted":
            raise OutOfRange("diameter_left_in", None, RUST_NEEDS_MEASURE)
        return fastener
    require_positive(diameter_left_in=diameter_left_in)
    if diameter_left_in > fastener.diameter_in:
        raise OutOfRange(
            "diameter_left_in", diameter_left_in, f"not more than it was made, {fastener.diameter_in:g} in"
        )
    return corroded(fastener, (fastener.diameter_in - diameter_left_in) / 2)


@dataclass(frozen=True)
class Objection:
    """Why something does not suit where it is, and the rule that says so."""

    reason: str
    citation: str
    confirmed: str


METALS = (
    "plain steel", "electroplated steel", "hot-dip galvanized steel", "G90 galvanized sheet", "G185 galvanized sheet",
    "stainless steel 304", "stainless steel 316", "aluminum",
)  # fmt: skip


def metal_objections(
    metal: str, *, is_treated_wood: bool, is_near_salt_water: bool = False, is_at_pool: bool = False
) -> tuple[Objection, ...]:
    """What speaks against this metal in this place; empty where nothing does. Raises OutOfRange for another metal."""
    if metal not in METALS:
        raise OutOfRange("metal", metal, "one of " + ", ".join(METALS))
    places = {"treated wood": is_treated_wood, "salt water": is_near_salt_water, "pool": is_at_pool}
    return tuple(
        Objection(str(row["objection"]), str(row["reference"]), str(row["confirmed"]))
        for row in load("metal_rules").rows
        if row["metal"] == metal and places[str(row["where"])]
    )


def mixed_metals(metals: Collection[str]) -> Objection | None:
    """Why galvanized and stainless parts do not belong in one connection; None where they are alike."""
    for metal in metals:
        if metal not in METALS:
            raise OutOfRange("metals", metal, "one of " + ", ".join(METALS))
    stainless = {metal for metal in metals if metal.startswith("stainless")}
    if not stainless or stainless == set(metals):
        return None
    reason = (
        "galvanized parts go with galvanized ones and stainless with stainless: touching, the lesser one rusts first"
    )
    return Objection(reason, "Southern Forest Products Association; JLC", "two")


def flashing_objection(state: str) -> str | None:
    """What is wrong with the flashing over a ledger; None where it is sound. Raises OutOfRange if not seen."""
    rows = load("flashing_states").rows
    for row in rows:
        if row["state"] == state:
            return None if row["is_sound"] else str(row["meaning"])
    raise OutOfRange("flashing", state, "one of " + ", ".join(str(row["state"]) for row in rows))
