"""Whether a field of joists agrees with itself: count, spacing and width must tell the same story."""

from __future__ import annotations

from engine.checks.common import edition_of, holds_table
from engine.checks.registry import Result, check, yes_no
from engine.facts import CannotJudge, DeckView, PartView
from engine.results import Method
from engine.vocabulary import Link


@check(each="joist_field", id="joist.count", link=Link.JOISTS, title="Count of joists against spacing and width",
       citation="measured, compared with itself")  # fmt: skip
def count_fits(field: PartView, deck: DeckView) -> Result:
    """Count times spacing must come to the width that the joists fill, give or take one joist at each end."""
    across = field.refers_to("ledger")
    name = "length_in"
    if across is None:
        across, name = field.refers_to("level"), "width_in"
    if across is None or not across.is_recorded(name) or not field.is_recorded("count"):
        return None
    siblings = [other for other in deck.parts("joist_field") if _stands_beside(other, field)]
    if not all(other.is_recorded("count") and other.is_recorded("spacing_in") for other in siblings):
        return None
    width_in = across.number(name)
    filled_in = sum((other.count("count") - 1) * other.number("spacing_in") for other in siblings)
    slack_in = 2 * max(other.number("spacing_in") for other in siblings) * len(siblings)
    if abs(width_in - filled_in) > slack_in:
        raise CannotJudge(
            f"{field.count('count')} joists at {field.number('spacing_in'):g} in do not fill the {width_in:g} in of"
            f" {across.subject}: count, spacing or width is wrong",
            f"count the joists of {field.subject} and measure their spacing again",
        )
    return yes_no(True, "measured, compared with itself", "count, spacing and width agree")


def _stands_beside(other: PartView, field: PartView) -> bool:
    for name in ("ledger", "inner_beam", "beam", "level"):
        mine, theirs = field.refers_to(name), other.refers_to(name)
        if (mine and mine.id) != (theirs and theirs.id):
            return False
    return True


@check(each="deck", id="joist.overhang_table_held", link=Link.JOISTS, title="Overhang table of the adopted edition",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def overhang_table_held(deck: DeckView) -> Result:
    if holds_table(deck, "joist_overhang"):
        return None
    if not any(field.number("overhang_in") for field in deck.parts("joist_field")):
        return None
    name = edition_of(deck).name
    raise CannotJudge(f"no overhang table of {name} is held here", f"look the overhang up in the firm's copy of {name}")
