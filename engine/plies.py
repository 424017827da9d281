"""Plies of a built-up beam: what their fasteners are worth, and what must pass between them where one ply hangs.

The fasteners stand between two plies in single shear, loaded across the grain of both. Sources: NDS 2018 12.3 and 11.3;
the published nailing is IRC R507.5.
"""

from __future__ import annotations

from engine.comparison import Comparison
from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.fasteners import Adjusted, Fastener, Part, adjusted_lateral, driven_into, lateral
from engine.lumber import Lumber, design_values
from engine.records import dataclass
from engine.results import Step

EACH_JOINT = "each ply is fastened to the next in the same way"


@dataclass(frozen=True)
class PlyFastening:
    """Fasteners in `rows` along the beam, `spacing_in` apart in each row. Raises OutOfRange for none."""

    fastener: Fastener
    rows: int
    spacing_in: float

    def __post_init__(self) -> None:
        if self.rows < 1:
            raise OutOfRange("rows", self.rows, "one or more")
        require_positive(spacing_in=self.spacing_in)


def between_plies(fastener: Fastener, lumber: Lumber, load_duration: float = 1.0) -> Adjusted:
    """Adjusted lateral value (lb) of one fastener between two plies of a beam, pushed across their grain.

    Raises OutOfRange for a fastener that does not reach far enough into the second ply.
    """
    gravity, ply_in = design_values(lumber).specific_gravity, lumber.ply_width_in
    z = lateral(fastener, driven_into(fastener, gravity, 90, ply_in, ply_in), Part(gravity, ply_in, 90))
    return adjusted_lateral(z, load_duration=load_duration, wet=lumber.wet)


def worth_step(fastening: PlyFastening, one: Adjusted, symbol: str = "v") -> Step:
    """What the fasteners pass from ply to ply along a foot of the beam, lb/ft."""
    inputs = {"Z": one.value, "n": float(fastening.rows), "s": fastening.spacing_in}
    value = one.value * fastening.rows * 12 / fastening.spacing_in
    return Step(symbol, "Z * n * 12 / s", inputs, value, "lb/ft", "NDS 12.3", "from one ply to the next")


def ply_fastening(lumber: Lumber, found: PlyFastening, asked: PlyFastening, citation: str) -> Comparison:
    """Compare what the fasteners between two plies are worth with what the published nailing is, lb/ft.

    Both are worked out for the same wood and the same load.
    """
    one_asked, one = between_plies(asked.fastener, lumber), between_plies(found.fastener, lumber)
    need, have = worth_step(asked, one_asked, "v_rule"), worth_step(found, one)
    steps = (*one_asked.steps, need, *one.steps, have)
    assumptions = (EACH_JOINT, *one.assumptions)
    return Comparison(need.value, have.value, "lb/ft", found.fastener.kind, steps, assumptions, citation)


def passed_between_plies(reaction_lb: float, plies: int, ply_in: float, seat_in: float) -> Step:
    """The largest load (lb) that must pass between two plies of a beam whose seat is narrower than all of them.

    Each ply brings its share of the reaction; the seat, which begins at the face of the first ply, presses back
    evenly over its width. Across each joint goes what the plies on one side bring and do not stand on. Zero where the
    whole width bears. Source: statics.
    """
    require_not_negative(reaction_lb=reaction_lb)
    require_positive(ply_in=ply_in, seat_in=seat_in)
    if plies < 1:
        raise OutOfRange("plies", plies, "one or more")
    seated_in = min(seat_in, plies * ply_in)
    joints = range(1, plies)

    def passed(joint: int) -> float:
        return min(seated_in, joint * ply_in) / seated_in - joint / plies

    worst = max(joints, key=passed, default=0)
    if not worst or passed(worst) <= 0:
        return Step("V", "0 * R", {"R": reaction_lb}, 0.0, "lb", "statics", "every ply stands on the seat")
    inputs = {"R": reaction_lb, "w": seated_in, "j": float(worst), "t": ply_in, "n": float(plies)}
    note = f"across joint {worst}: from the plies beyond it to those that stand on the seat"
    return Step("V", "R * (min(w, j * t) / w - j / n)", inputs, reaction_lb * passed(worst), "lb", "statics", note)


def ply_hold(
    passed: Step, bolt: Adjusted | None, bolts: int, nailed: PlyFastening | None, one: Adjusted | None, reach_in: float
) -> Comparison:
    """Compare the load that must pass between two plies at a post with what holds them together there, lb.

    `bolts` are those through beam and post; of the fasteners along the beam those within `reach_in` of its length
    count, full rows only.
    """
    require_not_negative(reach_in=reach_in)
    steps: list[Step] = [passed]
    total_lb = 0.0
    assumptions: list[str] = []
    if bolt is not None and bolts:
        total_lb = bolt.value * bolts
        inputs = {"Z": bolt.value, "n": float(bolts)}
        steps += [*bolt.steps, Step("V_bolts", "Z * n", inputs, total_lb, "lb", "NDS 12.3")]
        assumptions += bolt.assumptions
    if nailed is not None and one is not None:
        inputs = {"Z": one.value, "n": float(nailed.rows), "x": reach_in, "s": nailed.spacing_in}
        near_lb = one.value * nailed.rows * (reach_in // nailed.spacing_in)
        steps += [*one.steps, Step("V_plies", "Z * n * floor(x / s)", inputs, near_lb, "lb", "NDS 12.3")]
        total_lb += near_lb
        assumptions += [EACH_JOINT, *one.assumptions]
    return Comparison(
        passed.value, total_lb, "lb", "hanging ply", tuple(steps), tuple(assumptions), "NDS 12.3; statics"
    )
