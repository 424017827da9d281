"""Checks of footings: soil pressure, thickness, depth against frost, size by the published table."""

from __future__ import annotations

from dataclasses import replace

from engine.checks.beam import post_reaction_lb, reaction_steps
from engine.checks.common import edition_of, holds_table, loads_of, rule_of, table_loads
from engine.checks.posts import post_area_sqft, spans_beside_in
from engine.checks.registry import Result, at_least, check, yes_no
from engine.facts import CannotJudge, DeckView, PartView
from engine.footings import footing_bearing, footing_depth, footing_thickness
from engine.results import Method
from engine.sections import find_size
from engine.vocabulary import Link

APART = "the table goes by deck area; the calculation by the reaction of the beam, and adds the concrete"


@check(each="post", id="footing.recorded", link=Link.FOOTINGS, title="A footing under the post",
       citation="IRC R507.3", method=Method.PRESCRIPTIVE)  # fmt: skip
def recorded(post: PartView, deck: DeckView) -> Result:
    footings = post.parts("footing")
    if not footings:
        raise CannotJudge(
            f"no footing of {post.subject} is recorded", f"dig beside {post.subject} and measure what it stands on"
        )
    return yes_no(True, "IRC R507.3", "footing recorded: " + ", ".join(footing.id for footing in footings))


@check(each="footing", id="footing.bearing", link=Link.FOOTINGS, title="Pressure on the soil",
       twin="footing.table", why_apart=APART)  # fmt: skip
def bearing(footing: PartView, deck: DeckView) -> Result:
    post = footing.part_named("post")
    load_lb = post_reaction_lb(post, deck)
    found = footing_bearing(
        load_lb, footing.number("width_in"), deck.basis.number("soil_psf"), is_round=footing.text("shape") == "round",
        thickness_in=footing.number("thickness_in"),
    )  # fmt: skip
    return replace(found, steps=(*reaction_steps(post, deck, loads_of(deck).largest), *found.steps))


@check(each="footing", id="footing.thickness", link=Link.FOOTINGS, title="Thickness of the footing",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def thickness(footing: PartView, deck: DeckView) -> Result:
    size = find_size(footing.part_named("post").text("size"))
    deck.run.rests_on_memory(
        "thickness by a 45 degree spread (worked back from IRC 2018 Table R507.3.1)", "footing.spread"
    )
    return footing_thickness(
        footing.number("thickness_in"), footing.number("width_in"), min(size.width_in, size.depth_in)
    )


@check(each="footing", id="footing.depth", link=Link.FOOTINGS, title="Depth of the footing against frost",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def depth(footing: PartView, deck: DeckView) -> Result:
    rule = rule_of(deck, "footing.min_depth")
    return footing_depth(footing.number("depth_in"), deck.basis.number("frost_depth_in"), rule.value)


@check(each="footing", id="footing.table", link=Link.FOOTINGS, title="Size of the footing by the published table",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def table(footing: PartView, deck: DeckView) -> Result:
    if not holds_table(deck, "footing"):
        return None  # said once for the deck, by `table_held`
    post = footing.part_named("post")
    live_psf, snow_psf = table_loads(deck)
    beam_span_in, joist_span_in = spans_beside_in(post, deck)
    found = edition_of(deck).footing(
        post_area_sqft(post, deck), deck.basis.number("soil_psf"), live_psf, snow_psf,
        beam_span_in=beam_span_in, joist_span_in=joist_span_in,
    )  # fmt: skip
    if found.confirmed == "memory":
        deck.run.rests_on_memory(f"footing size table ({found.citation})")
    if found.note:
        deck.run.assume(f"footing size table: {found.note}")
    is_round = footing.text("shape") == "round"
    needed_in = found.round_in if is_round else found.square_in
    what = "diameter" if is_round else "side"
    return at_least(footing.number("width_in"), needed_in, "in", found.citation, f"{what} of the footing")


@check(each="deck", id="footing.table_held", link=Link.FOOTINGS, title="Footing table of the adopted edition",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def table_held(deck: DeckView) -> Result:
    if holds_table(deck, "footing") or not deck.parts("footing"):
        return None
    name = edition_of(deck).name
    raise CannotJudge(f"no footing table of {name} is held here", f"look the footings up in the firm's copy of {name}")
