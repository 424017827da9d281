"""Checks of posts: column strength with notch and eccentric seat, slenderness, height table, foot and bracing."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from engine.checks.beam import beam_lumber, place_of, post_reaction_lb, reaction_steps
from engine.checks.common import edition_of, loads_of, lumber_of, note_source, rule_of, table_loads
from engine.checks.load_path import beam_joists, beam_tributary_in
from engine.checks.registry import Result, at_least, at_most, check, yes_no
from engine.codes import Edition
from engine.comparison import Comparison
from engine.constants import constant
from engine.errors import OutOfRange
from engine.facts import CannotJudge, DeckView, PartView
from engine.fasteners import Fastener, Geometry, Part, adjusted_lateral, geometry_factor, group_action_factor, lateral
from engine.lumber import Lumber, design_values
from engine.posts import post_compression
from engine.results import Method, Step
from engine.sections import find_size
from engine.vocabulary import Link

IN_A_NOTCH = "in a notch of the post"
_post_height = lru_cache(maxsize=4096)(Edition.post_height)

SIDE_BOLTED = "bolted to the side of the post"
APART = (
    "the published heights are stricter than axial load alone, and go by the deck area on the post; the calculation"
    " takes the reaction of the beam as it runs over its posts"
)


@check(each="post", id="post.compression", link=Link.POSTS, title="Post under its load", twin="post.height_table",
       why_apart=APART)  # fmt: skip
def compression(post: PartView, deck: DeckView) -> Result:
    beam, lumber, loads = post.part_named("beam"), lumber_of(post, deck), loads_of(deck)
    height_in, notch_depth_in = post.number("height_in"), post.number("notch_depth_in")
    off_axis = _off_axis(beam, post, deck, lumber.depth_in, notch_depth_in)
    # What a slender post carries hardly grows with the load duration factor, so each sum is put to it in turn.
    under = [
        (
            each,
            post_compression(
                lumber,
                height_in,
                post_reaction_lb(post, deck, each),
                load_duration=each.load_duration,
                notch_depth_in=notch_depth_in,
                eccentricity_in=off_axis[0].value if off_axis else 0.0,
                on_the_notch=beam.text("seat") == IN_A_NOTCH,
            ),
        )
        for each in loads.combinations
    ]
    combination, found = max(under, key=lambda each: each[1].ratio)
    return replace(found, steps=(*reaction_steps(post, deck, combination), *off_axis, *found.steps))


def _off_axis(
    beam: PartView, post: PartView, deck: DeckView, depth_in: float, notch_in: float
) -> tuple[()] | tuple[Step]:
    """How far beside the middle of a post its beam presses, as a step; nothing where it presses on the middle.

    Source: geometry. A seat in a notch ends at the face of the post; a tongue beside a notch ends at the other face.
    """
    seat, both = beam.text("seat"), {"d": depth_in, "n": notch_in}
    if seat == SIDE_BOLTED:
        width_in = beam_lumber(beam, deck).width_in
        deck.run.assume(f"all plies of {beam.subject} on one side of {post.subject}")
        out_in = (depth_in + width_in) / 2 - notch_in
        formula = "(d + w) / 2 - n" if out_in >= 0 else "n - (d + w) / 2"
        return (Step("e", formula, {**both, "w": width_in}, abs(out_in), "in", "geometry", "the middle of all plies"),)
    if not notch_in:
        return ()
    if seat == IN_A_NOTCH:
        value = (depth_in - notch_in) / 2
        return (Step("e", "(d - n) / 2", both, value, "in", "geometry", "the beam in the middle of the notch"),)
    return (Step("e", "n / 2", {"n": notch_in}, notch_in / 2, "in", "geometry", "the middle of what the notch left"),)


@check(each="post", id="post.slenderness", link=Link.POSTS, title="Slenderness of the post", citation="NDS 3.7.1.4")
def slenderness(post: PartView, deck: DeckView) -> Result:
    size = find_size(post.text("size"))
    thin_in = min(size.width_in, size.depth_in)
    height_in, most = post.number("height_in"), constant("slenderness_column_max")
    step = Step("r", "l / d", {"l": height_in, "d": thin_in}, height_in / thin_in, "-", "NDS 3.7.1.3")
    return Comparison(
        step.value, most, "-", "height over least side", (step,), ("both ends held sideways",), "NDS 3.7.1.4"
    )


def post_area_sqft(post: PartView, deck: DeckView) -> float:
    """Deck area (sq ft) on a post as the tables count it: half of each span beside it and all of an overhang."""
    beam = post.part_named("beam")
    place, spans_in = place_of(post, beam), beam.numbers("spans_in")
    left_in = spans_in[place - 1] / 2 if place else beam.number("overhang_left_in")
    right_in = spans_in[place] / 2 if place < len(spans_in) else beam.number("overhang_right_in")
    return beam_tributary_in(beam, deck) * (left_in + right_in) / 144


def spans_beside_in(post: PartView, deck: DeckView) -> tuple[float, float]:
    """The longer beam span beside a post and the joist span on the beam, inches, as DCA 6 Table 4 goes by them."""
    beam = post.part_named("beam")
    place, spans_in = place_of(post, beam), beam.numbers("spans_in")
    return max(spans_in[max(0, place - 1) : place + 1]), max(side[0] for side in beam_joists(beam, deck))


@check(each="post", id="post.height_table", link=Link.POSTS, title="Post height by the published table",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def height_table(post: PartView, deck: DeckView) -> Result:
    live_psf, snow_psf = table_loads(deck)
    beam_span_in, joist_span_in = spans_beside_in(post, deck)
    found = _post_height(
        edition_of(deck), post.text("species"), post.text("size"), post_area_sqft(post, deck), live_psf, snow_psf,
        beam_span_in=beam_span_in, joist_span_in=joist_span_in,
    )  # fmt: skip
    note_source(deck, found, "post height table")
    return at_most(post.number("height_in"), found.value, "in", found.citation, "height")


@check(each="post", id="post.size", link=Link.POSTS, title="Least size of a post", method=Method.PRESCRIPTIVE)
def size(post: PartView, deck: DeckView) -> Result:
    code, key = edition_of(deck), "post.min_size_dca6"
    if not code.name.startswith("DCA 6") and key not in {local.key for local in code.amendments}:
        return None  # the IRC has no least size apart from its height table
    rule, side = rule_of(deck, key), find_size(post.text("size"))
    return at_least(min(side.width_in, side.depth_in), rule.value, "in", rule.citation, "least side of the post")


@check(each="post", id="post.foot", link=Link.POSTS, title="Foot of the post", method=Method.PRESCRIPTIVE,
       citation="IRC R507.4.1")  # fmt: skip
def foot(post: PartView, deck: DeckView) -> Result:
    base = post.text("base")
    if base in ("in the ground", "set in concrete"):
        raise CannotJudge(
            f"the foot of {post.subject} is {base}, where wood decays out of sight",
            f"dig or probe around the foot of {post.subject}, below the line of the ground",
        )
    deck.run.rests_on_memory("a post is held against moving at its foot (IRC R507.4.1)", "post.foot_held")
    return yes_no(base == "metal base above the concrete", "IRC R507.4.1", base)


@check(
    each="post", id="post.bracing", link=Link.POSTS, title="Diagonal braces at the posts", method=Method.PRESCRIPTIVE
)
def bracing(post: PartView, deck: DeckView) -> Result:
    level = post.part_named("beam").refers_to("level")
    is_free = level is not None and level.text("stands") == "free-standing"
    if not (is_free or edition_of(deck).name.startswith("DCA 6")):
        return None  # the IRC leaves a deck that is tied to the house without a bracing rule
    rule = rule_of(deck, "brace.post_height_trigger")
    height_in = post.number("height_in")
    if height_in <= rule.value:
        return None
    braced = post.flag("is_braced")
    return yes_no(braced, rule.citation, f"{'braced' if braced else 'no brace'} at {height_in:g} in of height")


@check(each="post", id="post.bracing_across", link=Link.POSTS, title="Diagonal braces square to the beam",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def bracing_across(post: PartView, deck: DeckView) -> Result:
    """No house holds a free-standing deck: it needs braces both ways."""
    level = post.part_named("beam").refers_to("level")
    if level is None or level.text("stands") != "free-standing":
        return None
    rule, height_in = rule_of(deck, "brace.post_height_trigger"), post.number("height_in")
    if height_in <= rule.value:
        return None
    braced = post.flag("is_braced_across")
    return yes_no(braced, rule.citation, f"{'braced' if braced else 'no brace'} square to the beam at {height_in:g} in")


@check(each="post", id="post.seat_bolts", link=Link.POSTS, title="Bolts that hold a beam to the side of a post",
       twin="beam.seat", wider=("beam.seat", "beam"),
       why_apart="the rule does not count side bolts as bearing, whatever they carry")  # fmt: skip
def seat_bolts(post: PartView, deck: DeckView) -> Result:
    beam = post.part_named("beam")
    if beam.text("seat") != SIDE_BOLTED:
        return None
    lumber, side = lumber_of(post, deck), beam_lumber(beam, deck)
    bolts = beam.count("seat_bolts")
    if not bolts:
        return yes_no(False, "statics", "no bolt holds the beam to the post")
    z = lateral(
        Fastener("bolt", beam.number("seat_bolt_diameter_in")),
        main=Part(design_values(lumber).specific_gravity, lumber.depth_in, 0),
        side=Part(design_values(side).specific_gravity, side.width_in, 90),
    )
    loads = loads_of(deck)
    combination = max(loads.combinations, key=lambda each: post_reaction_lb(post, deck, each) / each.load_duration)
    group, group_steps = _bolts_in_a_row(beam, lumber, side, bolts, deck)
    one = adjusted_lateral(
        z, load_duration=combination.load_duration, wet=lumber.wet, group_action=group,
        geometry=_seat_geometry(beam, side.depth_in, bolts),
    )  # fmt: skip
    load_lb = post_reaction_lb(post, deck, combination)
    total = Step("R", "Z * n", {"Z": one.value, "n": float(bolts)}, one.value * bolts, "lb", "NDS 12.3")
    note = "all plies on one side of the post; the bolts stand in one row up the post"
    steps = (*reaction_steps(post, deck, combination), *group_steps, *one.steps, total)
    return Comparison(load_lb, total.value, "lb", f"mode {z.mode}", steps, (note, *one.assumptions), "NDS 12.3, 11.3")


def _seat_geometry(beam: PartView, depth_in: float, bolts: int) -> Geometry:
    """The lesser geometry factor of beam and post: the bolts press the beam up to its top edge, the post down."""
    diameter_in = beam.number("seat_bolt_diameter_in")
    top_in = beam.number("seat_bolt_from_top_in") if beam.has("seat_bolt_from_top_in") else None
    spacing_in = beam.number("seat_bolt_spacing_in") if bolts > 1 and beam.has("seat_bolt_spacing_in") else None
    left_in = None
    if top_in is not None and (bolts == 1 or spacing_in is not None):
        left_in = depth_in - top_in - (bolts - 1) * (spacing_in or 0.0)
        if left_in <= 0:
            raise OutOfRange("seat_bolt_spacing_in", spacing_in, f"all bolts on the beam, {depth_in:g} in deep")
    of_beam = geometry_factor(
        diameter_in, direction="perpendicular", row_spacing_in=spacing_in, edge_distance_in=top_in,
        unloaded_edge_distance_in=left_in,
    )  # fmt: skip
    of_post = geometry_factor(diameter_in, direction="compression", row_spacing_in=spacing_in)
    return min(of_beam, of_post, key=lambda each: each.factor)


def _bolts_in_a_row(
    beam: PartView, post: Lumber, side: Lumber, bolts: int, deck: DeckView
) -> tuple[float, tuple[Step, ...]]:
    """Group action of the bolts in one row up the post. A beam across its grain counts four diameters of its width.

    Source: NDS 11.3.6, 11.3.6.3 (across the grain, from memory).
    """
    diameter_in = beam.number("seat_bolt_diameter_in")
    if bolts > 1 and beam.has("seat_bolt_spacing_in"):
        apart_in = beam.number("seat_bolt_spacing_in")
    else:
        apart_in = 4 * diameter_in
        if bolts > 1:
            deck.run.assume(f"bolts of {beam.subject} taken four diameters apart")
    main_lb = design_values(post).e * post.area_in2
    side_lb = design_values(side).e * side.width_in * 4 * diameter_in
    return group_action_factor(bolts, apart_in, diameter_in, main_lb, side_lb)
