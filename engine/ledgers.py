"""The ledger: what each fastener carries, and whether it can.

Three witnesses stand side by side and are not mixed: the published spacing table (prescriptive), the load per fastener
that stands behind that table (tests), and the yield equations of the NDS (calculation). The NDS gives far less than the
tests did, so an overload by the NDS does not say that the published spacing fails.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from engine.comparison import Comparison
from engine.errors import NotPublished, OutOfRange, require_not_negative, require_positive
from engine.fasteners import (
    Adjusted,
    Fastener,
    Geometry,
    Lateral,
    Part,
    adjusted_lateral,
    driven_into,
    lateral_across_gap,
)
from engine.loads import Combination, Loads, combination_step
from engine.records import dataclass
from engine.results import Step
from engine.tables import load

SAME_PLACE_IN = 1e-6
TRIBUTARY = "each fastener carries the ledger from halfway to its neighbours, the outermost to the ledger's end"
HALF_SPAN = "half the joist span loads the ledger; the relief by a joist overhang at the far end is left out"


@dataclass(frozen=True)
class FastenerLoad:
    """What one fastener carries: its share of the ledger (in) and the load (lb); zero where it does not work."""

    position_in: float
    is_working: bool
    share_in: float
    load_lb: float
    steps: tuple[Step, ...] = ()


def ledger_load_lb_per_in(joist_span_in: float, total_psf: float) -> Step:
    """Load on the ledger, lb per inch of its length: half the joist span. As a step with its value."""
    require_positive(joist_span_in=joist_span_in)
    require_not_negative(total_psf=total_psf)
    value = total_psf / 144 * joist_span_in / 2
    return Step("w", "q / 144 * L / 2", {"q": total_psf, "L": joist_span_in}, value, "lb/in", "statics", HALF_SPAN)


def ledger_fastener_loads(
    positions_in: Sequence[float],
    ledger_length_in: float,
    joist_span_in: float,
    loads: Loads,
    *,
    sound: Sequence[bool] | None = None,
    combination: Combination | None = None,
) -> tuple[FastenerLoad, ...]:
    """Load on each fastener from where it really is, in the order given; the loads sum to the whole ledger.

    `positions_in` are measured from one end of the ledger, in any order. `sound` (one flag for each) takes missing,
    loose and useless fasteners out: their share falls on the neighbours. Fasteners at one place (two rows) share.
    The load is the largest sum of `loads`, or the `combination` given: the yield equations go with `loads.strength` and
    its load duration.

    Raises OutOfRange for a position off the ledger, a flag too few or too many, or where none is left to carry.
    Source: statics; the tributary share is the usual convention and leaves out the stiffness of the ledger.
    """
    require_positive(ledger_length_in=ledger_length_in)
    flags = working_flags(positions_in, ledger_length_in, sound)
    chosen = loads.largest if combination is None else combination
    total, line = combination_step(loads, chosen), ledger_load_lb_per_in(joist_span_in, chosen.total_psf)
    shares = _shares(positions_in, flags, ledger_length_in)
    found = []
    for position, works, (share, shared_by, low, high) in zip(positions_in, flags, shares, strict=True):
        inputs = {"right": high, "left": low, "n": float(shared_by)}
        share_step = Step("share", "(right - left) / n", inputs, share, "in", "statics", TRIBUTARY)
        force = Step("P", "w * share", {"w": line.value, "share": share}, line.value * share, "lb", "statics")
        steps = (total, line, share_step, force) if works else ()
        found.append(FastenerLoad(position, works, share, force.value if works else 0.0, steps))
    return tuple(found)


def working_flags(
    positions_in: Sequence[float], ledger_length_in: float, sound: Sequence[bool] | None
) -> tuple[bool, ...]:
    """One flag for each fastener. Raises OutOfRange as `ledger_fastener_loads` says."""
    if sound is not None and len(sound) != len(positions_in):
        raise OutOfRange("sound", tuple(sound), f"{len(positions_in)} flags, one for each fastener")
    for position in positions_in:
        require_not_negative(position_in=position)
        if position > ledger_length_in + SAME_PLACE_IN:
            raise OutOfRange("position_in", position, f"on the ledger, from 0 to {ledger_length_in:g}")
    flags = tuple(bool(flag) for flag in sound) if sound is not None else (True,) * len(positions_in)
    if not any(flags):
        raise OutOfRange(
            "positions_in", tuple(positions_in), "at least one working fastener; nothing holds this ledger"
        )
    return flags


def _shares(
    positions_in: Sequence[float], flags: Sequence[bool], length_in: float
) -> list[tuple[float, int, float, float]]:
    """(share, how many at that place, left end, right end) of each fastener."""
    places = _places([position for position, works in zip(positions_in, flags, strict=True) if works])
    bounds = [0.0, *((a[0] + b[0]) / 2 for a, b in pairwise(places)), length_in]
    found: list[tuple[float, int, float, float]] = []
    for position, works in zip(positions_in, flags, strict=True):
        if not works:
            found.append((0.0, 1, position, position))
            continue
        at = next(i for i, (place, _) in enumerate(places) if abs(place - position) <= SAME_PLACE_IN)
        count = places[at][1]
        found.append(((bounds[at + 1] - bounds[at]) / count, count, bounds[at], bounds[at + 1]))
    return found


def _places(positions_in: Sequence[float]) -> list[tuple[float, int]]:
    places: list[tuple[float, int]] = []
    for position in sorted(positions_in):
        if places and position - places[-1][0] <= SAME_PLACE_IN:
            places[-1] = (places[-1][0], places[-1][1] + 1)
        else:
            places.append((position, 1))
    return places


def counts_as_attachment(kind: str, condition: str = "good") -> tuple[bool, str]:
    """Whether a fastener counts at all, and if not the reason. A rusted one counts, with the section it has left.

    Source: IRC R507.8 (toe-nails, or nails in withdrawal, hold no deck to a house); missing or loose: plain sense.
    """
    if kind == "nail":
        return False, "nails do not count as the attachment of a ledger (IRC R507.8)"
    if kind == "wood screw":
        return False, "ordinary wood screws are not a ledger fastener of the published table (IRC R507.9.1.3)"
    if condition in ("missing", "loose"):
        return False, f"the fastener is {condition}"
    if condition == "not seen":
        return False, "the fastener was not seen"
    return True, ""


def ledger_fastener_value(
    fastener: Fastener,
    *,
    ledger_gravity: float,
    band_gravity: float,
    ledger_thickness_in: float = 1.5,
    band_thickness_in: float = 1.5,
    sheathing_in: float = 0.0,
    wet: bool = True,
    load_duration: float = 1.0,
    geometry: Geometry | None = None,
) -> Adjusted:
    """Adjusted NDS lateral value of one ledger fastener, lb: the load goes across the grain of ledger and band.

    Sheathing and spacers count as a gap that carries nothing. Fasteners side by side share evenly (no group action:
    the joists load a ledger all along, not from one end).

    Raises OutOfRange for a lag screw whose length is not known or that bites too little (4D), and for what the
    tables do not cover. Source: NDS 2018 12.3, 11.3.3; the gap as `lateral_across_gap` says.
    """
    bare = _bare_value(fastener, ledger_gravity, band_gravity, ledger_thickness_in, band_thickness_in, sheathing_in)
    return adjusted_lateral(bare, load_duration=load_duration, wet=wet, geometry=geometry)


@lru_cache(maxsize=1024)
def _bare_value(
    fastener: Fastener,
    ledger_gravity: float,
    band_gravity: float,
    ledger_thickness_in: float,
    band_thickness_in: float,
    sheathing_in: float,
) -> Lateral:
    """The reference value of a ledger fastener: the same for all of a kind in one ledger."""
    band = driven_into(fastener, band_gravity, 90, ledger_thickness_in + sheathing_in, band_thickness_in)
    ledger = Part(ledger_gravity, ledger_thickness_in, 90)
    return lateral_across_gap(fastener, band, ledger, sheathing_in)


def fastener_by_nds(carried: FastenerLoad, capacity: Adjusted) -> Comparison:
    """Compare the load on one fastener with its adjusted NDS lateral value."""
    if capacity.unit != "lb":
        raise OutOfRange("capacity", capacity.unit, "a lateral value in lb")
    steps = (*carried.steps, *capacity.steps)
    assumptions = (TRIBUTARY, HALF_SPAN, *capacity.assumptions)
    return Comparison(carried.load_lb, capacity.value, "lb", "lateral", steps, assumptions, "NDS 2018 12.3, 11.3")


def anchor_by_rating(carried: FastenerLoad, rated_lb: float) -> Comparison:
    """Compare the load on one anchor in concrete or masonry with the allowable shear that its maker states, lb.

    The engine has no values of its own for anchors: the wall, the embedment and the edge are the maker's conditions.
    """
    require_positive(rated_lb=rated_lb)
    step = Step("R", "rated", {"rated": rated_lb}, rated_lb, "lb", "maker's rating")
    assumptions = (TRIBUTARY, HALF_SPAN, "allowable shear as entered from the maker's document; its conditions are met")
    return Comparison(carried.load_lb, rated_lb, "lb", "anchor", (*carried.steps, step), assumptions, "maker's rating")


@dataclass(frozen=True)
class JointCapacity:
    """The load per fastener behind the published spacing table: worked back from it, printed nowhere."""

    allowable_lb: float
    note: str


TESTED_NOTE = "worked back from the published spacing table, which rests on tests of whole joints; not itself published"


def capacity_by_tests(kind: str, sheathing_in: float, house_band: str = "2x lumber") -> JointCapacity:
    """Load of one 1/2 in fastener that reproduces the published ledger spacing.

    Raises NotPublished for a fastener, a sheathing thickness or a house band that the table does not have.
    """
    require_not_negative(sheathing_in=sheathing_in)
    if house_band != "2x lumber":
        raise NotPublished(f"no load per fastener is known for a ledger on: {house_band}")
    joint = "tight" if sheathing_in <= 0.5 else "gap"
    if sheathing_in > 1.0:
        raise NotPublished("the published table ends at 1 in of sheathing or spacers")
    for row in load("ledger_tested_capacities").rows:
        if row["fastener"] == kind and row["joint"] == joint:
            return JointCapacity(float(str(row["allowable_lb"])), TESTED_NOTE)
    raise NotPublished(f"the published table has no {kind} with a {joint} joint")


def fastener_by_test(carried: FastenerLoad, capacity: JointCapacity) -> Comparison:
    """Compare the load on one fastener with the load that stands behind the published table."""
    source = "IRC R507.9.1.3(1), worked back"
    step = Step("P_tested", "P", {"P": capacity.allowable_lb}, capacity.allowable_lb, "lb", source, capacity.note)
    assumptions = (TRIBUTARY, HALF_SPAN, capacity.note)
    return Comparison(
        carried.load_lb, capacity.allowable_lb, "lb", "tested joint", (*carried.steps, step), assumptions, source
    )


def spacing_by_tests_in(allowable_lb: float, joist_span_in: float, total_psf: float, cap_in: float = 36.0) -> float:
    """Spacing that a load per fastener allows, rounded down to the inch as the table prints it, `cap_in` at most."""
    require_positive(allowable_lb=allowable_lb, total_psf=total_psf)
    return min(cap_in, float(allowable_lb / ledger_load_lb_per_in(joist_span_in, total_psf).value // 1))


def worst_gap(
    positions_in: Sequence[float],
    ledger_length_in: float,
    allowed_spacing_in: float,
    citation: str,
    *,
    sound: Sequence[bool] | None = None,
) -> Comparison:
    """Compare the widest gap between neighbouring working fasteners with the published spacing, in.

    One working fastener has no neighbour: then the whole ledger is the gap. Raises OutOfRange as
    `ledger_fastener_loads` does.
    """
    require_positive(allowed_spacing_in=allowed_spacing_in, ledger_length_in=ledger_length_in)
    flags = working_flags(positions_in, ledger_length_in, sound)
    places = [place for place, _ in _places([p for p, works in zip(positions_in, flags, strict=True) if works])]
    if len(places) == 1:
        left, right = 0.0, ledger_length_in
    else:
        left, right = max(pairwise(places), key=lambda pair: pair[1] - pair[0])
    gap = Step("gap", "right - left", {"right": right, "left": left}, right - left, "in", "measured")
    return Comparison(
        gap.value,
        allowed_spacing_in,
        "in",
        f"from {left:g} to {right:g} in",
        (gap,),
        ("fasteners are 1/2 in",),
        citation,
    )


def ledger_bending(
    positions_in: Sequence[float],
    ledger_length_in: float,
    load_lb_per_in: float,
    s_xx_in3: float,
    fb_adjusted_psi: float,
    *,
    sound: Sequence[bool] | None = None,
) -> Comparison:
    """Compare the bending stress of the ledger between its fasteners with the adjusted bending value, psi.

    Each gap is taken as a simple span and each end as a cantilever, on the safe side of a continuous ledger; the
    joists are taken as a uniform load. Source: NDS 3.3.2; the moment is statics.
    """
    require_positive(load_lb_per_in=load_lb_per_in, s_xx_in3=s_xx_in3, fb_adjusted_psi=fb_adjusted_psi)
    flags = working_flags(positions_in, ledger_length_in, sound)
    places = [place for place, _ in _places([p for p, works in zip(positions_in, flags, strict=True) if works])]
    ends_in = max(places[0], ledger_length_in - places[-1])
    widest_in = max((b - a for a, b in pairwise(places)), default=0.0)
    end = Step("M_end", "w * a**2 / 2", {"w": load_lb_per_in, "a": ends_in}, load_lb_per_in * ends_in**2 / 2,
               "in-lb", "statics")  # fmt: skip
    middle = Step("M_gap", "w * l**2 / 8", {"w": load_lb_per_in, "l": widest_in}, load_lb_per_in * widest_in**2 / 8,
                  "in-lb", "statics")  # fmt: skip
    moment = max(end.value, middle.value)
    stress = Step("fb", "max(M_end, M_gap) / S", {"M_end": end.value, "M_gap": middle.value, "S": s_xx_in3},
                  moment / s_xx_in3, "psi", "NDS 3.3.2")  # fmt: skip
    governs = "gap between fasteners" if middle.value >= end.value else "end past the last fastener"
    assumptions = ("each gap a simple span, each end a cantilever", "joists as a uniform load")
    return Comparison(stress.value, fb_adjusted_psi, "psi", governs, (end, middle, stress), assumptions, "NDS 3.3.2")


def band_objection(house_band: str) -> tuple[str, str] | None:
    """Why the published ledger table does not cover this house band, with the citation; None where it does.

    Raises OutOfRange for a band that is not one of the known kinds.
    """
    rows = load("house_bands").rows
    for row in rows:
        if row["band"] == house_band:
            return None if row["is_covered"] else (str(row["reason"]), str(row["citation"]))
    raise OutOfRange("house_band", house_band, "one of " + ", ".join(str(row["band"]) for row in rows))
