"""Checks of the stairs: what a foot and a hand rely on."""

from __future__ import annotations

from engine import stairs
from engine.checks.common import rule_of
from engine.checks.registry import Result, check, yes_no
from engine.facts import DeckView, PartView
from engine.results import Method
from engine.vocabulary import Link


@check(each="stair", id="stair.risers", link=Link.WAY_UP, title="Height of the risers", method=Method.PRESCRIPTIVE)
def risers(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "stair.max_riser")
    return stairs.riser_heights(stair.numbers("risers_in"), rule.value, rule.citation)


@check(each="stair", id="stair.risers_alike", link=Link.WAY_UP, title="Risers alike", method=Method.PRESCRIPTIVE)
def risers_alike(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "stair.uniformity")
    return stairs.uniformity(stair.numbers("risers_in"), rule.value, "riser", rule.citation)


@check(each="stair", id="stair.treads", link=Link.WAY_UP, title="Depth of the treads", method=Method.PRESCRIPTIVE)
def treads(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "stair.min_tread")
    return stairs.tread_depths(stair.numbers("treads_in"), rule.value, rule.citation)


@check(each="stair", id="stair.treads_alike", link=Link.WAY_UP, title="Treads alike", method=Method.PRESCRIPTIVE)
def treads_alike(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "stair.uniformity")
    return stairs.uniformity(stair.numbers("treads_in"), rule.value, "tread", rule.citation)


@check(each="stair", id="stair.width", link=Link.WAY_UP, title="Clear width of the stair", method=Method.PRESCRIPTIVE)
def width(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "stair.min_clear_width")
    return stairs.clear_width(stair.number("width_in"), rule.value, rule.citation)


@check(each="stair", id="stair.riser_opening", link=Link.WAY_UP, title="Openings between the treads",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def riser_opening(stair: PartView, deck: DeckView) -> Result:
    drop = rule_of(deck, "guard.required_drop").value
    if sum(stair.numbers("risers_in")) <= drop:
        return None  # the rule asks for it only where the tread is more than 30 in above the ground (IRC R311.7.5.1)
    rule = rule_of(deck, "stair.open_riser_sphere")
    return stairs.open_riser(stair.number("riser_opening_in"), rule.value, rule.citation)


@check(each="stair", id="stair.headroom", link=Link.WAY_UP, title="Headroom over the stair", method=Method.PRESCRIPTIVE)
def headroom(stair: PartView, deck: DeckView) -> Result:
    if not stair.is_recorded("headroom_in"):
        return None  # most deck stairs run under the open sky
    rule = rule_of(deck, "stair.min_headroom")
    return stairs.headroom(stair.number("headroom_in"), rule.value, rule.citation)


@check(each="stair", id="stair.flight", link=Link.WAY_UP, title="Rise of one flight", method=Method.PRESCRIPTIVE)
def flight(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "stair.max_flight_rise_2015")
    return stairs.flight_rise(stair.numbers("risers_in"), rule.value, rule.citation)


def _needs_handrail(stair: PartView, deck: DeckView) -> bool:
    trigger = rule_of(deck, "handrail.risers_trigger")
    return stairs.needs_handrail(len(stair.numbers("risers_in")), int(trigger.value))


@check(each="stair", id="stair.handrail", link=Link.WAY_UP, title="A handrail", method=Method.PRESCRIPTIVE)
def handrail(stair: PartView, deck: DeckView) -> Result:
    if not _needs_handrail(stair, deck):
        return None
    rule, found = rule_of(deck, "handrail.risers_trigger"), stair.text("handrail")
    count = len(stair.numbers("risers_in"))
    return yes_no(found != "none", rule.citation, f"handrail on {found}, {count} risers" if found != "none" else
                  f"no handrail, {count} risers")  # fmt: skip


@check(each="stair", id="stair.handrail_height", link=Link.WAY_UP, title="Height of the handrail",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def handrail_height(stair: PartView, deck: DeckView) -> Result:
    if not _needs_handrail(stair, deck) or stair.text("handrail") == "none":
        return None
    least, most = rule_of(deck, "handrail.min_height"), rule_of(deck, "handrail.max_height")
    both = stairs.handrail_height(stair.number("handrail_height_in"), least.value, most.value, least.citation)
    return max(both, key=lambda each: each.ratio)


@check(each="stair", id="stair.handrail_grip", link=Link.WAY_UP, title="A handrail that can be gripped",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def handrail_grip(stair: PartView, deck: DeckView) -> Result:
    if not _needs_handrail(stair, deck) or stair.text("handrail") == "none":
        return None
    rule, gripped = rule_of(deck, "handrail.round_max"), stair.flag("can_be_gripped")
    return yes_no(gripped, rule.citation, f"a hand {'closes' if gripped else 'does not close'} around the rail")
