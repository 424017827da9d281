"""Knee braces of a deck that no house holds: what sideways push one braced post takes at the height of its beam.

The post turns freely at its foot and under the beam; the brace meets it `drop` below the beam and the beam `run` beside
it. Moments about the top of the post: the push at its foot times its height is the level part of the brace's force
times the drop. Below the brace the post bends. Sources: statics; NDS 2018 3.7 (the brace as a column), 3.9.2 (the post
in bending and compression), 12.3 (the fasteners at its ends).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from engine.comparison import Comparison
from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.fasteners import (
    Adjusted,
    Fastener,
    Part,
    adjusted_lateral,
    driven_into,
    group_action_factor,
    lateral,
)
from engine.lumber import Lumber, adjusted_values, design_values, value_step
from engine.posts import post_capacity
from engine.records import dataclass
from engine.results import Step
from engine.stability import column_stability

ONE_BRACE = "one brace at the post acts at a time, in compression or in tension"
ALONG_ITS_MIDDLE = (
    "the force is taken along the middle of the brace; edges and ends of its fasteners as far as they need"
)
FREE_FOOT = "the foot of the post is free to turn"


@dataclass(frozen=True)
class Brace:
    """A brace lapped on the side of post and beam: its wood, how far below the beam it starts, how far out it ends."""

    lumber: Lumber
    drop_in: float
    run_in: float

    def __post_init__(self) -> None:
        require_positive(drop_in=self.drop_in, run_in=self.run_in)

    @property
    def length_in(self) -> float:
        return math.hypot(self.drop_in, self.run_in)

    @property
    def from_post_deg(self) -> float:
        """Angle between the brace and the grain of the post; the rest of 90 degrees is that to the beam."""
        return math.degrees(math.atan2(self.run_in, self.drop_in))


@dataclass(frozen=True)
class BraceEnd:
    """One end of a brace: what it is fastened to, how thick that is where a fastener goes through, and the fasteners.

    Raises OutOfRange without a fastener.
    """

    name: str
    into: Lumber
    thickness_in: float
    angle_deg: float
    fastener: Fastener
    count: int

    def __post_init__(self) -> None:
        require_positive(thickness_in=self.thickness_in)
        if self.count < 1:
            raise OutOfRange("count", self.count, "one or more")


@dataclass(frozen=True)
class BracedPost:
    """What one braced post takes: the push (lb) at its foot, what sets it, and each criterion's own push."""

    push_lb: float
    governs: str
    steps: tuple[Step, ...]
    candidates: dict[str, float]
    assumptions: tuple[str, ...]


def end_capacity(brace: Brace, end: BraceEnd) -> tuple[float, tuple[Step, ...], tuple[str, ...]]:
    """What the fasteners at one end carry along the brace, lb. Source: NDS 12.3, 11.3.6 (group action)."""
    side = Part(design_values(brace.lumber).specific_gravity, brace.lumber.width_in, 0)
    gravity = design_values(end.into).specific_gravity
    main = driven_into(end.fastener, gravity, end.angle_deg, brace.lumber.width_in, end.thickness_in)
    group, group_steps = group_action_factor(
        end.count,
        4 * end.fastener.diameter_in,
        end.fastener.diameter_in,
        design_values(end.into).e * end.into.area_in2,
        design_values(brace.lumber).e * brace.lumber.area_in2,
    )
    one: Adjusted = adjusted_lateral(lateral(end.fastener, main, side), wet=brace.lumber.wet, group_action=group)
    total_lb = one.value * end.count
    inputs = {"Z": one.value, "n": float(end.count)}
    total = Step("F_end", "Z * n", inputs, total_lb, "lb", "NDS 12.3", f"fasteners at the {end.name}")
    return total_lb, (*group_steps, *one.steps, total), one.assumptions


