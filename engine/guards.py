"""Guard posts: what a push at the top does to the post and its fasteners, and what holds it.

The post is a lever: the load acts high above a short bolt couple, so the upper fastener is pulled many times as hard
as the post is pushed. Rails, balusters and openings are in `engine.guard_infill`.
"""

from __future__ import annotations

from functools import lru_cache

from engine.comparison import Comparison
from engine.errors import NotPublished, OutOfRange, require_not_negative, require_positive
from engine.fasteners import Adjusted
from engine.records import dataclass
from engine.results import Step
from engine.tables import load

DIRECTIONS = ("outward", "inward", "downward")
PIVOTS = ("lower bolt", "rim bottom")
GUARD_LOAD = "IRC Table R301.5 note d; ASCE 7 4.5.1"
STATICS = "statics of the post as a lever"
# By statics alone bolts one above the other hold next to nothing along the guard, and yet lines of posts stand: the
# rail shares the push among them. No published value says how, so there is no verdict.
ALONG_NOT_JUDGED = "a push along the line of the guard is not judged: no published value says how its rail shares it"


@dataclass(frozen=True)
class GuardPostDemand:
    """What one push does: the largest moment in the post, the pull on a row of bolts, the bending stress, the shear.

    `bolt_tension_lb` is for the whole row that is pulled (the upper one outward, the lower one inward);
    `bolt_shear_lb` for all bolts together.
    """

    direction: str
    load_lb: float
    moment_in_lb: float
    bolt_tension_lb: float
    bolt_shear_lb: float
    post_stress_psi: float
    steps: tuple[Step, ...]
    assumptions: tuple[str, ...]


@lru_cache(maxsize=1024)
def guard_post_demand(
    height_in: float,
    *,
    upper_bolt_below_rim_top_in: float = 2.0,
    bolt_spacing_in: float | None = None,
    rim_depth_in: float | None = None,
    pivot: str = "lower bolt",
    decking_in: float = 1.0,
    post_width_in: float = 3.5,
    post_depth_in: float = 3.5,
    notch_in: float = 0.0,
    bolt_hole_in: float = 0.0,
    load_lb: float = 200.0,
    direction: str = "outward",
) -> GuardPostDemand:
    """Moment, bolt tension and post bending stress under a load at the top of a guard post.

    `height_in` is the top of the guard above the walking surface, `decking_in` the thickness between that surface and
    the top of the rim. `pivot` says about what the post turns when pushed outward: the lower bolt (needs
    `bolt_spacing_in`) or the bottom edge of the rim (needs `rim_depth_in`). Pushed inward it turns about the upper bolt
    and pulls the lower one. Pushed down, the bolts share the load as shear and the eccentricity of half a post pulls
    the upper bolt. `post_depth_in` is the post's side in the direction of the load, `notch_in` what is cut out of it,
    `bolt_hole_in` the width a hole takes out of the section.

    Raises OutOfRange for an arm that is not above zero or a notch through the post.
    Source: statics; the load is IRC Table R301.5 note d (any direction at any point along the top). A push along the
    line of the guard is not among the directions; the assumptions say so.
    """
    if direction not in DIRECTIONS:
        raise OutOfRange("direction", direction, "one of " + ", ".join(DIRECTIONS))
    require_positive(height_in=height_in, load_lb=load_lb, post_width_in=post_width_in, post_depth_in=post_depth_in)
    require_positive(upper_bolt_below_rim_top_in=upper_bolt_below_rim_top_in)
    require_not_negative(decking_in=decking_in)
    section = _section_modulus(post_width_in, post_depth_in, notch_in, bolt_hole_in)
    arm = _arm(direction, pivot, upper_bolt_below_rim_top_in, bolt_spacing_in, rim_depth_in)
    geometry = {"h": height_in, "t": decking_in, "e": upper_bolt_below_rim_top_in}
    if direction == "downward":
        eccentric = Step(
            "M", "P * d / 2", {"P": load_lb, "d": post_depth_in}, load_lb * post_depth_in / 2, "in-lb", STATICS
        )
        tension = Step(
            "T", "M / arm", {"M": eccentric.value, "arm": arm.value}, eccentric.value / arm.value, "lb", STATICS
        )
        moment = eccentric
    else:
        lever = height_in + decking_in + upper_bolt_below_rim_top_in
        moment = Step("M", "P * (h + t + e)", {"P": load_lb, **geometry}, load_lb * lever, "in-lb", STATICS)
        tension = _tension(direction, load_lb, lever, arm, geometry)
    inputs = {"M": moment.value, "S": section.value}
    stress = Step("fb", "M / S", inputs, moment.value / section.value, "psi", "NDS 3.3.2")
    assumptions = [f"pushed {direction} with {load_lb:g} lb at the top", _turning(direction, pivot)]
    if direction != "downward":
        assumptions.append(ALONG_NOT_JUDGED)
    if bolt_hole_in == 0:
        assumptions.append("no wood lost to bolt holes")
    return GuardPostDemand(
        direction,
        load_lb,
        moment.value,
        tension.value,
        load_lb if direction == "downward" else 0.0,
        stress.value,
        (arm, moment, tension, section, stress),
        tuple(assumptions),
    )


