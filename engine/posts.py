"""Posts: what a post carries at its height, and how tall it may be under a load.

Both axes are looked at. A notch at the beam seat takes section away at the end of the post; an eccentric seat (a beam
bolted to one side) bends it. Sources: NDS 2018 3.6, 3.7, 3.9, 15.3 (built up of plies), 15.4 (eccentric load).

A published table may be stricter than this: the post heights of AWC DCA 6 do not come out of axial load alone, so a
post that passes here may still be too tall for that table. Ask both.
"""

from __future__ import annotations

from dataclasses import field
from functools import lru_cache
from typing import Any

from engine.comparison import Comparison
from engine.constants import constant, model_rule
from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.loads import Combination, Loads, combination_step
from engine.lumber import DesignValues, Lumber, adjusted_values, own_weight_pcf, value_step
from engine.records import dataclass
from engine.results import Limit, Step
from engine.stability import Stability, column_stability

PINNED = "the post is free to turn at both ends but cannot move sideways there (Ke 1.0): it must be braced or tied"


@dataclass(frozen=True)
class PostCapacity:
    """The axial load (lb) a post carries; `candidates` gives what each criterion alone would allow, in lb."""

    load_lb: float
    governs: str
    slenderness: float
    column_stability: float
    steps: tuple[Step, ...] = ()
    candidates: dict[str, float] = field(default_factory=dict)
    assumptions: tuple[str, ...] = ()

    def __float__(self) -> float:
        return self.load_lb


@lru_cache(maxsize=4096)
def post_capacity(
    lumber: Lumber,
    height_in: float,
    load_duration: float = 1.0,
    *,
    end_factor: float = 1.0,
    height_weak_in: float | None = None,
    notch_depth_in: float = 0.0,
    eccentricity_in: float = 0.0,
    plies_joined: str = "nails",
    on_the_notch: bool = False,
) -> PostCapacity:
    """The load (lb) that a post of this height carries, weaker axis counting.

    `end_factor` is Ke (1.0: pinned ends). `height_weak_in` is the unbraced height across the thin side, if a brace
    makes it shorter. `notch_depth_in` is cut from the depth at the beam seat. `eccentricity_in` is how far the load
    stands from the middle of the post, across its depth. Plies are joined by `nails` or `bolts`. `on_the_notch` says
    that the load stands in the notch itself, on the wood below it, and not on what is left beside it.

    Raises OutOfRange above a slenderness of 50, for a notch as deep as the post, or for a height not above zero.
    """
    height_weak_in = height_in if height_weak_in is None else height_weak_in
    require_positive(height_in=height_in, height_weak_in=height_weak_in, end_factor=end_factor)
    require_not_negative(notch_depth_in=notch_depth_in, eccentricity_in=eccentricity_in)
    if notch_depth_in >= lumber.depth_in:
        raise OutOfRange("notch_depth_in", notch_depth_in, f"less than the depth of the post, {lumber.depth_in:g}")
    values = adjusted_values(lumber, load_duration, members=1)
    strong, strong_ratio = _axis(values, end_factor * height_in, lumber.depth_in, 1.0)
    slip_factor = _built_up_factor(lumber, plies_joined)
    weak, weak_ratio = _axis(values, end_factor * height_weak_in, lumber.width_in, slip_factor)
    weaker, ratio = min((strong, strong_ratio), (weak, weak_ratio), key=lambda each: each[0].factor)
    area_in2 = lumber.area_in2
    side_in = lumber.depth_in if ratio == strong_ratio else lumber.width_in
    length_in = height_in if ratio == strong_ratio else height_weak_in
    stable_lb = values.fc * weaker.factor * area_in2
    inputs = {"Fc": values.fc, "CP": weaker.factor, "A": area_in2}
    steps = [
        value_step(values, "fc"),
        value_step(values, "e_min"),
        Step("r", "Ke * l / d", {"Ke": end_factor, "l": length_in, "d": side_in}, ratio, "-", "NDS 3.7.1.3"),
        *weaker.steps,
        Step("P", "Fc * CP * A", inputs, stable_lb, "lb", "NDS 3.6.3, 3.7.1"),
    ]
    candidates = {"column stability": stable_lb}
    if notch_depth_in and on_the_notch:
        seat_lb = values.fc * lumber.width_in * notch_depth_in
        inputs = {"Fc": values.fc, "b": lumber.width_in, "n": notch_depth_in}
        steps.append(Step("P_seat", "Fc * b * n", inputs, seat_lb, "lb", "NDS 3.10.1: end grain under the seat"))
        candidates["seat in the notch"] = seat_lb
    elif notch_depth_in:
        net_in2 = lumber.width_in * (lumber.depth_in - notch_depth_in)
        net_lb = values.fc * net_in2
        inputs = {"Fc": values.fc, "b": lumber.width_in, "d": lumber.depth_in, "n": notch_depth_in}
        steps.append(Step("P_net", "Fc * b * (d - n)", inputs, net_lb, "lb", "NDS 3.6.3: net section at the seat"))
        candidates["section left at the notch"] = net_lb
    if eccentricity_in:
        eccentric_lb = _eccentric_load(values, lumber, weaker, strong, eccentricity_in)
        steps.append(_eccentric_step(values, lumber, weaker, strong, eccentricity_in, eccentric_lb))
        candidates["eccentric seat"] = eccentric_lb
    governs = min(candidates, key=lambda name: candidates[name])
    assumptions = (*((PINNED,) if end_factor == 1.0 else ()), *values.assumptions)
    return PostCapacity(candidates[governs], governs, ratio, weaker.factor, tuple(steps), candidates, assumptions)


