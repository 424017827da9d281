"""Checks of the house end of the joists: the hanger's rating, or what stands in for it."""

from __future__ import annotations

from engine import hangers
from engine.checks.common import is_wet, loads_of, lumber_of, rests_on_row, rule_of
from engine.checks.joists import joist_lumber, spacing_in
from engine.checks.registry import Result, at_least, check, yes_no
from engine.errors import require_positive
from engine.facts import CannotJudge, DeckView, PartView
from engine.fasteners import (
    Adjusted,
    Fastener,
    Part,
    adjusted_lateral,
    driven_into,
    lateral,
    toe_nail_lengths_in,
)
from engine.lumber import adjusted_values, design_values
from engine.results import Method, Step
from engine.sections import find_size
from engine.vocabulary import Link

HANGER, STRIP, NAILS = "joist hanger", "ledger strip", "nails only"


@check(each="joist_field", id="joist.house_end", link=Link.JOISTS, title="House end of the joists",
       method=Method.PRESCRIPTIVE, citation="IRC R507.6.2")  # fmt: skip
def house_end(field: PartView, deck: DeckView) -> Result:
    held = field.text("house_end")
    deck.run.rests_on_memory(
        "joists bear on wood or metal at their ends, or hang in hangers (IRC R507.6.1, R507.6.2)", "joist.end_support"
    )
    return yes_no(held != NAILS, "IRC R507.6.1, R507.6.2", held)


@check(each="joist_field", id="joist.hanger", link=Link.JOISTS, title="Hanger as it is nailed",
       twin="joist.hanger_table", why_apart="the list goes by size; here the joist's own load counts")  # fmt: skip
