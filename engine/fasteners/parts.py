"""What a fastener and a connected part are, and their standard dimensions (NDS Appendix L and Table I1)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Literal

from engine.errors import NotPublished, OutOfRange, require_between, require_not_negative, require_positive
from engine.records import dataclass
from engine.tables import load

KINDS = ("bolt", "lag screw", "nail", "wood screw")
SHANKS = ("smooth", "ring")

# Table 12.3.3A lists wood from northern white cedar to white oak; the formulas are not carried beyond it.
LEAST_SPECIFIC_GRAVITY = 0.31
GREATEST_SPECIFIC_GRAVITY = 0.73

# The yield-limit reduction terms end at 1 in; Table I1 starts at 0.099 in, but a caller may bring a yield strength.
GREATEST_DIAMETER_IN = 1.0
LARGE_DIAMETER_IN = 0.25

DIAMETER_TOLERANCE_IN = 0.0006


@dataclass(frozen=True)
class Fastener:
    """One dowel-type fastener as it was made; `loss_in` is what corrosion has taken off its radius since.

    `diameter_in` is the unthreaded (nominal) diameter. `root_diameter_in` and `bending_yield_psi` default to
    NDS Appendix L and Table I1. `length_in` is under the head, tip included. `shank` ("smooth" or "ring") and
    `is_stainless` matter for nails in withdrawal only, `is_hardened` for the yield strength of nails only.

    Raises OutOfRange for a kind, diameter or length that the standard does not cover.
    """

    kind: str
    diameter_in: float
    root_diameter_in: float | None = None
    length_in: float | None = None
    bending_yield_psi: float | None = None
    head_diameter_in: float | None = None
    shank: str = "smooth"
    is_stainless: bool = False
    is_hardened: bool = False
    loss_in: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise OutOfRange("kind", self.kind, "one of " + ", ".join(KINDS))
        if self.shank not in SHANKS:
            raise OutOfRange("shank", self.shank, "smooth or ring")
        require_positive(diameter_in=self.diameter_in)
        if self.diameter_in > GREATEST_DIAMETER_IN:
            raise OutOfRange("diameter_in", self.diameter_in, "up to 1 in (NDS Table 12.3.1B)")
        if self.kind in ("bolt", "lag screw") and self.diameter_in < LARGE_DIAMETER_IN:
            raise OutOfRange("diameter_in", self.diameter_in, f"1/4 in or more for a {self.kind}")
        for name in ("root_diameter_in", "length_in", "bending_yield_psi", "head_diameter_in"):
            value = getattr(self, name)
            if value is not None:
                require_positive(**{name: value})
        if self.root_diameter_in is not None and self.root_diameter_in > self.diameter_in:
            raise OutOfRange("root_diameter_in", self.root_diameter_in, "not more than the diameter")
        require_not_negative(loss_in=self.loss_in)
        if 2 * self.loss_in >= self.made_yield_diameter_in:
            raise OutOfRange("loss_in", self.loss_in, "less than the radius: nothing is left of the fastener")

    @property
    def is_threaded(self) -> bool:
        """Whether the yield equations use the root diameter (NDS 12.3.7: lag and wood screws)."""
        return self.kind in ("lag screw", "wood screw")

    @property
    def made_yield_diameter_in(self) -> float:
        """The diameter of the yield equations before any loss: root for lag and wood screws, else nominal.

        Raises NotPublished where Appendix L lists no such screw and no root diameter was given.
        """
        if not self.is_threaded:
            return self.diameter_in
        if self.root_diameter_in is not None:
            return self.root_diameter_in
        name = "lag_screws" if self.kind == "lag screw" else "wood_screws"
        return cell_number(_row_by_diameter(name, self.diameter_in, self.kind)["root_in"])

    @property
    def yield_diameter_in(self) -> float:
        """The diameter left for the yield equations after corrosion."""
        return self.made_yield_diameter_in - 2 * self.loss_in

    @property
    def tip_in(self) -> float:
        """Length E of the tapered tip: Table L2 for lag screws, 2D for nails and wood screws (NDS 12.3.5.3)."""
        if self.kind == "bolt":
            return 0.0
        if self.kind == "lag screw":
            return cell_number(_row_by_diameter("lag_screws", self.diameter_in, self.kind)["tip_in"])
        return 2 * self.diameter_in

    @property
    def fyb_psi(self) -> float:
        """Bending yield strength, as given or by NDS Table I1. Raises NotPublished outside the table's bands."""
        if self.bending_yield_psi is not None:
            return self.bending_yield_psi
        family = "bolt" if self.kind == "bolt" else "nail or screw"
        if self.kind == "nail" and self.is_hardened:
            family = "hardened steel nail"
        if self.kind == "lag screw" and self.diameter_in >= 0.375:
            family = "bolt"  # Table I1 puts lag screws from 3/8 in with the bolts
        for row in load("bending_yield").rows:
            low, high = cell_number(row["above_in"]), cell_number(row["up_to_in"])
            is_first_band = low in (0.099, 0.12)  # the first band of each family includes its lower end
            above = self.diameter_in >= low if is_first_band else self.diameter_in > low
            if row["family"] == family and above and self.diameter_in <= high:
                return cell_number(row["fyb_psi"])
        raise NotPublished(f"NDS Table I1 gives no bending yield strength for a {self.diameter_in:g} in {self.kind}")


