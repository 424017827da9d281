"""Checks of the walking surface: boards over joists, their condition, and heavy things that stand on them."""

from __future__ import annotations

from engine import joists
from engine.checks.common import edition_of, loads_of, note_source
from engine.checks.joists import joist_lumber, spacing_in
from engine.checks.registry import Result, at_most, check, yes_no
from engine.facts import CannotJudge, DeckView, PartView
from engine.loads import Loads
from engine.results import Method
from engine.vocabulary import Link


@check(each="joist_field", id="surface.decking_span", link=Link.SURFACE, title="Joist spacing under the boards",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def decking_span(field: PartView, deck: DeckView) -> Result:
    level = field.part_named("level")
    decking = level.text("decking")
    if decking in ("composite", "other"):
        raise CannotJudge(
            f"how far boards of this kind ({decking}) may span, only their maker says",
            "find the maker's span rating of the boards",
        )
    found = edition_of(deck).decking_spacing(decking, level.text("decking_direction"), level.text("board_span"))
    note_source(deck, found, "decking table")
    return at_most(spacing_in(field), found.value, "in", found.citation, "joist spacing")


@check(each="level", id="surface.condition", link=Link.SURFACE, title="Boards underfoot", method=Method.PRESCRIPTIVE,
       citation="seen on the day")  # fmt: skip
def condition(level: PartView, deck: DeckView) -> Result:
    found = level.text("surface_condition")
    return yes_no(found == "firm", "seen on the day", found)


def _patch_loads(patch: PartView, deck: DeckView) -> Loads:
    loads = loads_of(deck)
    deck.run.assume(f"{patch.text('what')}: its load taken all along the joists under it, on the safe side")
    return Loads(live=max(loads.live, patch.number("load_psf")), dead=loads.dead, snow=loads.snow)


@check(each="patch", id="patch.joist_bending", link=Link.SURFACE, title="Joists in bending under the heavy thing")
def patch_bending(patch: PartView, deck: DeckView) -> Result:
    field = patch.part_named("joist_field")
    return joists.joist_bending(
        joist_lumber(field, deck), spacing_in(field), field.number("span_in"), _patch_loads(patch, deck)
    )


@check(each="patch", id="patch.joist_shear", link=Link.SURFACE, title="Joists in shear under the heavy thing")
def patch_shear(patch: PartView, deck: DeckView) -> Result:
    field = patch.part_named("joist_field")
    return joists.joist_shear(
        joist_lumber(field, deck), spacing_in(field), field.number("span_in"), _patch_loads(patch, deck),
        field.number("overhang_in"), field.number("notch_depth_in"),
    )  # fmt: skip


@check(each="patch", id="patch.below", link=Link.SURFACE, title="What stands below the heavy thing", citation="statics")
def patch_below(patch: PartView, deck: DeckView) -> Result:
    weight_lb = patch.number("load_psf") * patch.number("area_sqft")
    raise CannotJudge(
        f"{patch.text('what')} of {weight_lb:.0f} lb: ledger, beam, posts and footings below are judged for the uniform"
        " load only, not for this load in one place",
        "an engineer licensed for the place can design or approve the supports under it",
    )
