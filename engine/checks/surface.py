"""Checks of the walking surface: boards over joists, their condition, and heavy things that stand on them."""

from __future__ import annotations

from engine import joists
from engine.checks.common import NOT_INCISED, edition_of, loads_of, note_source, rule_of
from engine.checks.joists import joist_lumber, spacing_in
from engine.checks.registry import Result, at_most, check, yes_no
from engine.decking import decking_bending, decking_deflection
from engine.facts import CannotJudge, DeckView, PartView
from engine.loads import Loads
from engine.lumber import Lumber
from engine.results import Method
from engine.vocabulary import Link

APART = "the table takes the weakest of its species; the calculation takes the species recorded and a single span"


@check(each="joist_field", id="surface.decking_span", link=Link.SURFACE, title="Joist spacing under the boards",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def decking_span(field: PartView, deck: DeckView) -> Result:
    level = field.part_named("level")
    decking = level.text("decking")
    if decking in ("composite", "other") or level.has("decking_rated_span_in"):
        rated_in = level.number("decking_rated_span_in")
        deck.run.assume("the rating is the maker's, for the load of this deck and for boards that lie as these do")
        return at_most(spacing_in(field), rated_in, "in", "the maker's span rating", "joist spacing")
    found = edition_of(deck).decking_spacing(decking, level.text("decking_direction"), level.text("board_span"))
    note_source(deck, found, "decking table")
    return at_most(spacing_in(field), found.value, "in", found.citation, "joist spacing")


def board(level: PartView, deck: DeckView) -> Lumber | None:
    """A deck board that has NDS values: 2 in nominal, of a species that was recorded. None for any other."""
    if level.text("decking") != "2 in thick wood" or not level.has("decking_species"):
        return None
    species = level.text("decking_species")
    incised = species not in NOT_INCISED
    custom = "incised" if incised else "not incised"
    deck.run.assume(f"boards of {level.subject}: {species} taken as {custom} (common practice, no published source)")
    return Lumber(
        species, level.text("decking_grade"), level.text("decking_board"), wet=deck.basis.flag("is_wet"),
        incised=incised, repetitive=False,
    )  # fmt: skip


def _angle_deg(level: PartView, deck: DeckView) -> float:
    if level.text("decking_direction") == "perpendicular":
        return 0.0
    deck.run.assume(f"diagonal boards of {level.subject} taken at 45 degrees")
    return 45.0


@check(each="joist_field", id="surface.board_bending", link=Link.SURFACE, title="Boards in bending",
       twin="surface.decking_span", why_apart=APART)  # fmt: skip
def board_bending(field: PartView, deck: DeckView) -> Result:
    level = field.part_named("level")
    lies = board(level, deck)
    if lies is None:
        return None
    return decking_bending(lies, spacing_in(field), loads_of(deck), angle_deg=_angle_deg(level, deck))


@check(each="joist_field", id="surface.board_deflection", link=Link.SURFACE, title="Boards giving underfoot",
       twin="surface.decking_span", why_apart=APART)  # fmt: skip
def board_deflection(field: PartView, deck: DeckView) -> Result:
    level = field.part_named("level")
    lies = board(level, deck)
    if lies is None:
        return None
    limit = rule_of(deck, "load.deflection_limit_main_span").value
    loads = loads_of(deck)
    return decking_deflection(lies, spacing_in(field), loads, angle_deg=_angle_deg(level, deck), deflection=limit)


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