@dataclass(frozen=True)
class Part:
    """One connected part where the fastener bears on it.

    `bearing_length_in` is the dowel bearing length in this part (for a point inside the part, see
    `main_bearing_length_in`). `angle_deg` is the angle of the load to the grain, 0 along it; a dowel driven into
    end grain is loaded at 90. `material` is None for wood, else "A36 steel", "A653 steel" or "concrete".
    `is_through` says that the fastener's point comes out on the far side. `bearing_psi` is a dowel bearing strength
    entered by hand (an approved report, a worked example); it takes the place of the tables. Where a point stays
    inside, `before_in` is what the fastener passes first and `thickness_in` how thick the part is (`driven_into`).
    """

    specific_gravity: float | None
    bearing_length_in: float
    angle_deg: float = 0
    material: str | None = None
    is_through: bool = False
    bearing_psi: float | None = None
    before_in: float | None = None
    thickness_in: float | None = None

    def __post_init__(self) -> None:
        require_positive(bearing_length_in=self.bearing_length_in)
        require_between(0, 90, angle_deg=self.angle_deg)
        if self.bearing_psi is not None:
            require_positive(bearing_psi=self.bearing_psi)
        if self.material is not None:
            material_fe_psi(self.material)
        elif self.specific_gravity is None:
            raise OutOfRange("specific_gravity", None, "a number, for a part made of wood")
        else:
            require_specific_gravity(self.specific_gravity)

    @property
    def is_wood(self) -> bool:
        return self.material is None


def require_specific_gravity(specific_gravity: float) -> None:
    """Raise OutOfRange unless NDS Table 12.3.3A has wood as light and as heavy as this."""
    require_between(LEAST_SPECIFIC_GRAVITY, GREATEST_SPECIFIC_GRAVITY, specific_gravity=specific_gravity)


def material_fe_psi(material: str) -> float:
    """Dowel bearing strength of steel or concrete, psi. Raises OutOfRange for another material."""
    table = load("dowel_bearing_materials")
    for row in table.rows:
        if row["material"] == material:
            return cell_number(row["fe_psi"])
    raise OutOfRange("material", material, "None (wood) or one of " + ", ".join(str(r["material"]) for r in table.rows))


def corroded(fastener: Fastener, loss_in: float) -> Fastener:
    """The fastener after `loss_in` of its radius has rusted away all round, on top of any loss it already has.

    The yield equations then use the smaller diameter; the reduction terms and the yield strength stay those of
    the fastener as made, so that a loss can never raise a value. The residual section itself is geometry, not a rule
    of the NDS, which speaks of sound fasteners only.
    """
    require_not_negative(loss_in=loss_in)
    return replace(fastener, loss_in=fastener.loss_in + loss_in)


def minimum_penetration_in(fastener: Fastener) -> float:
    """Least penetration into the main member, in: lag screws 4D without the tip, nails and wood screws 6D with it.

    Source: NDS 12.1.4.6, 12.1.5.6, 12.1.6.4. Bolts go through and have none (0).
    """
    if fastener.kind == "bolt":
        return 0.0
    return (4 if fastener.kind == "lag screw" else 6) * fastener.diameter_in


def penetration_in(fastener: Fastener, main: Part) -> float:
    """Penetration that a main-member bearing length stands for, counted as the minimum counts it, in.

    Lag screws without the tip, nails and wood screws with it; where the point is inside the part the bearing
    length is the penetration (tip included) less half the tip (NDS 12.3.5.3).
    """
    if main.is_through or fastener.kind == "bolt":
        return main.bearing_length_in
    half_tip_in = fastener.tip_in / 2
    return (
        main.bearing_length_in - half_tip_in if fastener.kind == "lag screw" else main.bearing_length_in + half_tip_in
    )


