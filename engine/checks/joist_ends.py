"""Checks of the house end of the joists: the hanger's rating, or what stands in for it."""

from __future__ import annotations

from engine import hangers
from engine.checks.common import loads_of
from engine.checks.registry import Result, check, yes_no
from engine.facts import CannotJudge, DeckView, PartView
from engine.results import Method
from engine.vocabulary import Link

HANGER = "joist hanger"


@check(each="joist_field", id="joist.house_end", link=Link.JOISTS, title="House end of the joists",
       method=Method.PRESCRIPTIVE, citation="IRC R507.6.2")  # fmt: skip
def house_end(field: PartView, deck: DeckView) -> Result:
    held = field.text("house_end")
    if held == "ledger strip":
        raise CannotJudge(
            "a ledger strip carries what its nails under each joist carry; they were not recorded",
            f"count and measure the nails of the strip under each joist of {field.subject}",
        )
    deck.run.rests_on_memory("joists bear on wood or metal at their ends, or hang in hangers (IRC R507.6.1, R507.6.2)")
    return yes_no(held != "nails only", "IRC R507.6.1, R507.6.2", held)


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
    deck.run.rests_on_memory("least hanger capacities (AWC DCA 6 Table 3A, read in part)")
    # A hanger with empty holes has less than its rating, so that the list cannot speak for it as if it were full.
    rated_lb = field.number("hanger_rated_lb") * field.number("hanger_fasteners_present")
    if rated_lb == 0:
        return yes_no(False, "DCA 6-2012 Table 3C", "no fastener holds the hanger")
    return hangers.hanger_rating_by_table(field.text("size"), rated_lb)