def _arm(direction: str, pivot: str, upper_in: float, spacing_in: float | None, rim_depth_in: float | None) -> Step:
    if pivot not in PIVOTS:
        raise OutOfRange("pivot", pivot, "one of " + ", ".join(PIVOTS))
    if direction == "outward" and pivot == "rim bottom":
        if rim_depth_in is None:
            raise OutOfRange("rim_depth_in", None, "the depth of the rim, for a post that turns about its bottom")
        require_positive(rim_depth_in=rim_depth_in)
        if rim_depth_in <= upper_in:
            raise OutOfRange("upper_bolt_below_rim_top_in", upper_in, f"less than the rim depth, {rim_depth_in:g} in")
        inputs = {"rim": rim_depth_in, "e": upper_in}
        return Step("arm", "rim - e", inputs, rim_depth_in - upper_in, "in", STATICS, "upper bolt to bottom of rim")
    if spacing_in is None:
        raise OutOfRange("bolt_spacing_in", None, "the distance of the upper from the lower bolt")
    require_positive(bolt_spacing_in=spacing_in)
    if rim_depth_in is not None and upper_in + spacing_in > rim_depth_in:
        raise OutOfRange("bolt_spacing_in", spacing_in, f"a lower bolt still on the rim, {rim_depth_in:g} in deep")
    return Step("arm", "s", {"s": spacing_in}, spacing_in, "in", STATICS, "upper bolt to lower bolt")


def _tension(direction: str, load_lb: float, lever_in: float, arm: Step, geometry: dict[str, float]) -> Step:
    if direction == "outward":  # moments about the pivot, `arm` below the upper bolt
        value = load_lb * (lever_in + arm.value) / arm.value
        inputs = {"P": load_lb, **geometry, "arm": arm.value}
        return Step("T", "P * (h + t + e + arm) / arm", inputs, value, "lb", STATICS, "upper bolts")
    value = load_lb * lever_in / arm.value
    inputs = {"P": load_lb, **geometry, "arm": arm.value}
    return Step("T", "P * (h + t + e) / arm", inputs, value, "lb", STATICS, "lower bolts")


def _turning(direction: str, pivot: str) -> str:
    if direction == "outward":
        return f"the post turns about the {pivot}"
    if direction == "inward":
        return "the post turns about the upper bolt; the decking's help is left out"
    return "the load stands half a post's depth off the rim"


def _section_modulus(width_in: float, depth_in: float, notch_in: float, hole_in: float) -> Step:
    require_not_negative(notch_in=notch_in, bolt_hole_in=hole_in)
    if notch_in >= depth_in:
        raise OutOfRange("notch_in", notch_in, f"less than the post's depth, {depth_in:g} in")
    if hole_in >= width_in:
        raise OutOfRange("bolt_hole_in", hole_in, f"less than the post's width, {width_in:g} in")
    value = (width_in - hole_in) * (depth_in - notch_in) ** 2 / 6
    inputs = {"b": width_in, "hole": hole_in, "d": depth_in, "notch": notch_in}
    return Step("S", "(b - hole) * (d - notch)**2 / 6", inputs, value, "in3", "NDS 3.1.2, net section")


