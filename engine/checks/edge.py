"""Checks of the guards along an edge: needed, high enough, close enough, and held against a push."""

from __future__ import annotations

from engine import guard_infill, guards
from engine.checks.common import lumber_of, rule_of
from engine.checks.registry import Result, at_least, check, yes_no
from engine.errors import NotPublished
from engine.facts import CannotJudge, DeckView, PartView
from engine.fasteners import Adjusted, Fastener, Geometry, Part, adjusted_lateral, geometry_factor, lateral
from engine.lumber import adjusted_values, design_values
from engine.results import Method
from engine.sections import find_size
from engine.vocabulary import Link

BOLTED = (
    "bolts with a hold-down tension device", "bolts through rim and blocking", "bolts through the rim only",
)  # fmt: skip


def drop_in(guard: PartView, deck: DeckView) -> float:
    """The drop beside a guard: as measured, else the height of its level."""
    if not guard.is_recorded("drop_in") and (level := guard.refers_to("level")) and level.is_recorded("height_in"):
        deck.run.assume(f"drop at {guard.subject} not recorded: the height of {level.subject} taken")
        return level.number("height_in")
    return guard.number("drop_in")


def is_needed(guard: PartView, deck: DeckView) -> bool:
    """Whether the edge must have a guard."""
    return guard_infill.needs_guard(drop_in(guard, deck), rule_of(deck, "guard.required_drop").value)


