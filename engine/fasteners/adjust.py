"""Adjustment factors on a reference lateral or withdrawal value (NDS 11.3 and 12.5)."""

from __future__ import annotations

from functools import cache, lru_cache

from engine.errors import OutOfRange, require_between, require_positive
from engine.fasteners.geometry import Geometry
from engine.fasteners.parts import LARGE_DIAMETER_IN, Fastener, cell_number
from engine.fasteners.withdrawal import Withdrawal
from engine.fasteners.yield_limits import Lateral
from engine.records import dataclass
from engine.results import Step
from engine.tables import load

# NDS Table 2.3.2: impact (2.0) is not for connections, 1.6 is the most they may take.
GREATEST_LOAD_DURATION = 1.6


@dataclass(frozen=True)
class Adjusted:
    """An adjusted value of one fastener, with every factor listed in `steps`.

    `value` is in lb for a lateral value, in lb per inch for a withdrawal value; `unit` says which.
    """

    value: float
    unit: str
    factors: dict[str, float]
    steps: tuple[Step, ...]
    assumptions: tuple[str, ...] = ()


def adjusted_lateral(
    z: Lateral,
    *,
    load_duration: float = 1.0,
    wet: bool = False,
    wet_when_made: bool | None = None,
    is_excepted_from_seasoning: bool = False,
    temperature_f: float = 70.0,
    group_action: float = 1.0,
    geometry: Geometry | None = None,
    is_end_grain: bool = False,
    is_toe_nail: bool = False,
) -> Adjusted:
    """Adjusted lateral value Z' of one fastener, lb.

    `wet` is the service condition (above 19 %). `wet_when_made` defaults to the service condition; lumber that dried
    in place counts 0.4 (D from 1/4 in) unless `is_excepted_from_seasoning`: one fastener, or one row along the grain,
    or a side plate for each row. `geometry` is the factor for measured distances; None assumes enough of each.

    Raises OutOfRange for a load duration above 1.6 or a temperature above 150 F.
    Source: NDS Tables 11.3.1, 11.3.3, 11.3.4; 12.5.2.2 (end grain), 12.5.4.2 (toe-nails).
    """
    large = z.fastener.diameter_in >= LARGE_DIAMETER_IN
    dried = (wet if wet_when_made is None else wet_when_made) and not wet
    size = "excepted" if is_excepted_from_seasoning else "large" if large else "small"
    moisture = "CM.lateral.wet" if wet else f"CM.lateral.seasoned.{size}" if dried else "CM.lateral.dry"
    factors = [
        ("CD", _duration(load_duration), "NDS Table 2.3.2"),
        ("CM", *_factor(moisture)),
        _temperature(temperature_f, wet),
    ]
    require_between(0, 1, group_action=group_action)
    factors.append(("Cg", group_action, "NDS 11.3.6"))
    assumptions: tuple[str, ...] = ()
    if geometry is None:
        assumptions = ("end, edge and row distances taken as enough for a geometry factor of 1.0",)
    else:
        factors.append(("C_delta", geometry.factor, "NDS 12.5.1"))
        assumptions = geometry.assumptions
    if is_end_grain:
        factors.append(("Ceg", *_factor("Ceg.lateral")))
    if is_toe_nail:
        _only_nails(z.fastener, "toe-nail")
        factors.append(("Ctn", *_factor("Ctn.lateral")))
    before = geometry.steps if geometry is not None else ()
    return _product("Z", z.z_lb, "lb", factors, (*z.steps, *before), assumptions)


def adjusted_withdrawal(
    w: Withdrawal,
    *,
    load_duration: float = 1.0,
    wet: bool = False,
    wet_when_made: bool | None = None,
    temperature_f: float = 70.0,
    is_toe_nail: bool = False,
) -> Adjusted:
    """Adjusted withdrawal value W' of one fastener, lb per inch.

    Smooth nails lose three quarters where the wood dried or got wet after they were driven; ring-shank nails do not
    (NDS Table 11.3.3 footnote 3). On a toe-nail the wet-service factor is not applied (NDS 12.5.4.1).

    Raises OutOfRange for a load duration above 1.6 or a temperature above 150 F.
    """
    was_wet = wet if wet_when_made is None else wet_when_made
    if w.fastener.kind == "nail":
        changed = was_wet != wet and w.fastener.shank == "smooth"
        moisture = "CM.withdrawal.nail.changed" if changed and not is_toe_nail else "CM.withdrawal.nail.same"
    else:
        moisture = f"CM.withdrawal.screw.{'wet' if wet else 'dry'}"
    factors = [
        ("CD", _duration(load_duration), "NDS Table 2.3.2"),
        ("CM", *_factor(moisture)),
        _temperature(temperature_f, wet),
    ]
    if is_toe_nail:
        _only_nails(w.fastener, "toe-nail")
        factors.append(("Ctn", *_factor("Ctn.withdrawal")))
    return _product("W", w.w_lb_per_in, "lb/in", factors, w.steps, ())


def _product(
    symbol: str,
    reference: float,
    unit: str,
    factors: list[tuple[str, float, str]],
    before: tuple[Step, ...],
    assumptions: tuple[str, ...],
) -> Adjusted:
    value = reference
    for _, factor, _ in factors:
        value *= factor
    given = {name: factor for name, factor, _ in factors}
    each = tuple(_factor_step(*factor) for factor in factors)
    formula = " * ".join([symbol, *given])
    last = Step(f"{symbol}_adj", formula, {symbol: reference, **given}, value, unit, "NDS Table 11.3.1")
    return Adjusted(value, unit, given, (*before, *each, last), assumptions)


@lru_cache(maxsize=1024)
def _factor_step(name: str, factor: float, source: str) -> Step:
    return Step(name, name, {name: factor}, factor, "-", source)


def _duration(load_duration: float) -> float:
    require_positive(load_duration=load_duration)
    if load_duration > GREATEST_LOAD_DURATION:
        raise OutOfRange("load_duration", load_duration, "up to 1.6 for connections (NDS Table 2.3.2)")
    return load_duration


def _temperature(temperature_f: float, wet: bool) -> tuple[str, float, str]:
    for limit_f in (100, 125, 150):
        if temperature_f <= limit_f:
            return ("Ct", *_factor(f"Ct.{'wet' if wet else 'dry'}.{limit_f}"))
    raise OutOfRange("temperature_f", temperature_f, "up to 150 F (NDS Table 11.3.4)")


def _only_nails(fastener: Fastener, use: str) -> None:
    if fastener.kind != "nail":
        raise OutOfRange("kind", fastener.kind, f"nail, for a {use}")


@cache
def _factor(key: str) -> tuple[float, str]:
    for row in load("connection_factors").rows:
        if row["key"] == key:
            return cell_number(row["factor"]), str(row["reference"])
    raise KeyError(key)


def over_length(capacity: Adjusted, length_in: float) -> Adjusted:
    """An adjusted withdrawal value times the thread or penetration it acts over: an adjusted value in lb.

    Raises OutOfRange for a value that is in lb already. Source: NDS 12.2.
    """
    require_positive(length_in=length_in)
    if capacity.unit != "lb/in":
        raise OutOfRange("capacity", capacity.unit, "a withdrawal value in lb per inch")
    total_lb = capacity.value * length_in
    step = Step("Wp", "W * p", {"W": capacity.value, "p": length_in}, total_lb, "lb", "NDS 12.2")
    return Adjusted(total_lb, "lb", capacity.factors, (*capacity.steps, step), capacity.assumptions)
