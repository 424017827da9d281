"""Checks of what a guard is made of: the published post detail, washers under its bolts, balusters."""

from __future__ import annotations

from engine import guard_infill, guards
from engine.checks.common import CUT_WASHER, is_wet, lumber_of, rests_on_row, rule_of
from engine.checks.edge import BOLTED, as_detailed_in, demand, stands
from engine.checks.registry import Result, check, yes_no
from engine.errors import OutOfRange
from engine.facts import CannotJudge, DeckView, PartView
from engine.fasteners import (
    Adjusted,
    Fastener,
    Part,
    adjusted_lateral,
    adjusted_withdrawal,
    driven_into,
    lateral,
    over_length,
    withdrawal,
)
from engine.lumber import Lumber, adjusted_values, design_values
from engine.results import Method
from engine.sections import find_size
from engine.vocabulary import Link
from engine.washers import washer_size

HELD_DOWN = "bolts with a hold-down tension device"
DETAIL = "DCA 6-2012 guard post attachments, Figures 24-25"


def _asked(deck: DeckView) -> guards.PostDetail:
    def least(name: str) -> float:
        return rule_of(deck, f"guard_post.{name}").value

    return guards.PostDetail(
        post_side_in=least("min_size"),
        bolts=int(least("bolts")),
        bolt_in=least("bolt_diameter"),
        upper_bolt_from_top_in=least("bolt_edge_top_min"),
        hold_down_lb=least("holddown_min_tension"),
        fb_psi=least("min_fb"),
        most_height_in=least("detail_max_height"),
    )


@check(each="guard", id="guard.post_detail", link=Link.EDGE, title="Guard posts by the published detail",
       method=Method.PRESCRIPTIVE, citation=DETAIL)  # fmt: skip
def post_detail(guard: PartView, deck: DeckView) -> Result:
    """Posts with a hold-down only: other ways of fastening are not in the detail, and load tests speak for them."""
    if not stands(guard, deck) or guard.text("attachment") != HELD_DOWN:
        return None
    lumber = lumber_of(guard, deck, size="post_size")
    if guard.text("post_size") != "4x4":
        deck.run.assume("a post larger than a 4x4 counts by its bending strength, as a 4x4 of a higher value")
    found = guards.PostDetail(
        post_side_in=min(lumber.width_in, lumber.depth_in),
        bolts=guard.count("bolts"),
        bolt_in=guard.number("bolt_diameter_in"),
        upper_bolt_from_top_in=guard.number("upper_bolt_from_top_in"),
        hold_down_lb=guard.number("hold_down_rated_lb"),
        fb_psi=_fb_as_4x4_psi(lumber),
        most_height_in=as_detailed_in(guard, deck),
    )
    try:
        short = guards.short_of_detail(_asked(deck), found, guard.number("post_notch_in"))
    except OutOfRange as error:
        raise CannotJudge(
            f"the published detail is for guards up to {_asked(deck).most_height_in:g} in high; this one is"
            f" {found.most_height_in:g} in, and the pull on its post grows with its height",
            "judge by the calculation beside this check, or have the guard tested or designed",
        ) from error
    return yes_no(not short, DETAIL, "; ".join(short) or "post, bolts, hold-down and wood as the detail asks")


def _fb_as_4x4_psi(lumber: Lumber) -> float:
    """Adjusted bending value (psi) that a whole 4x4 would need to be as strong as this post."""
    asked_for = find_size("4x4")
    return adjusted_values(lumber).fb * lumber.s_xx_in3 / (asked_for.width_in * asked_for.depth_in**2 / 6)


