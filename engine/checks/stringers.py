"""Checks of what carries the stairs: the stringers, by the wood their cuts have left, and how they hang."""

from __future__ import annotations

from dataclasses import replace

from engine import stair_framing
from engine.checks.common import is_incised, is_wet, loads_of, rule_of
from engine.checks.registry import Result, at_least, at_most, check, yes_no
from engine.errors import require_positive
from engine.facts import CannotJudge, DeckView, PartView
from engine.loads import Loads
from engine.lumber import DesignValues, Lumber, adjusted_values
from engine.results import Method
from engine.vocabulary import Link

APART = "the published span is for one cut of a 2x12 on short spacing; the calculation takes the wood that was measured"


def carried(stair: PartView, deck: DeckView) -> stair_framing.StringerLoad:
    """What one stringer carries: the stair's own live load, or one loaded tread."""
    count = stair.count("stringer_count")
    if count >= 3 or stair.is_recorded("stringer_spacing_in"):
        tributary_in = stair.number("stringer_spacing_in")
    else:
        tributary_in = stair.number("width_in") / 2
    tributary_in = tributary_in if count >= 3 else max(tributary_in, stair.number("width_in") / 2)
    loads = loads_of(deck)
    stair_loads = Loads(live=rule_of(deck, "load.stair_live").value, dead=loads.dead, snow=loads.snow)
    tread_lb = rule_of(deck, "load.stair_tread_concentrated").value
    return stair_framing.stringer_load(stair.number("stringer_span_in"), tributary_in, stair_loads, tread_lb)


def wood(stair: PartView, deck: DeckView) -> DesignValues:
    """Adjusted values of a stringer, cut from a 2x12."""
    species = stair.text("species")
    count = stair.count("stringer_count")
    deck.run.assume(f"stringers of {stair.subject} taken as cut from 2x12 (common practice, no published source)")
    lumber = Lumber(
        species, stair.text("grade"), "2x12", wet=is_wet(stair, deck), incised=is_incised(stair, deck, species),
        repetitive=count >= 3,
    )  # fmt: skip
    return adjusted_values(lumber)


def section_in(stair: PartView, deck: DeckView) -> tuple[float, float]:
    """Thickness and sound depth of one stringer (in): soft wood is taken off both sides and the lower edge."""
    decay_in = stair.number("decay_depth_in")
    width_in = stair.number("stringer_thickness_in") - 2 * decay_in
    throat_in = stair.number("throat_in") - decay_in
    if width_in <= 0 or throat_in <= 0:
        raise CannotJudge("nothing sound is left of the stringer", f"replace the stringers of {stair.subject}")
    return width_in, throat_in


@check(each="stair", id="stringer.bending", link=Link.WAY_UP, title="Stringer in bending", twin="stringer.span_rule",
       why_apart=APART)  # fmt: skip
def bending(stair: PartView, deck: DeckView) -> Result:
    return stair_framing.stringer_bending(carried(stair, deck), *section_in(stair, deck), wood(stair, deck).fb)


@check(each="stair", id="stringer.shear", link=Link.WAY_UP, title="Stringer in shear", twin="stringer.span_rule",
       why_apart=APART)  # fmt: skip
def shear(stair: PartView, deck: DeckView) -> Result:
    return stair_framing.stringer_shear(carried(stair, deck), *section_in(stair, deck), wood(stair, deck).fv)


