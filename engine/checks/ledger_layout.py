"""Checks of the ledger as a board: there at all, deep enough, its fasteners far enough from edges and ends."""

from __future__ import annotations

from engine.checks.common import CUT_WASHER, rests_on_row, rule_of
from engine.checks.ledger_state import ledger_state
from engine.checks.registry import Result, at_least, check, yes_no
from engine.comparison import Comparison
from engine.facts import CannotJudge, DeckView, PartView
from engine.ledger_layout import LayoutRule, edge_distances, end_distances, unstaggered_neighbours
from engine.results import Method
from engine.sections import find_size
from engine.vocabulary import Link
from engine.washers import washer_size


@check(each="level", id="ledger.recorded", link=Link.LEDGER, title="A ledger where the level stands on one",
       method=Method.PRESCRIPTIVE, citation="IRC R507.9.1")  # fmt: skip
def recorded(level: PartView, deck: DeckView) -> Result:
    if level.text("stands") != "on a ledger":
        return None
    ledgers = level.parts("ledger")
    if not ledgers:
        raise CannotJudge(
            f"{level.subject} stands on a ledger, and no ledger is recorded",
            f"measure the ledger of {level.subject} and where its fasteners stand",
        )
    return yes_no(True, "IRC R507.9.1", "ledger recorded: " + ", ".join(ledger.id for ledger in ledgers))


@check(each="ledger", id="ledger.size", link=Link.LEDGER, title="Depth of the ledger", method=Method.PRESCRIPTIVE)
def size(ledger: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "ledger.min_size")
    return at_least(find_size(ledger.text("size")).depth_in, rule.value, "in", rule.citation, "ledger depth")


def layout_rule(deck: DeckView) -> LayoutRule:
    """Least and greatest distances of the adopted edition."""
    rules = {
        name: rule_of(deck, f"ledger.{name}")
        for name in ("edge_top_min", "edge_bottom_min", "end_min", "end_max", "row_spacing_min", "row_spacing_max")
    }
    return LayoutRule(
        top_least_in=rules["edge_top_min"].value,
        bottom_least_in=rules["edge_bottom_min"].value,
        end_least_in=rules["end_min"].value,
        end_most_in=rules["end_max"].value,
        rows_least_in=rules["row_spacing_min"].value,
        rows_most_in=rules["row_spacing_max"].value,
        citation=rules["edge_top_min"].citation,
    )


def _worst(found: tuple[Comparison, ...]) -> Comparison | None:
    return max(found, key=lambda each: each.ratio, default=None)


@check(each="ledger", id="ledger.edges", link=Link.LEDGER, title="Fastener rows from the ledger's edges",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def edges(ledger: PartView, deck: DeckView) -> Result:
    return _worst(
        edge_distances(
            layout_rule(deck),
            find_size(ledger.text("size")).depth_in,
            upper_row_from_top_in=ledger.number("upper_row_from_top_in"),
            lower_row_from_bottom_in=ledger.number("lower_row_from_bottom_in"),
        )
    )


@check(each="ledger", id="ledger.ends", link=Link.LEDGER, title="Fasteners near the ledger's ends",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def ends(ledger: PartView, deck: DeckView) -> Result:
    state = ledger_state(ledger, deck)
    return _worst(end_distances(layout_rule(deck), state.working_positions_in, ledger.number("length_in")))


@check(each="ledger", id="ledger.washers", link=Link.LEDGER, title="Washers under the ledger's bolts and lag screws",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def washers(ledger: PartView, deck: DeckView) -> Result:
    if not ledger.has("washer_in"):
        return None
    large = [one for one in ledger.parts("fastener") if one.text("fastener") in ("bolt", "lag screw")]
    if not large:
        return None
    thickest_in = max(one.number("diameter_in") for one in large)
    rests_on_row(deck, CUT_WASHER, "cut_washers", "bolt_in", thickest_in)
    return washer_size(ledger.number("washer_in"), thickest_in)


@check(each="ledger", id="ledger.stagger", link=Link.LEDGER, title="Fasteners high and low in turn",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def stagger(ledger: PartView, deck: DeckView) -> Result:
    working = ledger_state(ledger, deck).working(ledger)
    positions_in = [fastener.number("position_in") for fastener in working]
    pairs = unstaggered_neighbours(positions_in, [fastener.text("row") for fastener in working])
    rule = rule_of(deck, "ledger.staggered")
    if not pairs:
        return yes_no(True, rule.citation, "high and low in turn")
    places = ", ".join(f"{positions_in[a]:g} and {positions_in[b]:g} in" for a, b in pairs[:6])
    return yes_no(False, rule.citation, f"neighbours at the same height: {places}")