@check(each="guard", id="guard.washers", link=Link.EDGE, title="Washers under the bolts of the guard posts",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def washers(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck) or guard.text("attachment") not in BOLTED or not guard.has("washer_in"):
        return None
    bolt_in = guard.number("bolt_diameter_in")
    rests_on_row(deck, CUT_WASHER, "cut_washers", "bolt_in", bolt_in)
    return washer_size(guard.number("washer_in"), bolt_in)


@check(each="guard", id="guard.washer_bearing", link=Link.EDGE, title="Washers pressed into the guard post",
       twin="guard.post_detail", why_apart="the value across the grain stands for a dent of 0.04 in, not for breaking"
       " (NDS 4.2.6); the detail asks for washers and gives no size")  # fmt: skip
def washer_bearing(guard: PartView, deck: DeckView) -> Result:
    if not stands(guard, deck) or guard.text("attachment") not in BOLTED or not guard.has("washer_in"):
        return None
    washer_in, bolt_in, bolts = guard.number("washer_in"), guard.number("bolt_diameter_in"), guard.count("bolts")
    hole_in = bolt_in + 1 / 16
    if washer_in <= hole_in:
        return yes_no(False, "NDS 12.1.3.3", "no washer that is wider than its hole")
    if bolts < 2:
        raise CannotJudge("one bolt makes no couple", f"count the bolts of the posts of {guard.subject}")
    lumber = lumber_of(guard, deck, size="post_size")
    deck.run.assume("half of the bolts stand in the upper row; the washers are round")
    return guards.bolts_on_washers(
        demand(guard, deck, "outward"), washer_in=washer_in, hole_in=hole_in,
        fc_perp_adjusted_psi=adjusted_values(lumber).fc_perp, bolts_in_row=bolts // 2,
    )  # fmt: skip


def _baluster(guard: PartView, deck: DeckView) -> Lumber | None:
    """A wood baluster of the species and grade of the guard; None where none was recorded."""
    if not stands(guard, deck) or not guard.has("baluster_size"):
        return None
    deck.run.assume(f"balusters of {guard.subject} taken as the species and grade of its posts")
    return lumber_of(guard, deck, size="baluster_size")


@check(
    each="guard", id="guard.baluster_bending", link=Link.EDGE, title="Balusters in bending under a push on the infill"
)
def baluster_bending(guard: PartView, deck: DeckView) -> Result:
    lumber = _baluster(guard, deck)
    if lumber is None:
        return None
    load = rule_of(deck, "load.guard_infill").value
    return guard_infill.baluster_bending(
        guard.number("baluster_length_in"), guard.number("baluster_spacing_in"), min(lumber.s_xx_in3, lumber.s_yy_in3),
        adjusted_values(lumber).fb, load, rule_of(deck, "load.guard_infill_area").value ** 0.5,
    )  # fmt: skip


@check(each="guard", id="guard.baluster_fastening", link=Link.EDGE, title="What holds the balusters to their rails")
def baluster_fastening(guard: PartView, deck: DeckView) -> Result:
    """Balusters on the outside of their rails, pushed outward: nails and screws are drawn out of the rail."""
    lumber = _baluster(guard, deck)
    if lumber is None or not guard.has("baluster_fasteners"):
        return None
    if guard.count("baluster_fasteners") == 0:
        return yes_no(False, "IRC Table R301.5 note f", "no fastener holds the balusters")
    deck.run.assume("balusters on the outer face of their rails; what is pushed outward draws its fasteners")
    return guard_infill.baluster_fastening(
        guard.number("baluster_length_in"), guard.number("baluster_spacing_in"), _drawn_lb(guard, deck, lumber),
        guard.count("baluster_fasteners"), rule_of(deck, "load.guard_infill").value,
        rule_of(deck, "load.guard_infill_area").value ** 0.5,
    )  # fmt: skip


def _drawn_lb(guard: PartView, deck: DeckView, baluster: Lumber) -> Adjusted:
    """Adjusted withdrawal value of one baluster fastener out of the rail, lb."""
    kind, diameter_in = guard.text("baluster_fastener"), guard.number("baluster_fastener_diameter_in")
    thick_in = min(baluster.width_in, baluster.depth_in)
    length_in = guard.number("baluster_fastener_length_in")
    reach_in = min(length_in - thick_in, find_size("2x4").width_in)
    if reach_in <= 0:
        raise OutOfRange(
            "baluster_fastener_length_in", length_in, f"long enough to pass {thick_in:g} in and hold beyond"
        )
    deck.run.assume("rails 1-1/2 in thick where the balusters are fastened")
    one = withdrawal(Fastener(kind, diameter_in, length_in=length_in), design_values(baluster).specific_gravity)
    if kind == "wood screw":  # two thirds of a wood screw is thread (NDS Table L3)
        reach_in = min(reach_in, 2 / 3 * length_in)
    return over_length(adjusted_withdrawal(one, wet=is_wet(guard, deck)), reach_in)


@check(each="guard", id="guard.rail_end", link=Link.EDGE, title="Ends of the top rail at their posts")
def rail_end(guard: PartView, deck: DeckView) -> Result:
    """A load beside the post goes through the fasteners of one rail end; the rail is nailed or screwed to the post."""
    if not stands(guard, deck) or not guard.has("rail_fasteners"):
        return None
    if guard.count("rail_fasteners") == 0:
        return yes_no(False, "IRC Table R301.5 note d", "no fastener holds the ends of the top rail")
    post = lumber_of(guard, deck, size="post_size")
    rail_in = lumber_of(guard, deck, size="rail_size").width_in
    kind, diameter_in = guard.text("rail_fastener"), guard.number("rail_fastener_diameter_in")
    fastener = Fastener(kind, diameter_in, length_in=guard.number("rail_fastener_length_in"))
    gravity = design_values(post).specific_gravity
    deck.run.assume("the rail's fasteners go through its thickness into the side grain of the post, and are sheared")
    main = driven_into(fastener, gravity, 90, rail_in, post.depth_in)
    bare = lateral(fastener, main, Part(gravity, rail_in, 90))
    one = adjusted_lateral(bare, wet=is_wet(guard, deck))
    return guard_infill.rail_end(one, guard.count("rail_fasteners"), rule_of(deck, "load.guard_concentrated").value)
