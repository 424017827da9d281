"""Reference withdrawal values: how hard a screw or nail resists being pulled out (NDS 12.2)."""

from __future__ import annotations

import math

from engine.errors import OutOfRange, require_positive
from engine.fasteners.parts import Fastener, require_specific_gravity
from engine.records import dataclass
from engine.results import Step


@dataclass(frozen=True)
class Withdrawal:
    """Reference withdrawal value W of one fastener: lb per inch of thread (screws) or of penetration (nails)."""

    fastener: Fastener
    specific_gravity: float
    w_lb_per_in: float
    is_end_grain: bool
    steps: tuple[Step, ...]

    def __float__(self) -> float:
        return self.w_lb_per_in


def withdrawal(fastener: Fastener, specific_gravity: float, is_end_grain: bool = False) -> Withdrawal:
    """Reference withdrawal value from side grain (or, lag screws only, from end grain at 0.75), lb per inch.

    A lag screw counts the inches of its thread without the tip; a wood screw those of its thread; a nail its
    penetration. A corroded screw is refused: how much its thread still holds has no published rule.

    Raises OutOfRange for a bolt, for a rusted thread, for nails and wood screws in end grain.
    Source: NDS Eq. 12.2-1 to 12.2-5; end grain 12.2.1.3, 12.2.2.3, 12.2.3.3.
    """
    require_specific_gravity(specific_gravity)
    if fastener.kind == "bolt":
        raise OutOfRange("kind", fastener.kind, "lag screw, nail or wood screw; a bolt bears on its washer instead")
    if is_end_grain and fastener.kind != "lag screw":
        raise OutOfRange(
            "is_end_grain", True, f"side grain; the NDS gives a {fastener.kind} in end grain no withdrawal"
        )
    if fastener.is_threaded and fastener.loss_in > 0:
        raise OutOfRange(
            "loss_in", fastener.loss_in, "no loss: no published rule for the withdrawal of a rusted thread"
        )
    step = _side_grain(fastener, specific_gravity)
    if not is_end_grain:
        return Withdrawal(fastener, specific_gravity, step.value, False, (step,))
    value = 0.75 * step.value
    end = Step("W_end", "0.75 * W", {"W": step.value}, value, "lb/in", "NDS 12.2.1.3")
    return Withdrawal(fastener, specific_gravity, value, True, (step, end))


def _side_grain(fastener: Fastener, gravity: float) -> Step:
    diameter_in = fastener.diameter_in - 2 * fastener.loss_in
    inputs = {"G": gravity, "D": diameter_in}
    if fastener.kind == "lag screw":
        return Step("W", "1800 * G**1.5 * D**0.75", inputs, 1800 * gravity**1.5 * diameter_in**0.75, "lb/in",
                    "NDS Eq. 12.2-1")  # fmt: skip
    if fastener.kind == "wood screw":
        return Step("W", "2850 * G**2 * D", inputs, 2850 * gravity**2 * diameter_in, "lb/in", "NDS Eq. 12.2-2")
    if fastener.shank == "ring":
        return Step("W", "1800 * G**2 * D", inputs, 1800 * gravity**2 * diameter_in, "lb/in", "NDS Eq. 12.2-5")
    if fastener.is_stainless:
        return Step("W", "465 * G**1.5 * D", inputs, 465 * gravity**1.5 * diameter_in, "lb/in", "NDS Eq. 12.2-4")
    return Step("W", "1380 * G**2.5 * D", inputs, 1380 * gravity**2.5 * diameter_in, "lb/in", "NDS Eq. 12.2-3")


def withdrawal_capacity(value: Withdrawal, length_in: float) -> tuple[float, Step]:
    """Reference resistance W x p of one fastener, lb; `length_in` counts as `withdrawal` says."""
    require_positive(length_in=length_in)
    total_lb = value.w_lb_per_in * length_in
    return total_lb, Step("Wp", "W * p", {"W": value.w_lb_per_in, "p": length_in}, total_lb, "lb", "NDS 12.2")


def head_pull_through(head_diameter_in: float, specific_gravity: float, side_thickness_in: float) -> tuple[float, Step]:
    """Reference resistance of a round head against being pulled through the side part, lb.

    Source: NDS 2018 Eq. 12.2-6a (thickness up to 2.5 head diameters) and 12.2-6b; new in the 2018 edition.
    """
    require_positive(head_diameter_in=head_diameter_in, side_thickness_in=side_thickness_in)
    require_specific_gravity(specific_gravity)
    inputs = {"DH": head_diameter_in, "G": specific_gravity, "t": side_thickness_in}
    if side_thickness_in <= 2.5 * head_diameter_in:
        value_lb = 690 * math.pi * head_diameter_in * specific_gravity**2 * side_thickness_in
        return value_lb, Step("W_H", "690 * pi * DH * G**2 * t", inputs, value_lb, "lb", "NDS Eq. 12.2-6a")
    del inputs["t"]
    value_lb = 1725 * math.pi * head_diameter_in**2 * specific_gravity**2
    return value_lb, Step("W_H", "1725 * pi * DH**2 * G**2", inputs, value_lb, "lb", "NDS Eq. 12.2-6b")


def combined_load_capacity_lb(kind: str, wp_lb: float, z_lb: float, alpha_deg: float) -> tuple[float, Step]:
    """Adjusted value of a fastener pulled and pushed sideways at once, lb; `alpha_deg` from the wood surface.

    `wp_lb` and `z_lb` already carry their factors. Source: NDS Eq. 12.4-1 (lag, wood screws), 12.4-2 (nails).
    """
    require_positive(wp_lb=wp_lb, z_lb=z_lb)
    if not 0 <= alpha_deg <= 90:
        raise OutOfRange("alpha_deg", alpha_deg, "from 0 to 90")
    alpha = math.radians(alpha_deg)
    inputs = {"Wp": wp_lb, "Z": z_lb, "a": alpha_deg}
    if kind in ("lag screw", "wood screw"):
        value = wp_lb * z_lb / (wp_lb * math.cos(alpha) ** 2 + z_lb * math.sin(alpha) ** 2)
        formula = "Wp * Z / (Wp * cos(radians(a))**2 + Z * sin(radians(a))**2)"
        return value, Step("Z_alpha", formula, inputs, value, "lb", "NDS Eq. 12.4-1")
    if kind == "nail":
        value = wp_lb * z_lb / (wp_lb * math.cos(alpha) + z_lb * math.sin(alpha))
        formula = "Wp * Z / (Wp * cos(radians(a)) + Z * sin(radians(a)))"
        return value, Step("Z_alpha", formula, inputs, value, "lb", "NDS Eq. 12.4-2")
    raise OutOfRange("kind", kind, "lag screw, wood screw or nail")