def main_bearing_length_in(
    fastener: Fastener, side_thickness_in: float, main_thickness_in: float
) -> tuple[float, bool]:
    """Dowel bearing length in the main member, in, and whether the fastener comes out on its far side.

    Where the point stays inside, half the tip is taken off (NDS 12.3.5.3). A lag screw counts as through only when
    its whole tip is past the far face.

    Raises OutOfRange without a fastener length, or where the fastener does not reach into the main member.
    """
    require_positive(side_thickness_in=side_thickness_in, main_thickness_in=main_thickness_in)
    if fastener.kind == "bolt":
        return main_thickness_in, True
    if fastener.length_in is None:
        raise OutOfRange("length_in", None, "a measured length")
    reach_in = fastener.length_in - side_thickness_in
    bearing_in = min(main_thickness_in, reach_in - fastener.tip_in / 2)
    if bearing_in <= 0:
        raise OutOfRange(
            "length_in", fastener.length_in, f"long enough to pass {side_thickness_in:g} in and hold beyond"
        )
    past_in = reach_in - fastener.tip_in if fastener.kind == "lag screw" else reach_in
    return bearing_in, past_in >= main_thickness_in


def driven_into(
    fastener: Fastener, specific_gravity: float, angle_deg: float, before_in: float, thickness_in: float
) -> Part:
    """The wood a fastener is driven into, `before_in` of others passed first. Raises as `main_bearing_length_in`."""
    bearing_in, is_through = main_bearing_length_in(fastener, before_in, thickness_in)
    if fastener.kind == "bolt":
        return Part(specific_gravity, bearing_in, angle_deg, is_through=is_through)
    return Part(
        specific_gravity, bearing_in, angle_deg, is_through=is_through, before_in=before_in, thickness_in=thickness_in
    )


def lag_thread_length_in(length_in: float) -> float:
    """Least thread of a hex lag screw, tip included, in. Source: NDS Table L2 and the rule its rows follow.

    Raises OutOfRange below 1 in. Between the rows, and above 1-1/2 in, the lesser of 6 in and L/2 + 1/2 in.
    """
    if length_in < 1:
        raise OutOfRange("length_in", length_in, "1 in or more (NDS Table L2)")
    for row in load("lag_thread_lengths").rows:
        if abs(cell_number(row["length_in"]) - length_in) < DIAMETER_TOLERANCE_IN:
            return cell_number(row["thread_in"])
    if length_in < 1.5:
        return 0.75
    return min(6.0, length_in / 2 + 0.5)


@cache
def wood_screw(number: int, length_in: float | None = None) -> Fastener:
    """A standard wood screw by its number. Raises NotPublished where Table L3 lists none."""
    for row in load("wood_screws").rows:
        if row["number"] == number:
            return Fastener(
                "wood screw",
                cell_number(row["diameter_in"]),
                cell_number(row["root_in"]),
                length_in,
                head_diameter_in=cell_number(row["head_in"]),
            )
    raise NotPublished(f"NDS Table L3 lists no wood screw No. {number}")


@cache
def common_nail(pennyweight: str, style: Literal["common", "box", "sinker"] = "common") -> Fastener:
    """A common, box or sinker nail by its pennyweight ("16d"). Raises NotPublished where Table L4 lists none."""
    for row in load("nails").rows:
        if row["style"] == style and row["pennyweight"] == pennyweight:
            head = row["head_in"]
            return Fastener(
                "nail",
                cell_number(row["diameter_in"]),
                length_in=cell_number(row["length_in"]),
                head_diameter_in=None if head is None else cell_number(head),
            )
    raise NotPublished(f"NDS Table L4 lists no {pennyweight} {style} nail")


def sheet_gauge_in(gauge: int) -> float:
    """Thickness of a steel side plate by gauge, in. Raises NotPublished for a gauge the tables do not use."""
    for row in load("sheet_gauges").rows:
        if row["gauge"] == gauge:
            return cell_number(row["thickness_in"])
    raise NotPublished(f"NDS Tables 12M and 12P use no {gauge} gauge sheet")


@cache
def _row_by_diameter(table: str, diameter_in: float, kind: str) -> Mapping[str, object]:
    for row in load(table).rows:
        if abs(cell_number(row["diameter_in"]) - diameter_in) < DIAMETER_TOLERANCE_IN:
            return row
    raise NotPublished(f"NDS Appendix L lists no {diameter_in:g} in {kind}; give its root diameter")


def cell_number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise TypeError(f"a number was expected in the table, not {value!r}")
    return float(value)
