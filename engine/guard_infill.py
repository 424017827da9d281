"""Guards between the posts: whether one is needed, how high, what passes through, rails and balusters.

Every limit is an argument: the adopted edition, or a local amendment, sets it.
"""

from __future__ import annotations

from engine.comparison import Comparison
from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.fasteners import Adjusted
from engine.measures import at_least, at_most, stops_ball
from engine.results import Step

RAIL_LOAD = "IRC Table R301.5 note d; ASCE 7 4.5.1"
INFILL_LOAD = "IRC Table R301.5 note f"


def needs_guard(drop_in: float, required_drop_in: float = 30.0) -> bool:
    """Whether an edge needs a guard: the drop within the rule's reach (36 in) is more than the rule's drop.

    Source of the default: IRC R312.1.1.
    """
    require_not_negative(drop_in=drop_in)
    require_positive(required_drop_in=required_drop_in)
    return drop_in > required_drop_in


def guard_height(height_in: float, least_in: float, citation: str) -> Comparison:
    """Compare the least height of the rule (demand) with the measured one (capacity), in."""
    return at_least(least_in, height_in, "height", citation)


def opening(largest_ball_in: float, ball_in: float, where: str, citation: str) -> Comparison:
    """Compare the largest ball that passes an opening with the ball that must not, in (see `measures.stops_ball`)."""
    return stops_ball(ball_in, largest_ball_in, where, citation)


def stair_triangle_ball_in(riser_in: float, tread_in: float, rail_above_nosings_in: float) -> float:
    """Largest ball in the triangle of riser, tread and the bottom rail of a stair guard, in: its inscribed circle.

    The rail runs parallel to the line of the nosings, `rail_above_nosings_in` above it measured straight up. With the
    rail on the nosing line the sides are riser, tread and slope. Source: geometry (the ball of IRC R312.1.3 exc. 1).
    """
    require_positive(riser_in=riser_in, tread_in=tread_in)
    require_not_negative(rail_above_nosings_in=rail_above_nosings_in)
    scale = 1 + rail_above_nosings_in / riser_in  # the triangle grows with the rail's height, its shape stays
    rise, run = riser_in * scale, tread_in * scale
    return float(rise + run - (rise**2 + run**2) ** 0.5)


def post_spacing(spacing_in: float, most_in: float, citation: str) -> Comparison:
    """Compare the measured distance of the posts with the largest that the detail allows, in."""
    return at_most(most_in, spacing_in, "post spacing", citation)


def rail_bending(span_in: float, s_in3: float, fb_adjusted_psi: float, load_lb: float = 200.0) -> Comparison:
    """Compare the bending stress of a top rail under a load at midspan with its adjusted bending value, psi.

    The rail is taken as a simple span from post to post, on the safe side for one that runs on. `s_in3` is the section
    modulus about the axis of the load: sideways and downward are two questions.
    """
    require_positive(span_in=span_in, s_in3=s_in3, fb_adjusted_psi=fb_adjusted_psi, load_lb=load_lb)
    moment = Step("M", "P * l / 4", {"P": load_lb, "l": span_in}, load_lb * span_in / 4, "in-lb", "statics")
    stress = Step("fb", "M / S", {"M": moment.value, "S": s_in3}, moment.value / s_in3, "psi", "NDS 3.3.2")
    assumptions = ("the rail as a simple span from post to post",)
    return Comparison(stress.value, fb_adjusted_psi, "psi", "bending", (moment, stress), assumptions, RAIL_LOAD)


def rail_end(capacity: Adjusted, fasteners: int, load_lb: float = 200.0) -> Comparison:
    """Compare a load right beside the post, all of it on one rail end, with the fasteners of that end, lb."""
    require_positive(load_lb=load_lb)
    if capacity.unit != "lb":
        raise OutOfRange("capacity", capacity.unit, "a lateral value in lb")
    value = _all_of(capacity, fasteners)
    assumptions = ("the whole load on one end of the rail", *capacity.assumptions)
    return Comparison(load_lb, value.value, "lb", "rail fastening", (*capacity.steps, value), assumptions, RAIL_LOAD)