def post_compression(lumber: Lumber, height_in: float, load_lb: float, **options: Any) -> Comparison:
    """Compare the load on a post (lb) with what it carries; `options` as in `post_capacity`."""
    require_not_negative(load_lb=load_lb)
    capacity = post_capacity(lumber, height_in, **options)
    return Comparison(
        load_lb, capacity.load_lb, "lb", capacity.governs, capacity.steps, capacity.assumptions, "NDS 3.7, 15.4"
    )


def max_post_height(
    lumber: Lumber,
    tributary_area_sqft: float,
    loads: Loads,
    *,
    end_factor: float = 1.0,
    own_weight: bool = True,
    cap_in: float | None = None,
) -> Limit:
    """The greatest height (in) at which a post carries the deck area on it, by axial load alone.

    The height is capped at `cap_in`, by default the 14 ft at which the published post tables end.

    Raises OutOfRange where the area is too much for the post at any height.
    """
    require_positive(tributary_area_sqft=tributary_area_sqft, end_factor=end_factor)
    # What a slender post carries hardly grows with the load duration factor, so each sum is put to it in turn.
    return min(
        (_height_under(each, lumber, tributary_area_sqft, loads, end_factor, own_weight, cap_in)
         for each in sorted(loads.combinations, key=lambda each: -each.weight)),
        key=lambda limit: limit.value_in,
    )  # fmt: skip


def _height_under(
    combination: Combination,
    lumber: Lumber,
    tributary_area_sqft: float,
    loads: Loads,
    end_factor: float,
    own_weight: bool,
    cap_in: float | None,
) -> Limit:
    values = adjusted_values(lumber, combination.load_duration, members=1)
    cap = model_rule("post.max_height_dca6") if cap_in is None else cap_in
    side_in = min(lumber.width_in, lumber.depth_in)
    slender_in = constant("slenderness_column_max") * side_in / end_factor
    weight_pcf = own_weight_pcf(values.specific_gravity, constant("table_moisture")) if own_weight else 0.0
    weight_lb_per_in = weight_pcf * lumber.area_in2 / 1728
    deck_lb = combination.total_psf * tributary_area_sqft

    def holds(height_in: float) -> bool:
        capacity = post_capacity(lumber, height_in, combination.load_duration, end_factor=end_factor)
        return capacity.load_lb >= deck_lb + weight_lb_per_in * height_in

    low, high = 1.0, slender_in
    if not holds(low):
        raise OutOfRange("tributary_area_sqft", tributary_area_sqft, "an area that the post carries at some height")
    if holds(high):
        low = high
    for _ in range(48):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    candidates = {"column stability": low, "slenderness": slender_in, "end of the published tables": cap}
    governs = min(candidates, key=lambda name: candidates[name])
    height_in = candidates[governs]
    capacity = post_capacity(lumber, height_in, combination.load_duration, end_factor=end_factor)
    inputs = {"q": combination.total_psf, "A": tributary_area_sqft, "wt": weight_lb_per_in, "l": height_in}
    steps = (
        combination_step(loads, combination),
        Step("P_deck", "q * A + wt * l", inputs, deck_lb + weight_lb_per_in * height_in, "lb", "statics; own weight"),
        *capacity.steps,
    )
    return Limit(height_in, governs, steps, candidates, capacity.assumptions)


def _axis(values: DesignValues, effective_in: float, side_in: float, kf: float) -> tuple[Stability, float]:
    ratio = effective_in / side_in
    return column_stability(ratio, values.fc, values.e_min, built_up_factor=kf), ratio


def _built_up_factor(lumber: Lumber, plies_joined: str) -> float:
    if lumber.plies == 1:
        return 1.0
    if plies_joined not in ("nails", "bolts"):
        raise OutOfRange("plies_joined", plies_joined, "nails or bolts")
    return constant("kf_nailed" if plies_joined == "nails" else "kf_bolted")


def _eccentric_ratio(
    load_lb: float, values: DesignValues, lumber: Lumber, weaker: Stability, bent: Stability, e_in: float
) -> float:
    """Left side of NDS Eq. 15.4-1 for an eccentric axial load alone."""
    stress_psi = load_lb / lumber.area_in2
    axial = (stress_psi / (values.fc * weaker.factor)) ** 2
    moment = (
        stress_psi * 6 * e_in / lumber.depth_in * (1 + constant("eccentric_moment") * stress_psi / bent.critical_psi)
    )
    return axial + moment / (values.fb * (1 - stress_psi / bent.critical_psi))


def _eccentric_load(values: DesignValues, lumber: Lumber, weaker: Stability, bent: Stability, e_in: float) -> float:
    low, high = 0.0, min(values.fc * weaker.factor, bent.critical_psi * 0.999999) * lumber.area_in2
    for _ in range(60):
        middle = (low + high) / 2
        fits = _eccentric_ratio(middle, values, lumber, weaker, bent, e_in) <= 1
        low, high = (middle, high) if fits else (low, middle)
    return low


def _eccentric_step(
    values: DesignValues, lumber: Lumber, weaker: Stability, bent: Stability, e_in: float, load_lb: float
) -> Step:
    inputs = {
        "P": load_lb,
        "A": lumber.area_in2,
        "Fc": values.fc,
        "CP": weaker.factor,
        "e": e_in,
        "d": lumber.depth_in,
        "k": constant("eccentric_moment"),
        "FcE": bent.critical_psi,
        "Fb": values.fb,
    }
    formula = "(P / A / (Fc * CP))**2 + P / A * 6 * e / d * (1 + k * P / A / FcE) / (Fb * (1 - P / A / FcE))"
    value = _eccentric_ratio(load_lb, values, lumber, weaker, bent, e_in)
    note = "P is the load at which this reaches 1"
    return Step("interaction", formula, inputs, value, "-", "NDS 15.4.1 (from memory)", note)