@check(each="guard", id="guard.present", link=Link.EDGE, title="A guard where the drop asks for one",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def present(guard: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "guard.required_drop")
    if not is_needed(guard, deck):
        return None
    beside = f"a drop of {drop_in(guard, deck):g} in, more than {rule.value:g} in"
    there = guard.flag("is_present")
    return yes_no(there, rule.citation, f"{'a' if there else 'no'} guard at {beside}")


@check(each="level", id="guard.recorded", link=Link.EDGE, title="Guards recorded around a high level",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def recorded(level: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "guard.required_drop")
    if level.parts("guard") or not guard_infill.needs_guard(level.number("height_in"), rule.value):
        return None
    raise CannotJudge(
        f"{level.subject} is {level.number('height_in'):g} in above the ground and no guard is recorded",
        f"walk the edges of {level.subject}: guard, height, openings, posts",
    )


def stands(guard: PartView, deck: DeckView) -> bool:
    """Whether there is a guard and there must be one."""
    return guard.flag("is_present") and is_needed(guard, deck)


@check(each="guard", id="guard.height", link=Link.EDGE, title="Height of the guard", method=Method.PRESCRIPTIVE)
def height(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck):
        return None
    rule = rule_of(deck, "guard.min_height" if guard.refers_to("stair") is None else "guard.min_height_stair_side")
    return guard_infill.guard_height(guard.number("height_in"), rule.value, rule.citation)


@check(each="guard", id="guard.opening", link=Link.EDGE, title="Openings of the guard", method=Method.PRESCRIPTIVE)
def opening(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck):
        return None
    rule = rule_of(deck, "guard.opening_sphere" if guard.refers_to("stair") is None else "guard.opening_stair_side")
    return guard_infill.opening(guard.number("largest_opening_in"), rule.value, "infill", rule.citation)


@check(each="guard", id="guard.bottom_gap", link=Link.EDGE, title="Gap under the guard", method=Method.PRESCRIPTIVE)
def bottom_gap(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck):
        return None
    stair = guard.refers_to("stair")
    rule = rule_of(deck, "guard.opening_sphere" if stair is None else "guard.opening_stair_triangle")
    where = "bottom gap" if stair is None else "triangle at the treads"
    return guard_infill.opening(guard.number("bottom_gap_in"), rule.value, where, rule.citation)


@check(each="guard", id="guard.post_spacing", link=Link.EDGE, title="Distance of the guard posts",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def post_spacing(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck):
        return None
    rule = rule_of(deck, "guard_post.max_spacing")
    return guard_infill.post_spacing(guard.number("post_spacing_in"), rule.value, rule.citation)


@check(each="guard", id="guard.post_notch", link=Link.EDGE, title="Guard posts whole at the frame",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def post_notch(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck):
        return None
    rule, notch_in = rule_of(deck, "guard_post.notch_allowed"), guard.number("post_notch_in")
    return yes_no(
        not notch_in or bool(rule.value), rule.citation, f"notched {notch_in:g} in" if notch_in else "not notched"
    )


@check(each="guard", id="guard.rim", link=Link.EDGE, title="Rim deep enough to hold guard posts",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def rim(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck) or guard.text("attachment") == "bracket on the surface":
        return None
    rule = rule_of(deck, "joist.rim_min_where_guards")
    return at_least(find_size(guard.text("rim_size")).depth_in, rule.value, "in", rule.citation, "rim depth")


def demand(guard: PartView, deck: DeckView, direction: str) -> guards.GuardPostDemand:
    """What 200 lb at the top does to one post of a guard; the decking is taken as 1 in thick."""
    lumber = lumber_of(guard, deck, size="post_size")
    deck.run.assume(f"{guard.subject}: 1 in of decking between the surface and the top of the rim")
    return guards.guard_post_demand(
        guard.number("height_in"),
        upper_bolt_below_rim_top_in=guard.number("upper_bolt_from_top_in"),
        bolt_spacing_in=guard.number("bolt_spacing_in"),
        rim_depth_in=find_size(guard.text("rim_size")).depth_in,
        post_width_in=lumber.width_in,
        post_depth_in=lumber.depth_in,
        notch_in=guard.number("post_notch_in"),
        bolt_hole_in=guard.number("bolt_diameter_in") + 1 / 16,
        load_lb=rule_of(deck, "load.guard_concentrated").value,
        direction=direction,
    )


@check(each="guard", id="guard.post_bending", link=Link.EDGE, title="Guard post bending under a push",
       twin="guard.post_detail", why_apart="the calculation takes the bolt's hole out of the post; the detail asks for"
       " a bending value that the whole section needs for a guard 36 in high")  # fmt: skip
def post_bending(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck) or guard.text("attachment") not in (*BOLTED, "lag screws"):
        return None
    deck.run.assume("load duration factor 1.0 taken for the push on a guard, on the safe side (NDS Table 2.3.2)")
    lumber = lumber_of(guard, deck, size="post_size")
    return guards.post_bending(demand(guard, deck, "outward"), adjusted_values(lumber).fb)


def _pull(guard: PartView, deck: DeckView, direction: str) -> Result:
    if not stands(guard, deck):
        return None
    held = guard.text("attachment")
    if held == "bracket on the surface":
        raise CannotJudge(
            "a bracket on the surface holds what its maker rates it for", "find the bracket's maker and rating"
        )
    pulled = demand(guard, deck, direction) if held != "nails or screws" else None
    if held == "bolts with a hold-down tension device" and pulled is not None:
        return guards.hold_down(pulled, guard.number("hold_down_rated_lb"))
    if pulled is None:
        return yes_no(False, "IRC Table R301.5 note d", "nails or screws make no couple against a push at the top")
    raise CannotJudge(
        f"a push {direction} pulls {pulled.bolt_tension_lb:.0f} lb on a row of fasteners; what {held} hold against"
        " that depends on the rim being tied back, which has no rated capacity",
        f"look under the deck at how the rim is tied back at {guard.subject}, or add a hold-down tension device",
    )


@check(each="guard", id="guard.pull_outward", link=Link.EDGE, title="Pull on the upper bolts under an outward push",
       twin="guard.tested", why_apart="the statics take the device alone; the tested rims were tied back")  # fmt: skip
def pull_outward(guard: PartView, deck: DeckView) -> Result:
    return _pull(guard, deck, "outward")


@check(each="guard", id="guard.pull_inward", link=Link.EDGE, title="Pull on the lower bolts under an inward push")
def pull_inward(guard: PartView, deck: DeckView) -> Result:
    return _pull(guard, deck, "inward")


@check(each="guard", id="guard.push_down", link=Link.EDGE, title="Bolts of a guard post under a downward push")
def push_down(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck) or guard.text("attachment") not in BOLTED:
        return None
    return guards.bolts_in_shear(demand(guard, deck, "downward"), bolt_value(guard, deck), guard.count("bolts"))


def bolt_value(guard: PartView, deck: DeckView) -> Adjusted:
    """Adjusted lateral value of one bolt (lb): along the grain of the post, across the grain of the rim."""
    lumber = lumber_of(guard, deck, size="post_size")
    gravity = design_values(lumber).specific_gravity
    rim_in = find_size(guard.text("rim_size")).width_in
    deck.run.assume(f"rim behind {guard.subject} taken as the species of its posts")
    diameter_in, apart_in = guard.number("bolt_diameter_in"), guard.number("bolt_spacing_in")
    z = lateral(
        Fastener("bolt", diameter_in),
        main=Part(gravity, lumber.depth_in - guard.number("post_notch_in"), 0),
        side=Part(gravity, rim_in, 90),
    )
    return adjusted_lateral(z, wet=lumber.wet, geometry=_bolts_in_rim(guard, diameter_in, apart_in))


def _bolts_in_rim(guard: PartView, diameter_in: float, apart_in: float) -> Geometry:
    """Geometry factor of the bolts in the rim: pushed down, they press it towards its lower edge."""
    top_in, rim_in = guard.number("upper_bolt_from_top_in"), find_size(guard.text("rim_size")).depth_in
    return geometry_factor(
        diameter_in,
        direction="perpendicular",
        row_spacing_in=apart_in,
        edge_distance_in=max(0.0, rim_in - top_in - apart_in),
        unloaded_edge_distance_in=top_in,
    )


@check(each="guard", id="guard.rail", link=Link.EDGE, title="Top rail between its posts")
def rail(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck) or not guard.is_recorded("rail_size"):
        return None
    lumber = lumber_of(guard, deck, size="rail_size")
    lies = guard.text("rail_lies")
    deck.run.assume(f"the top rail lies {lies}: it bends about its weak axis under a load {_weak(lies)}")
    values = adjusted_values(lumber)
    section_in3 = min(lumber.s_xx_in3, lumber.s_yy_in3)
    load_lb = rule_of(deck, "load.guard_concentrated").value
    return guard_infill.rail_bending(guard.number("post_spacing_in"), section_in3, values.fb, load_lb)


def _weak(lies: str) -> str:
    return "from above" if lies == "flat" else "from the side"


def as_detailed_in(guard: PartView, deck: DeckView) -> float:
    """Height of a guard (in) to enter the published detail and the tests with; a hair above 36 in is 36 in."""
    height_in = guard.number("height_in")
    most_in, slack_in = (rule_of(deck, f"guard_post.{name}").value for name in ("detail_max_height", "height_slack"))
    if not most_in < height_in <= most_in + slack_in:
        return height_in
    deck.run.assume(f"a guard {height_in:g} in high taken as the {most_in:g} in of the detail and the tests")
    return most_in


@check(each="guard", id="guard.tested", link=Link.EDGE, title="Guard posts of this kind under test",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def tested(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck):
        return None
    held = guard.text("attachment")
    load, factor = rule_of(deck, "load.guard_concentrated"), rule_of(deck, "load.guard_test_factor")
    try:
        return guards.by_test(held, load.value, factor.value, as_detailed_in(guard, deck))
    except NotPublished as error:
        raise CannotJudge(str(error), f"have the guard of {guard.subject} tested or designed") from error
