"""Checks of a field of joists: what each joist carries, and whether the field is as it was recorded."""

from __future__ import annotations

from engine import joists
from engine.checks.common import loads_of, lumber_of
from engine.checks.registry import Result, check
from engine.facts import DeckView, PartView
from engine.lumber import Lumber
from engine.vocabulary import Link


def joist_lumber(field: PartView, deck: DeckView) -> Lumber:
    """One joist of a field; three or more side by side share their load (NDS 4.3.9)."""
    if field.is_recorded("count"):
        repetitive = field.count("count") >= 3
    else:
        repetitive = True
        deck.run.assume(f"count of {field.subject} not recorded: three or more joists taken to share their load")
    return lumber_of(field, deck, repetitive=repetitive)


@check(each="joist_field", id="joist.bending", link=Link.JOISTS, title="Joists in bending")
def bending(field: PartView, deck: DeckView) -> Result:
    return joists.joist_bending(
        joist_lumber(field, deck), field.number("spacing_in"), field.number("span_in"), loads_of(deck)
    )