def hanger(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != HANGER:
        return None
    if field.text("hanger_fasteners") == "others":
        raise CannotJudge(
            "a hanger has no rating with other fasteners than its maker lists",
            f"see which fasteners fill the hangers of {field.subject}, and replace those that its maker does not list",
        )
    reaction = hangers.joist_reaction(field.number("span_in"), field.number("spacing_in"), loads_of(deck))
    return hangers.hanger(reaction, field.number("hanger_rated_lb"), field.number("hanger_fasteners_present"))


@check(each="joist_field", id="joist.hanger_table", link=Link.JOISTS, title="Hanger rating by the published list",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def hanger_table(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != HANGER:
        return None
    rests_on_row(
        deck,
        "least hanger capacities (AWC DCA 6 Table 3C, read in part)",
        "hanger_minimums",
        "joist",
        field.text("size"),
    )
    # A hanger with empty holes has less than its rating, so that the list cannot speak for it as if it were full.
    rated_lb = field.number("hanger_rated_lb") * field.number("hanger_fasteners_present")
    if rated_lb == 0:
        return yes_no(False, "DCA 6-2012 Table 3C", "no fastener holds the hanger")
    return hangers.hanger_rating_by_table(field.text("size"), rated_lb)


@check(each="joist_field", id="joist.hanger_depth", link=Link.JOISTS, title="Depth of the hanger",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def hanger_depth(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != HANGER or not field.has("hanger_depth_in"):
        return None
    rule = rule_of(deck, "hanger.min_depth_ratio")
    depth_in = find_size(field.text("size")).depth_in
    return hangers.hanger_depth(field.number("hanger_depth_in"), depth_in, rule.value, rule.citation)


def _nail(field: PartView) -> Fastener:
    return Fastener("nail", field.number("house_nail_diameter_in"), length_in=field.number("house_nail_length_in"))


def _house_reaction(field: PartView, deck: DeckView) -> Step:
    loads = loads_of(deck)
    return hangers.joist_reaction(field.number("span_in"), spacing_in(field), loads, loads.strength)


def _ledger_wood(field: PartView, deck: DeckView) -> tuple[float, float]:
    """Specific gravity and thickness (in) of what the joists are nailed to: the ledger, else wood like the joists'."""
    ledger = field.refers_to("ledger")
    if ledger is not None and ledger.has("species") and ledger.has("size"):
        lumber = lumber_of(ledger, deck)
        return design_values(lumber).specific_gravity, lumber.ply_width_in
    deck.run.assume(f"what {field.subject} is nailed to taken as 2 in lumber of the joists' species")
    return design_values(joist_lumber(field, deck)).specific_gravity, find_size("2x8").width_in


@check(each="joist_field", id="joist.strip_nails", link=Link.JOISTS, title="Nails of the ledger strip under each joist",
       twin="joist.strip_nailing", why_apart="the rule counts nails whatever the joist brings; the calculation"
       " takes the joist's own load, and wood that is wet")  # fmt: skip
def strip_nails(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != STRIP:
        return None
    if field.count("house_nails") == 0:
        return yes_no(False, "statics", "no nail holds the strip at the joists")
    gravity, ledger_in = _ledger_wood(field, deck)
    strip_in = find_size("2x2").width_in
    deck.run.assume(f"ledger strip of {field.subject} taken as 2 in lumber of the ledger's species")
    nail = _nail(field)
    bare = lateral(nail, driven_into(nail, gravity, 90, strip_in, ledger_in), Part(gravity, strip_in, 90))
    one = adjusted_lateral(bare, load_duration=loads_of(deck).strength.load_duration, wet=is_wet(field, deck))
    return hangers.ledger_strip_nails(_house_reaction(field, deck), one, field.count("house_nails"))


@check(each="joist_field", id="joist.strip_nailing", link=Link.JOISTS, title="Nailing of the ledger strip by the rule",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def strip_nailing(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != STRIP:
        return None
    rule, thick = rule_of(deck, "strip.nails"), rule_of(deck, "strip.nail_diameter")
    nails, diameter_in = field.count("house_nails"), field.number("house_nail_diameter_in")
    if diameter_in < thick.value - 0.0005:
        return yes_no(False, rule.citation, f"nails of {diameter_in:g} in; the rule's 16d nails are {thick.value:g} in")
    return at_least(nails, rule.value, "nails", rule.citation, "nails at each joist")


@check(each="joist_field", id="joist.strip_size", link=Link.JOISTS, title="Width of the ledger strip",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def strip_size(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != STRIP or not field.has("strip_width_in"):
        return None
    rule = rule_of(deck, "strip.min_size")
    return at_least(field.number("strip_width_in"), rule.value, "in", rule.citation, "strip")


@check(each="joist_field", id="joist.strip_bearing", link=Link.JOISTS, title="Joists bearing on the ledger strip")
def strip_bearing(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != STRIP or not field.has("strip_width_in"):
        return None
    joist = joist_lumber(field, deck)
    width_in = field.number("strip_width_in")
    require_positive(strip_width_in=width_in)
    reaction = hangers.joist_reaction(field.number("span_in"), spacing_in(field), loads_of(deck))
    return hangers.ledger_strip_bearing(reaction, joist.width_in, width_in, adjusted_values(joist).fc_perp)


@check(each="joist_field", id="joist.end_nails", link=Link.JOISTS, title="Joists held by nails alone")
def end_nails(field: PartView, deck: DeckView) -> Result:
    if field.text("house_end") != NAILS or not field.has("house_nails"):
        return None
    if field.count("house_nails") == 0:
        return yes_no(False, "statics", "no nail holds the end of the joists")
    return hangers.end_nails(_house_reaction(field, deck), _one_nail(field, deck), field.count("house_nails"))


def _one_nail(field: PartView, deck: DeckView) -> Adjusted:
    """Adjusted lateral value (lb) of one nail at a joist end: aslant into the ledger, or through it into end grain."""
    gravity, ledger_in = _ledger_wood(field, deck)
    joist_gravity = design_values(joist_lumber(field, deck)).specific_gravity
    nail, wet = _nail(field), is_wet(field, deck)
    duration = loads_of(deck).strength.load_duration
    if field.text("house_nailing") == "toe-nails":
        side_in, reach_in = toe_nail_lengths_in(nail)
        side_part = Part(joist_gravity, side_in, 90)
        bearing_in = min(ledger_in, reach_in - nail.tip_in / 2)
        require_positive(toe_nail_bearing_in=bearing_in)
        main = Part(gravity, bearing_in, 90, is_through=reach_in >= ledger_in)
        return adjusted_lateral(lateral(nail, main, side_part), load_duration=duration, wet=wet, is_toe_nail=True)
    main = driven_into(nail, joist_gravity, 90, ledger_in, field.number("span_in"))
    bare = lateral(nail, main, Part(gravity, ledger_in, 90))
    return adjusted_lateral(bare, load_duration=duration, wet=wet, is_end_grain=True)