# -- what holds it ---------------------------------------------------------------------------------------------------


def post_bending(demand: GuardPostDemand, fb_adjusted_psi: float) -> Comparison:
    """Compare the bending stress of the post with its adjusted bending value, psi. Source: NDS 3.3.2."""
    require_positive(fb_adjusted_psi=fb_adjusted_psi)
    return Comparison(
        demand.post_stress_psi,
        fb_adjusted_psi,
        "psi",
        "bending",
        demand.steps,
        demand.assumptions,
        "NDS 3.3.2; " + GUARD_LOAD,
    )


def hold_down(demand: GuardPostDemand, rated_lb: float) -> Comparison:
    """Compare the pull on the upper bolts with the allowable tension of the hold-down, as its maker states it."""
    require_positive(rated_lb=rated_lb)
    assumptions = (*demand.assumptions, "allowable tension as entered from the maker's document")
    return Comparison(demand.bolt_tension_lb, rated_lb, "lb", "tension", demand.steps, assumptions, GUARD_LOAD)


@dataclass(frozen=True)
class PostDetail:
    """What the published detail asks of a guard post: sizes in inches, `fb_psi` adjusted, `hold_down_lb` rated."""

    post_side_in: float
    bolts: int
    bolt_in: float
    upper_bolt_from_top_in: float
    hold_down_lb: float
    fb_psi: float
    most_height_in: float


def short_of_detail(asked: PostDetail, found: PostDetail, notch_in: float) -> tuple[str, ...]:
    """In what a guard post falls short of the published detail, in words; empty where it meets it all.

    `found.most_height_in` is the height of the guard. Raises OutOfRange for a guard higher than the detail is for.
    Source: AWC DCA 6-2012, guard post attachments and Figures 24-25 (from memory).
    """
    if found.most_height_in > asked.most_height_in:
        raise OutOfRange(
            "guard_height_in", found.most_height_in, f"up to {asked.most_height_in:g} in, where the detail ends"
        )
    short = [f"a notch of {notch_in:g} in, none allowed"] if notch_in > 0 else []
    rows = (
        ("post", found.post_side_in, asked.post_side_in, " in"),
        ("bolts", found.bolts, asked.bolts, ""),
        ("bolt diameter", found.bolt_in, asked.bolt_in, " in"),
        ("upper bolt below the top of the rim", found.upper_bolt_from_top_in, asked.upper_bolt_from_top_in, " in"),
        ("hold-down", found.hold_down_lb, asked.hold_down_lb, " lb"),
        ("adjusted bending value", found.fb_psi, asked.fb_psi, " psi"),
    )
    short += [f"{what} {has:g}{unit}, {least:g}{unit} asked" for what, has, least, unit in rows if has < least - 1e-6]
    return tuple(short)


def bolts_on_washers(
    demand: GuardPostDemand, *, washer_in: float, hole_in: float, fc_perp_adjusted_psi: float, bolts_in_row: int = 1
) -> Comparison:
    """Compare the pull with the bearing of round washers across the grain, lb.

    This is the bearing of the washer alone. It says nothing about the rim being peeled off the joists: for that see
    `by_test`. Raises OutOfRange for a washer no wider than its hole. Source: NDS 3.10.2, without a bearing area factor.
    """
    require_positive(washer_in=washer_in, hole_in=hole_in, fc_perp_adjusted_psi=fc_perp_adjusted_psi)
    if bolts_in_row < 1:
        raise OutOfRange("bolts_in_row", bolts_in_row, "one or more")
    if washer_in <= hole_in:
        raise OutOfRange("washer_in", washer_in, f"wider than its hole, {hole_in:g} in")
    area = Step("A", "pi / 4 * (od**2 - hole**2)", {"od": washer_in, "hole": hole_in},
                _ring_in2(washer_in, hole_in), "in2", "geometry")  # fmt: skip
    value = area.value * fc_perp_adjusted_psi * bolts_in_row
    inputs = {"A": area.value, "Fc_perp": fc_perp_adjusted_psi, "n": float(bolts_in_row)}
    bearing = Step("R", "A * Fc_perp * n", inputs, value, "lb", "NDS 3.10.2")
    assumptions = (*demand.assumptions, "the rim itself is held to the joists by other means")
    steps = (*demand.steps, area, bearing)
    return Comparison(
        demand.bolt_tension_lb, value, "lb", "washer bearing", steps, assumptions, "NDS 3.10.2; " + GUARD_LOAD
    )


