"""Checks of a beam: its spans over the posts, its overhangs, how it sits and where it is spliced."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from engine import beams
from engine.beam_checks import PATTERN
from engine.checks.common import edition_of, loads_of, lumber_of, note_source, rule_of, table_loads
from engine.checks.load_path import beam_joists, beam_tributary_in, posts_along, tributary_step
from engine.checks.registry import Result, at_least, at_most, check, yes_no
from engine.codes import Edition
from engine.comparison import Comparison
from engine.deck import Part
from engine.errors import require_positive
from engine.facts import CannotJudge, DeckView, PartView
from engine.hangers import uplift_clip
from engine.loads import Combination, combination_step
from engine.lumber import Lumber
from engine.results import Method, Step
from engine.sections import find_size
from engine.vocabulary import Link

_beam_span = lru_cache(maxsize=4096)(Edition.beam_span)

APART = (
    "the table adds 10 percent for two plies where the NDS gives none below three, takes one simple span, and loads it"
    " with joists that overhang by a quarter"
)


def beam_lumber(beam: PartView, deck: DeckView) -> Lumber:
    """The beam with all its plies; the repetitive factor comes from three plies on (NDS 4.3.9)."""
    plies = beam.count("plies")
    return lumber_of(beam, deck, plies=plies, repetitive=plies >= 3)


def beam_line(beam: PartView) -> beams.BeamLine:
    """Spans, overhangs and splices of a beam. Raises CannotJudge for a splice between two posts."""
    spans_in = beam.numbers("spans_in")
    splices: tuple[int, ...] = ()
    if len(spans_in) > 1:
        runs = beam.text("runs")
        if runs == "spliced between posts":
            raise CannotJudge(
                f"{beam.subject} is spliced between posts: a butt joint carries no bending",
                f"look at each ply of {beam.subject}: which run through, and where each joint is",
            )
        if runs == "spliced over posts":
            splices = tuple(range(1, len(spans_in)))
    return beams.BeamLine(spans_in, beam.number("overhang_left_in"), beam.number("overhang_right_in"), splices)


def post_reaction_lb(post: PartView, deck: DeckView, combination: Combination | None = None) -> float:
    """Largest load (lb) that the beam brings to one of its posts, under the largest sum or the `combination` given."""
    return deck.run.once(("reaction", post.id, combination), lambda: _reaction_lb(post, deck, combination))


def reaction_steps(post: PartView, deck: DeckView, combination: Combination) -> tuple[Step, ...]:
    """How `post_reaction_lb` under a combination comes about."""
    return deck.run.once(("reaction steps", post.id, combination), lambda: _reaction_steps(post, deck, combination))


def _reaction_steps(post: PartView, deck: DeckView, combination: Combination) -> tuple[Step, ...]:
    beam = post.part_named("beam")
    wide, reaction_lb = tributary_step(beam, deck), post_reaction_lb(post, deck, combination)
    w, spans_in = combination.total_psf * wide.value / 144, beam.numbers("spans_in")
    span_in = spans_in[min(place_of(post, beam), len(spans_in) - 1)]
    line = {"q": combination.total_psf, "b": wide.value}
    inputs = {"k": reaction_lb / (w * span_in), "w": w, "l": span_in}
    return (
        combination_step(loads_of(deck), combination),
        wide,
        Step("w", "q * b / 144", line, w, "lb/in", "statics"),
        Step("R", "k * w * l", inputs, reaction_lb, "lb", PATTERN, beam_line(beam).told()),
    )


def _reaction_lb(post: PartView, deck: DeckView, combination: Combination | None) -> float:
    beam = post.part_named("beam")
    line, tributary_in = beam_line(beam), beam_tributary_in(beam, deck)
    return beams.beam_reactions(line, tributary_in, loads_of(deck), combination)[place_of(post, beam)]


def place_of(post: PartView, beam: PartView) -> int:
    """Which support of its beam a post is, from the left. Raises CannotJudge where it stands between supports."""
    place = [other.id for other in posts_along(beam)].index(post.id)
    if post.is_recorded("position_in"):
        support_in = beam.number("overhang_left_in") + sum(beam.numbers("spans_in")[:place])
        position_in = post.number("position_in")
        if abs(position_in - support_in) > 6:
            raise CannotJudge(
                f"{post.subject} stands {position_in:g} in along {beam.subject}; its spans put it at {support_in:g} in",
                f"measure the spans of {beam.subject} and the places of its posts again",
            )
    return place


@check(each="beam", id="beam.bending", link=Link.BEAM, title="Beam in bending", twin="beam.span_table", why_apart=APART)
def bending(beam: PartView, deck: DeckView) -> Result:
    found = beams.beam_bending(beam_lumber(beam, deck), beam_line(beam), beam_tributary_in(beam, deck), loads_of(deck))
    return _with_width(found, beam, deck)


@check(each="beam", id="beam.shear", link=Link.BEAM, title="Beam in shear", twin="beam.span_table", why_apart=APART)
def shear(beam: PartView, deck: DeckView) -> Result:
    found = beams.beam_shear(beam_lumber(beam, deck), beam_line(beam), beam_tributary_in(beam, deck), loads_of(deck))
    return _with_width(found, beam, deck)


def _with_width(found: Comparison, beam: PartView, deck: DeckView) -> Comparison:
    """With the width of deck on the beam put before its steps."""
    return replace(found, steps=(tributary_step(beam, deck), *found.steps))


@check(each="beam", id="beam.live_deflection", link=Link.BEAM, title="Deflection of the beam under live load",
       twin="beam.span_table", why_apart=APART)  # fmt: skip
def live_deflection(beam: PartView, deck: DeckView) -> Result:
    found = beams.beam_live_deflection(
        beam_lumber(beam, deck), beam_line(beam), beam_tributary_in(beam, deck), loads_of(deck),
        rule_of(deck, "load.deflection_limit_main_span").value,
    )  # fmt: skip
    return _with_width(found, beam, deck)


@check(each="beam", id="beam.total_deflection", link=Link.BEAM, title="Sag of the beam under all load",
       twin="beam.span_table", why_apart=APART)  # fmt: skip
def total_deflection(beam: PartView, deck: DeckView) -> Result:
    found = beams.beam_total_deflection(
        beam_lumber(beam, deck), beam_line(beam), beam_tributary_in(beam, deck), loads_of(deck)
    )
    return _with_width(found, beam, deck)


@check(
    each="beam",
    id="beam.tip_deflection",
    link=Link.BEAM,
    title="Spring of the beam's free end",
    twin="beam.overhang",
    why_apart="the rule limits the length of the overhang, this the spring of its end",
)
def tip_deflection(beam: PartView, deck: DeckView) -> Result:
    if not beam.number("overhang_left_in") and not beam.number("overhang_right_in"):
        return None
    deck.run.rests_on_memory(
        "a cantilever counts twice its length against the limit of deflection (IRC Table R301.7)",
        "beam.cantilever_counts_twice",
    )
    found = beams.beam_tip_deflection(
        beam_lumber(beam, deck), beam_line(beam), beam_tributary_in(beam, deck), loads_of(deck),
        rule_of(deck, "load.deflection_limit_main_span").value,
    )  # fmt: skip
    return _with_width(found, beam, deck)


def _spans(part: Part) -> tuple[tuple[str, int], ...]:
    spans = part.facts.get("spans_in")
    if not isinstance(spans, tuple):
        return (("its spans", 0),)
    return tuple((f"span {number + 1}", number) for number in range(len(spans)))


@check(each="beam", id="beam.span_table", link=Link.BEAM, title="Beam span by the published table",
       method=Method.PRESCRIPTIVE, places=_spans)  # fmt: skip
def span_table(beam: PartView, deck: DeckView, number: int) -> Result:
    sides = beam_joists(beam, deck)
    if len(sides) > 1:
        raise CannotJudge(
            "the published table is for joists from one side; this beam carries joists from both",
            "judge by the calculation beside this check",
        )
    live_psf, snow_psf = table_loads(deck)
    joist_span_in, joist_overhang_in = sides[0]
    found = _beam_span(
        edition_of(deck), beam.text("species"), beam.text("size"), beam.count("plies"), joist_span_in,
        joist_overhang_in, live_psf, snow_psf, grade=beam.text("grade"),
    )  # fmt: skip
    note_source(deck, found, "beam span table")
    return at_most(beam.numbers("spans_in")[number], found.value, "in", found.citation, "span")


@check(each="beam", id="beam.overhang", link=Link.BEAM, title="Beam overhang against the span beside it",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def overhang(beam: PartView, deck: DeckView) -> Result:
    spans_in = beam.numbers("spans_in")
    ends = [(beam.number("overhang_left_in"), spans_in[0]), (beam.number("overhang_right_in"), spans_in[-1])]
    overhang_in, span_in = max(ends, key=lambda end: end[0] / end[1])
    if not overhang_in:
        return None
    rule = rule_of(deck, "beam.max_cantilever_ratio")
    what = f"overhang past the end post ({rule.value:g} of the span beside it)"
    return at_most(overhang_in, rule.value * span_in, "in", rule.citation, what)


@check(each="beam", id="beam.splice", link=Link.BEAM, title="Splices of the beam over its posts", citation="statics")
def splice(beam: PartView, deck: DeckView) -> Result:
    if len(beam.numbers("spans_in")) == 1 and not beam.is_recorded("runs"):
        return None
    runs = beam.text("runs")
    if runs == "continuous":
        return None
    if runs == "spliced over posts":
        return yes_no(True, "statics", "each run bears on a post at both its ends")
    return yes_no(False, "statics", "a butt joint between posts carries no bending; plies are joined over a post")


@check(each="beam", id="beam.seat", link=Link.BEAM, title="Beam bearing on its posts", method=Method.PRESCRIPTIVE)
def seat(beam: PartView, deck: DeckView) -> Result:
    held = beam.text("seat")
    rule = rule_of(deck, "beam.full_bearing_on_post")
    return yes_no(held != "bolted to the side of the post", rule.citation, f"the beam sits {held}"
                  if held != "bolted to the side of the post" else "the beam is bolted to the side of the post; bolts"
                  " do not count as bearing")  # fmt: skip


@check(each="beam", id="beam.bearing_length", link=Link.BEAM, title="Length of bearing on the posts",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def bearing_length(beam: PartView, deck: DeckView) -> Result:
    if beam.text("seat") == "bolted to the side of the post":
        return None
    rule = rule_of(deck, "bearing.wood_or_metal")
    return at_least(beam.number("bearing_in"), rule.value, "in", rule.citation, "bearing")


@check(each="beam", id="beam.bearing_at_splice", link=Link.BEAM, title="Bearing of each run at a splice",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def bearing_at_splice(beam: PartView, deck: DeckView) -> Result:
    if beam.text("seat") == "bolted to the side of the post" or len(beam.numbers("spans_in")) == 1:
        return None
    if beam.text("runs") != "spliced over posts":
        return None
    rule = rule_of(deck, "bearing.wood_or_metal")
    deck.run.assume(f"the joint of {beam.subject} stands over the middle of the post: each run has half of the bearing")
    return at_least(beam.number("bearing_in") / 2, rule.value, "in", rule.citation, "bearing of each run")


@check(each="post", id="beam.bearing_on_post", link=Link.BEAM, title="Beam bearing across its grain on a post")
def bearing_on_post(post: PartView, deck: DeckView) -> Result:
    beam = post.part_named("beam")
    if beam.text("seat") == "bolted to the side of the post":
        return None
    bearing_in = beam.number("bearing_in")
    require_positive(bearing_in=bearing_in)
    line, place = beam_line(beam), place_of(post, beam)
    found = beams.beam_bearing(
        beam_lumber(beam, deck), line, beam_tributary_in(beam, deck), loads_of(deck), bearing_in, place,
        seat_width_in(post, beam),
    )  # fmt: skip
    if place in line.splices:
        return _with_width(found, beam, deck)  # each run by itself
    return replace(found, steps=(*reaction_steps(post, deck, loads_of(deck).largest), *found.steps))


def seat_width_in(post: PartView, beam: PartView) -> float | None:
    """How much of the width of a beam stands on a post, in; None for all of it.

    Raises CannotJudge where the beam sits in a notch and the post has none.
    """
    if beam.text("seat") != "in a notch of the post":
        return None
    if not post.has("notch_depth_in"):
        post.not_recorded("notch_depth_in")
    notch_in = post.number("notch_depth_in")
    if not notch_in:
        raise CannotJudge(
            f"{beam.subject} is said to sit in a notch of {post.subject}, and the notch to be 0 in deep",
            f"measure how deep {post.subject} is cut where {beam.subject} sits",
        )
    return notch_in if notch_in < whole_width_in(beam) else None


def whole_width_in(beam: PartView) -> float:
    """All plies of a beam side by side, in, as they were dressed."""
    return beam.count("plies") * find_size(beam.text("size")).width_in


@check(each="post", id="beam.lift_off_post", link=Link.BEAM, title="Beam lifting off a post", citation="statics")
def lift_off_post(post: PartView, deck: DeckView) -> Result:
    beam, loads = post.part_named("beam"), loads_of(deck)
    width = beam_tributary_in(beam, deck) / 144
    forces = beams.beam_forces(beam_line(beam), loads.dead * width, loads.largest.variable_psf * width)
    lift_lb = forces.uplift_lb[place_of(post, beam)]
    if lift_lb > 0 and post.has("tie_uplift_rated_lb"):
        lift = Step("U", "U", {"U": lift_lb}, lift_lb, "lb", "statics", "other spans loaded, this one empty")
        return uplift_clip(lift, post.number("tie_uplift_rated_lb"))
    if lift_lb > 0:
        raise CannotJudge(
            f"with other spans loaded the beam lifts off with {lift_lb:.0f} lb; whether it is tied is not recorded",
            f"look for a tie from {beam.subject} to {post.subject} and read its rating",
        )
    return yes_no(True, "statics", "the beam rests on the post however its spans are loaded")