def braced_post(
    brace: Brace, ends: Sequence[BraceEnd], post: Lumber, height_in: float, load_lb: float = 0.0
) -> BracedPost:
    """The push (lb) at the foot of a post that its brace and the post itself take; `load_lb` stands on the post.

    Raises OutOfRange for a brace that starts below the foot, or is more slender than a column may be.
    """
    require_not_negative(load_lb=load_lb)
    require_positive(height_in=height_in)
    if brace.drop_in >= height_in:
        raise OutOfRange("drop_in", brace.drop_in, f"less than the height of the post, {height_in:g}")
    lengths = {"dr": brace.drop_in, "run": brace.run_in}
    length = Step("L", "sqrt(dr**2 + run**2)", lengths, brace.length_in, "in", "length of the brace")
    column = post_capacity(brace.lumber, brace.length_in)
    axial = {"brace as a column": column.load_lb}
    steps: list[Step] = [length, *column.steps]
    assumptions: dict[str, None] = dict.fromkeys((FREE_FOOT, ONE_BRACE, ALONG_ITS_MIDDLE))
    for end in ends:
        capacity_lb, end_steps, end_assumptions = end_capacity(brace, end)
        axial[f"fasteners at the {end.name}"] = capacity_lb
        steps += end_steps
        assumptions |= dict.fromkeys(end_assumptions)
    lever = {"run": brace.run_in, "L": brace.length_in, "dr": brace.drop_in, "h": height_in}
    factor = brace.run_in / brace.length_in * brace.drop_in / height_in
    pushes = {name: force_lb * factor for name, force_lb in axial.items()}
    weakest = min(axial, key=lambda name: axial[name])
    steps.append(
        Step(
            "H_brace", "F * run / L * dr / h", {"F": axial[weakest], **lever}, pushes[weakest], "lb", "statics", weakest
        )
    )
    bending_lb, bending_steps = _post_push(post, height_in, brace.drop_in, load_lb)
    pushes["post bending below the brace"] = bending_lb
    governs = min(pushes, key=lambda name: pushes[name])
    return BracedPost(pushes[governs], governs, (*steps, *bending_steps), pushes, tuple(assumptions))


def _post_push(post: Lumber, height_in: float, drop_in: float, load_lb: float) -> tuple[float, tuple[Step, ...]]:
    """The push that bends the post to its limit below the brace, with its load on it. Source: NDS 3.9.2."""
    values = adjusted_values(post, members=1)
    side_in, section_in3 = min((post.width_in, post.s_yy_in3), (post.depth_in, post.s_xx_in3))
    stability = column_stability(height_in / side_in, values.fc, values.e_min)
    stress_psi = load_lb / post.area_in2
    stable_psi = values.fc * stability.factor
    left = max(0.0, (1 - stress_psi / stability.critical_psi) * (1 - (stress_psi / stable_psi) ** 2))
    if stress_psi >= min(stable_psi, stability.critical_psi):
        left = 0.0
    inputs = {"P": load_lb, "A": post.area_in2, "Fc": stable_psi, "FcE": stability.critical_psi, "Fb": values.fb}
    bent_psi = values.fb * left
    formula = "Fb * max(0, 1 - P / A / FcE) * max(0, 1 - (P / A / Fc)**2)"
    push_lb = bent_psi * section_in3 / (height_in - drop_in)
    bending = {"fb": bent_psi, "S": section_in3, "h": height_in, "dr": drop_in}
    return push_lb, (
        value_step(values, "fb"),
        replace(stability.steps[0], note="of the post"),
        Step(
            "fb_left", formula, inputs, bent_psi, "psi", "NDS 3.9.2", "bending stress left beside the load on the post"
        ),
        Step("H_post", "fb * S / (h - dr)", bending, push_lb, "lb", "statics", "bending below the brace"),
    )


def brace_against_sway(post: BracedPost, sway: Step, braced_posts: int) -> Comparison:
    """Compare a post's share of the sway of people with what it takes, lb. For information: no code asks for it.

    Every braced post is taken to carry the same share.
    """
    if braced_posts < 1:
        raise OutOfRange("braced_posts", braced_posts, "one or more")
    inputs = {"H": sway.value, "n": float(braced_posts)}
    share = Step("H_post_share", "H / n", inputs, sway.value / braced_posts, "lb", "statics", "each braced post alike")
    assumptions = (
        "for information: no code names the push that a brace must take",
        "every braced post takes the same share",
        *post.assumptions,
    )
    steps = (sway, share, *post.steps)
    citation = f"{sway.source}; NDS 3.7, 3.9, 12.3"
    return Comparison(share.value, post.push_lb, "lb", post.governs, steps, assumptions, citation)