def _ring_in2(outer_in: float, inner_in: float) -> float:
    return 3.141592653589793 / 4 * (outer_in**2 - inner_in**2)


def lags_in_withdrawal(
    demand: GuardPostDemand, capacity: Adjusted, thread_in: float, lags_in_row: int = 1
) -> Comparison:
    """Compare the pull with lag screws drawn out of the rim, lb; `thread_in` is thread in the rim without the tip."""
    require_positive(thread_in=thread_in)
    if capacity.unit != "lb/in":
        raise OutOfRange("capacity", capacity.unit, "a withdrawal value in lb per inch")
    if lags_in_row < 1:
        raise OutOfRange("lags_in_row", lags_in_row, "one or more")
    value = capacity.value * thread_in * lags_in_row
    inputs = {"W": capacity.value, "p": thread_in, "n": float(lags_in_row)}
    pull = Step("R", "W * p * n", inputs, value, "lb", "NDS 12.2.1")
    steps = (*demand.steps, *capacity.steps, pull)
    assumptions = (*demand.assumptions, *capacity.assumptions)
    return Comparison(
        demand.bolt_tension_lb, value, "lb", "withdrawal", steps, assumptions, "NDS 12.2.1; " + GUARD_LOAD
    )


def bolts_in_shear(demand: GuardPostDemand, capacity: Adjusted, bolts: int) -> Comparison:
    """Compare a downward push with the lateral value of all bolts of the post, lb."""
    if capacity.unit != "lb":
        raise OutOfRange("capacity", capacity.unit, "a lateral value in lb")
    if bolts < 1:
        raise OutOfRange("bolts", bolts, "one or more")
    value = capacity.value * bolts
    total = Step("R", "Z * n", {"Z": capacity.value, "n": float(bolts)}, value, "lb", "NDS 12.3")
    steps = (*demand.steps, *capacity.steps, total)
    assumptions = (*demand.assumptions, *capacity.assumptions)
    return Comparison(demand.bolt_shear_lb, value, "lb", "lateral", steps, assumptions, "NDS 12.3; " + GUARD_LOAD)


def by_test(attachment: str, load_lb: float = 200.0, test_factor: float = 2.5, height_in: float = 36.0) -> Comparison:
    """Compare the load a tested guard must reach with the mean load at which tested posts of this kind failed, lb.

    A witness beside the statics: bolts that are strong enough do not help where the rim comes off the joists. The tests
    were of 36 in guards, in 2x8 southern pine, five each.

    Raises NotPublished for an attachment that was not in the tests, OutOfRange for a guard higher than the tested.
    """
    require_positive(load_lb=load_lb, test_factor=test_factor, height_in=height_in)
    if height_in > 36:
        raise OutOfRange("height_in", height_in, "up to 36 in, the height of the tested guards")
    table = load("guard_post_tests")
    for row in table.rows:
        if row["attachment"] == attachment:
            mean_lb = float(str(row["mean_lb"]))
            asked = Step("P_test", "f * P", {"f": test_factor, "P": load_lb}, test_factor * load_lb, "lb",
                         "IBC load test; ICC-ES AC273")  # fmt: skip
            note = f"mean of {row['samples']} tests; {row['failed_by']}"
            mean = Step("P_mean", "P", {"P": mean_lb}, mean_lb, "lb", table.source, note)
            return Comparison(asked.value, mean_lb, "lb", "tested posts", (asked, mean), (note,), table.source)
    raise NotPublished(f"no test is on record for guard posts held by: {attachment}")