def baluster_share_lb(spacing_in: float, load_lb: float = 50.0, patch_in: float = 12.0) -> Step:
    """What one baluster takes of the infill load: its width of the patch, and never more than all of it."""
    require_positive(spacing_in=spacing_in, load_lb=load_lb, patch_in=patch_in)
    inputs = {"P": load_lb, "s": spacing_in, "c": patch_in}
    value = load_lb * min(1.0, spacing_in / patch_in)
    return Step("Pb", "P * min(1.0, s / c)", inputs, value, "lb", INFILL_LOAD)


def baluster_bending(
    length_in: float,
    spacing_in: float,
    s_in3: float,
    fb_adjusted_psi: float,
    load_lb: float = 50.0,
    patch_in: float = 12.0,
) -> Comparison:
    """Compare the bending stress of a baluster under its share of the infill load with its bending value, psi.

    The patch of one square foot lies at midspan; a baluster shorter than the patch is loaded all along.
    """
    require_positive(length_in=length_in, s_in3=s_in3, fb_adjusted_psi=fb_adjusted_psi)
    share = baluster_share_lb(spacing_in, load_lb, patch_in)
    inputs = {"Pb": share.value, "l": length_in, "c": patch_in}
    loaded_in = min(patch_in, length_in)
    value = share.value * (loaded_in / patch_in) * (length_in / 4 - loaded_in / 8)
    moment = Step("M", "Pb * min(c, l) / c * (l / 4 - min(c, l) / 8)", inputs, value, "in-lb", "statics")
    stress = Step("fb", "M / S", {"M": value, "S": s_in3}, value / s_in3, "psi", "NDS 3.3.2")
    assumptions = ("the baluster as a simple span between its rails", "load in the middle of the infill")
    return Comparison(
        stress.value, fb_adjusted_psi, "psi", "bending", (share, moment, stress), assumptions, INFILL_LOAD
    )


def baluster_fastening(
    length_in: float,
    spacing_in: float,
    capacity_lb: Adjusted,
    fasteners_each_end: int,
    load_lb: float = 50.0,
    patch_in: float = 12.0,
) -> Comparison:
    """Compare the larger end reaction of a baluster, the patch lying against that end, with its fasteners there, lb.

    Outward, a baluster nailed to the outside of its rails pulls on its fasteners: then bring a withdrawal value times
    its penetration. Between the rails it shears them.
    """
    require_positive(length_in=length_in)
    if capacity_lb.unit != "lb":
        raise OutOfRange("capacity_lb", capacity_lb.unit, "a value in lb")
    share = baluster_share_lb(spacing_in, load_lb, patch_in)
    loaded_in = min(patch_in, length_in)
    inputs = {"Pb": share.value, "l": length_in, "c": patch_in}
    value = share.value * loaded_in / patch_in * (1 - loaded_in / (2 * length_in))
    reaction = Step("R", "Pb * min(c, l) / c * (1 - min(c, l) / (2 * l))", inputs, value, "lb", "statics")
    total = _all_of(capacity_lb, fasteners_each_end)
    steps = (share, reaction, *capacity_lb.steps, total)
    assumptions = ("load beside the rail", *capacity_lb.assumptions)
    return Comparison(value, total.value, "lb", "baluster fastening", steps, assumptions, INFILL_LOAD)


def _all_of(capacity: Adjusted, fasteners: int) -> Step:
    if fasteners < 1:
        raise OutOfRange("fasteners", fasteners, "one or more")
    inputs = {"Z": capacity.value, "n": float(fasteners)}
    return Step("R_all", "Z * n", inputs, capacity.value * fasteners, "lb", "NDS 12.3")
