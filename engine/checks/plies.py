"""Checks of a beam built of plies: what holds them together, and whether each of them stands on its posts."""

from __future__ import annotations

from engine import plies
from engine.checks.beam import beam_lumber, place_of, post_reaction_lb, seat_width_in, whole_width_in
from engine.checks.common import loads_of, rule_of
from engine.checks.registry import Result, at_least, check, yes_no
from engine.facts import CannotJudge, DeckView, PartView
from engine.fasteners import Fastener
from engine.results import Method
from engine.sections import find_size
from engine.vocabulary import Link

NOTCH = "in a notch of the post"
ON_TOP = "on top of the post"
NOTHING = "nothing seen"


def _published(deck: DeckView) -> tuple[plies.PlyFastening, str]:
    """The nailing that the adopted edition asks for, and its citation."""
    rows, spacing, diameter, length = (
        rule_of(deck, f"beam.ply_nail_{name}") for name in ("rows", "spacing", "diameter", "length")
    )
    nail = Fastener("nail", diameter.value, length_in=length.value)
    return plies.PlyFastening(nail, int(rows.value), spacing.value), rows.citation


def _recorded(beam: PartView) -> plies.PlyFastening | None:
    """The fasteners of the plies as they were recorded; None where none was seen."""
    kind = beam.text("ply_fastener")
    if kind == NOTHING:
        return None
    rows, spacing_in = beam.count("ply_fastener_rows"), beam.number("ply_fastener_spacing_in")
    length_in = None if kind == "bolt" else beam.number("ply_fastener_length_in")
    fastener = Fastener(kind, beam.number("ply_fastener_diameter_in"), length_in=length_in)
    return plies.PlyFastening(fastener, rows, spacing_in)


def _as_the_rule(found: plies.PlyFastening, asked: plies.PlyFastening) -> bool:
    """Whether the fasteners are the rule's nails to the letter, or thicker, longer and closer ones."""
    one, rule = found.fastener, asked.fastener
    is_nail = one.kind == "nail" and one.diameter_in >= rule.diameter_in
    return is_nail and (one.length_in or 0) >= (rule.length_in or 0) and found.spacing_in <= asked.spacing_in


@check(each="beam", id="beam.ply_fastening", link=Link.BEAM, title="Plies of the beam fastened to each other",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def ply_fastening(beam: PartView, deck: DeckView) -> Result:
    """The rule's nails are the measure: no standard says how much must pass where every ply is loaded from above."""
    if beam.count("plies") < 2:
        return None
    asked, citation = _published(deck)
    if beam.text("ply_fastener") == NOTHING:
        return yes_no(False, citation, "nothing was seen that holds the plies together")
    if beam.count("ply_fastener_rows") < asked.rows:
        return at_least(beam.count("ply_fastener_rows"), asked.rows, "rows", citation, "fasteners in")
    found = _recorded(beam)
    assert found is not None
    if not _as_the_rule(found, asked):
        deck.run.assume("other fasteners counted as good as the rule's nails where they pass as much from ply to ply"
                        " (common practice, no published source)")  # fmt: skip
    return plies.ply_fastening(beam_lumber(beam, deck), found, asked, f"{citation}; NDS 12.3")


@check(each="post", id="beam.bearing_width", link=Link.BEAM, title="Beam bearing over its whole width",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def bearing_width(post: PartView, deck: DeckView) -> Result:
    beam = post.part_named("beam")
    seat = beam.text("seat")
    if seat not in (NOTCH, ON_TOP):
        return None
    rule = rule_of(deck, "bearing.full_width")
    width_in = whole_width_in(beam)
    if seat == NOTCH:
        bears_in = seat_width_in(post, beam) or width_in
        return at_least(bears_in, width_in, "in", rule.citation, "width that bears")
    side = find_size(post.text("size"))
    side_in = max(side.width_in, side.depth_in)
    if side_in < width_in - 0.01:
        raise CannotJudge(
            f"{beam.subject} is {width_in:g} in wide and {post.subject} {side_in:g} in: its outer plies stand on a cap"
            " or on nothing",
            f"look whether a cap as wide as {beam.subject} stands on {post.subject}",
        )
    return yes_no(True, rule.citation, f"the beam is {width_in:g} in wide, the post {side_in:g} in")


@check(each="post", id="beam.ply_hold", link=Link.BEAM, title="Plies that do not stand on the post, held by the others")
def ply_hold(post: PartView, deck: DeckView) -> Result:
    beam = post.part_named("beam")
    if beam.count("plies") < 2:
        return None
    width_in = seat_width_in(post, beam)
    if width_in is None:
        return None
    lumber = beam_lumber(beam, deck)
    combination = max(
        loads_of(deck).combinations, key=lambda each: post_reaction_lb(post, deck, each) / each.load_duration
    )
    reaction_lb = post_reaction_lb(post, deck, combination)
    passed = plies.passed_between_plies(reaction_lb, lumber.plies, lumber.ply_width_in, width_in)
    bolts, bolt = beam.count("seat_bolts"), None
    if bolts:
        bolt = plies.between_plies(
            Fastener("bolt", beam.number("seat_bolt_diameter_in")), lumber, combination.load_duration
        )
    nailed = _recorded(beam) if beam.has("ply_fastener") else None
    one = plies.between_plies(nailed.fastener, lumber, combination.load_duration) if nailed else None
    if not bolts and not beam.has("ply_fastener"):
        beam.not_recorded("ply_fastener")
    reach_in = _reach_in(post, beam, lumber.depth_in)
    deck.run.assume(f"fasteners between the plies of {beam.subject} counted within its depth of the middle of"
                    f" {post.subject} (common practice, no published source)")  # fmt: skip
    return plies.ply_hold(passed, bolt, bolts, nailed, one, reach_in)


def _reach_in(post: PartView, beam: PartView, depth_in: float) -> float:
    """Length of beam beside a post within which fasteners help it: as much as the beam is deep, on either side."""
    place, spans_in = place_of(post, beam), beam.numbers("spans_in")
    left_in = spans_in[place - 1] if place else beam.number("overhang_left_in")
    right_in = spans_in[place] if place < len(spans_in) else beam.number("overhang_right_in")
    return min(left_in, depth_in) + min(right_in, depth_in)