@check(each="stair", id="stringer.span_rule", link=Link.WAY_UP, title="Span of the stringers by the published detail",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def span_rule(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, f"stringer.{stair.text('stringer')}_max_span")
    return at_most(stair.number("stringer_span_in"), rule.value, "in", rule.citation, "span")


@check(each="stair", id="stringer.spacing", link=Link.WAY_UP, title="Spacing of the stringers",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def spacing(stair: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, f"stringer.{stair.text('stringer')}_max_spacing")
    return at_most(stair.number("stringer_spacing_in"), rule.value, "in", rule.citation, "spacing")


@check(each="stair", id="stringer.throat", link=Link.WAY_UP, title="Wood left below the cuts",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def throat(stair: PartView, deck: DeckView) -> Result:
    if stair.text("stringer") != "cut":
        return None
    rule = rule_of(deck, "stringer.min_throat")
    return at_least(stair.number("throat_in"), rule.value, "in", rule.citation, "throat")


@check(each="stair", id="stringer.top", link=Link.WAY_UP, title="Top of the stringers", method=Method.PRESCRIPTIVE,
       citation="DCA 6-2012 stair details")  # fmt: skip
def top(stair: PartView, deck: DeckView) -> Result:
    held = stair.text("top_held_by")
    deck.run.rests_on_memory(
        "stringers hang in hangers or rest on a ledger strip (DCA 6-2012 stair details)", "stringer.top_held"
    )
    good = held in ("stringer hanger", "resting on a ledger strip")
    return yes_no(good, "DCA 6-2012 stair details", f"held by: {held}")


@check(each="stair", id="stringer.hanger", link=Link.WAY_UP, title="Hanger at the top of the stringers")
def hanger(stair: PartView, deck: DeckView) -> Result:
    if stair.text("top_held_by") != "stringer hanger":
        return None
    return stair_framing.stringer_hanger(carried(stair, deck), stair.number("top_hanger_rated_lb"))


@check(each="stair", id="stringer.bearing", link=Link.WAY_UP, title="Stringer bearing across its grain")
def bearing(stair: PartView, deck: DeckView) -> Result:
    bearing_in = stair.number("stringer_bearing_in")
    require_positive(bearing_in=bearing_in)
    width_in, _ = section_in(stair, deck)
    found = stair_framing.stringer_bearing(carried(stair, deck), width_in, bearing_in, wood(stair, deck).fc_perp)
    if found.ratio > 1 and not stair.is_recorded("stringer_bearing_in"):
        stair.not_recorded("stringer_bearing_in")  # nothing is condemned on a length that nobody measured
    return found


@check(each="stair", id="stringer.bearing_length", link=Link.WAY_UP, title="Length of bearing of the stringers",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def bearing_length(stair: PartView, deck: DeckView) -> Result:
    if not stair.is_recorded("stringer_bearing_in"):
        return None
    rule = rule_of(deck, "bearing.wood_or_metal")
    deck.run.assume("a stringer bears like a joist: the guides give no length of its own for it")
    return at_least(stair.number("stringer_bearing_in"), rule.value, "in", rule.citation, "bearing")


def _tread(stair: PartView, deck: DeckView) -> tuple[float, Lumber] | None:
    """Span of a tread between stringers (in) and its board, lying flat; None where the board was not recorded."""
    if not stair.has("tread_size"):
        return None
    species = stair.text("species")
    deck.run.assume(f"treads of {stair.subject} taken as the species and grade of its stringers")
    lumber = Lumber(
        species, stair.text("grade"), stair.text("tread_size"), wet=is_wet(stair, deck),
        incised=is_incised(stair, deck, species), repetitive=False,
    )  # fmt: skip
    span_in = stair.number("stringer_spacing_in")
    deck.run.assume("span of a tread from the middle of one stringer to the middle of the next")
    return span_in, lumber


@check(each="stair", id="tread.bending", link=Link.WAY_UP, title="Treads in bending under one foot")
def tread_bending(stair: PartView, deck: DeckView) -> Result:
    found = _tread(stair, deck)
    if found is None:
        return None
    span_in, lumber = found
    load_lb = rule_of(deck, "load.stair_tread_concentrated").value
    values = adjusted_values(lumber, members=1, flat_use=True)
    return stair_framing.tread_bending(span_in, lumber.depth_in, lumber.width_in, values.fb, load_lb)


@check(each="stair", id="tread.deflection", link=Link.WAY_UP, title="Treads giving under one foot",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def tread_deflection(stair: PartView, deck: DeckView) -> Result:
    found = _tread(stair, deck)
    if found is None:
        return None
    span_in, lumber = found
    rule = rule_of(deck, "stringer.tread_deflection_limit")
    load_lb = rule_of(deck, "load.stair_tread_concentrated").value
    e_psi = adjusted_values(lumber, members=1, flat_use=True).e
    bent = stair_framing.tread_deflection(span_in, lumber.depth_in, lumber.width_in, e_psi, rule.value, load_lb)
    return replace(bent, citation=rule.citation)
