"""The single questions: their options, and how each is put to the formula modules."""

from __future__ import annotations

from typing import Any

from engine.command_line.questions import Answer, Ask, Option
from engine.loads import Loads
from engine.lumber import Lumber

_WOOD = (
    Option("species", "species or species group, such as southern pine", required=True),
    Option("grade", "visual grade", default="No. 2"),
    Option("dry", "wood stays at or below 19 % moisture (left out: wet)", "flag"),
    Option("incised", "the treatment left incisions", "flag"),
)
_LOADS = (
    Option("live", "live load", "number", "psf", 40.0, low=1, high=250),
    Option("dead", "the deck's own weight", "number", "psf", 10.0, high=100),
    Option("snow", "snow on the deck", "number", "psf", 0.0, high=300),
)


def _lumber(given: dict[str, Any], plies: int = 1, repetitive: bool = False) -> Lumber:
    return Lumber(
        given["species"], given["grade"], given["size"], plies=plies, wet=not given["dry"], incised=given["incised"],
        repetitive=repetitive,
    )  # fmt: skip


def _loads(given: dict[str, Any]) -> Loads:
    return Loads(live=given["live"], dead=given["dead"], snow=given["snow"])


def joist_span(given: dict[str, Any]) -> Answer:
    """The longest joist span."""
    from engine.joists import max_joist_span

    limit = max_joist_span(
        _lumber(given, repetitive=not given["alone"]), given["spacing"], _loads(given), given["overhang"],
        given["deflection"],
    )  # fmt: skip
    values = {"span_in": limit.value_in, "governs": limit.governs, "candidates_in": dict(limit.candidates)}
    return Answer(values, limit.steps, limit.assumptions)


def beam_span(given: dict[str, Any]) -> Answer:
    """The longest beam span."""
    from engine.beams import max_beam_span

    plies = given["plies"]
    limit = max_beam_span(
        _lumber(given, plies, plies >= 3), given["joist-span"], _loads(given), given["joist-overhang"],
        given["deflection"],
    )  # fmt: skip
    values = {"span_in": limit.value_in, "governs": limit.governs, "candidates_in": dict(limit.candidates)}
    return Answer(values, limit.steps, limit.assumptions)


def post(given: dict[str, Any]) -> Answer:
    """What a post carries at its height; with an area, how tall it may be."""
    from engine.posts import max_post_height, post_capacity

    lumber = _lumber(given)
    capacity = post_capacity(
        lumber, given["height"], given["load-duration"], notch_depth_in=given["notch"],
        eccentricity_in=given["eccentricity"],
    )  # fmt: skip
    values: dict[str, object] = {
        "load_lb": capacity.load_lb, "governs": capacity.governs, "slenderness": capacity.slenderness,
    }  # fmt: skip
    if given["area"] is None:
        return Answer(values, capacity.steps, capacity.assumptions)
    limit = max_post_height(lumber, given["area"], _loads(given))
    values |= {"height_in": limit.value_in, "height_governs": limit.governs}
    assumptions = dict.fromkeys((*capacity.assumptions, *limit.assumptions))
    return Answer(values, (*capacity.steps, *limit.steps), tuple(assumptions))


def footing(given: dict[str, Any]) -> Answer:
    """The footing that an area of deck asks for."""
    from engine.footings import required_footing

    found = required_footing(given["area"], _loads(given), given["soil"])
    values = {"square_in": found.square_in, "round_in": found.round_in, "thickness_in": found.thickness_in}
    return Answer({**values, "load_lb": found.load_lb}, found.steps, found.assumptions)


def fastener(given: dict[str, Any]) -> Answer:
    """Reference values of one fastener, before adjustment."""
    from engine.errors import DeckFaults, Fault
    from engine.fasteners import Fastener, Part, driven_into, lateral, withdrawal

    one = Fastener(
        given["kind"], given["diameter"], length_in=given["length"], root_diameter_in=given["root-diameter"],
        bending_yield_psi=given["bending-yield"],
    )  # fmt: skip
    if given["withdrawal"]:
        pulled = withdrawal(one, given["main-gravity"])
        return Answer({"w_lb_per_in": pulled.w_lb_per_in}, pulled.steps, ())
    if given["side-thickness"] is None or given["main-thickness"] is None:
        raise DeckFaults([Fault("--side-thickness and --main-thickness", None, "needed for a lateral value")])
    if given["shear-planes"] == 2 or one.kind == "bolt":
        main = Part(given["main-gravity"], given["main-thickness"], given["main-angle"], is_through=True)
    else:
        passed_in, thick_in = given["side-thickness"], given["main-thickness"]
        main = driven_into(one, given["main-gravity"], given["main-angle"], passed_in, thick_in)
    side_gravity = None if given["side-material"] else given["side-gravity"]
    side = Part(side_gravity, given["side-thickness"], given["side-angle"], material=given["side-material"])
    found = lateral(one, main, side, given["shear-planes"])
    return Answer({"z_lb": found.z_lb, "mode": found.mode, "modes_lb": dict(found.modes)}, found.steps, ())


def guard_post(given: dict[str, Any]) -> Answer:
    """Moment, bolt tension and post stress under a push at the top."""
    from engine.guards import guard_post_demand
    from engine.sections import find_size

    size = find_size(given["size"])
    found = guard_post_demand(
        given["height"],
        upper_bolt_below_rim_top_in=given["upper-bolt"],
        bolt_spacing_in=given["bolt-spacing"],
        rim_depth_in=given["rim-depth"],
        pivot=given["pivot"],
        decking_in=given["decking"],
        post_width_in=size.width_in,
        post_depth_in=size.depth_in,
        notch_in=given["notch"],
        load_lb=given["load"],
        direction=given["direction"],
    )
    values: dict[str, object] = {
        "moment_in_lb": found.moment_in_lb, "bolt_tension_lb": found.bolt_tension_lb,
        "bolt_shear_lb": found.bolt_shear_lb, "post_stress_psi": found.post_stress_psi,
    }  # fmt: skip
    return Answer(values, found.steps, found.assumptions)


CATALOGUE: dict[str, tuple[tuple[Option, ...], Ask, str]] = {
    "joist-span": (
        (
            *_WOOD,
            Option("size", "nominal size, such as 2x10", required=True),
            Option("spacing", "centre to centre", "length", required=True),
            Option("overhang", "past the beam", "length", default=0.0),
            Option("deflection", "n of the live-load limit span/n", "number", default=360.0, low=60, high=1200),
            Option("alone", "fewer than three joists share the load", "flag"),
            *_LOADS,
        ),
        joist_span,
        "the longest span (in) that holds in bending, shear and deflection",
    ),
    "beam-span": (
        (
            *_WOOD,
            Option("size", "nominal size of one ply, such as 2x10", required=True),
            Option("plies", "boards side by side", "count", default=1, low=1, high=4),
            Option("joist-span", "span of the joists on it", "length", required=True),
            Option("joist-overhang", "of the joists past the beam (left out: a quarter of their span)", "length"),
            Option("deflection", "n of the limit span/n", "number", default=360.0, low=60, high=1200),
            *_LOADS,
        ),
        beam_span,
        "the longest span (in) from post to post",
    ),
    "post": (
        (
            *_WOOD,
            Option("size", "nominal size, such as 6x6", required=True),
            Option("height", "top of footing to underside of beam", "length", required=True),
            Option("notch", "cut out at the beam seat", "length", default=0.0),
            Option("eccentricity", "of the load from the middle of the post", "length", default=0.0),
            Option("load-duration", "load duration factor CD", "number", default=1.0, low=0.9, high=2),
            Option(
                "area", "deck area on the post: asks how tall it may be as well", "number", "sq ft", low=1, high=2000
            ),
            *_LOADS,
        ),
        post,
        "the load (lb) that a post carries; with --area the greatest height (in)",
    ),
    "footing": (
        (
            Option("area", "deck area on the post", "number", "sq ft", required=True, low=1, high=2000),
            Option("soil", "soil bearing", "number", "psf", 1500.0, low=500, high=12000),
            *_LOADS,
        ),
        footing,
        "side, diameter and thickness (in) of a footing",
    ),
    "fastener": (
        (
            Option("kind", "bolt, lag screw, nail or wood screw", required=True),
            Option("diameter", "nominal", "length", required=True),
            Option("length", "under the head; not needed for a bolt", "length"),
            Option("root-diameter", "at the root of the thread, where it is not a standard one", "length"),
            Option(
                "bending-yield",
                "of the fastener, where it is not a standard one",
                "number",
                "psi",
                low=20000,
                high=250000,
            ),
            Option("main-gravity", "specific gravity of the main member", "number", required=True, low=0.31, high=0.73),
            Option("main-thickness", "of the main member", "length"),
            Option("main-angle", "load to grain in the main member", "number", "degrees", 0.0, high=90),
            Option("side-gravity", "specific gravity of the side member", "number", low=0.31, high=0.73),
            Option("side-thickness", "of the side member", "length"),
            Option("side-angle", "load to grain in the side member", "number", "degrees", 0.0, high=90),
            Option("side-material", "A36 steel, A653 steel or concrete, instead of wood"),
            Option("shear-planes", "planes the fastener is cut in", "count", default=1, low=1, high=2),
            Option("withdrawal", "ask for pull-out instead: lb per inch", "flag"),
        ),
        fastener,
        "the reference lateral value Z (lb) or withdrawal value W (lb/in), before adjustment",
    ),
    "guard-post": (
        (
            Option("height", "top of the guard above the walking surface", "length", required=True),
            Option("upper-bolt", "below the top of the rim", "length", default=2.0),
            Option("bolt-spacing", "upper to lower bolt", "length"),
            Option("rim-depth", "actual depth of the rim", "length"),
            Option("pivot", "lower bolt or rim bottom", default="lower bolt"),
            Option("decking", "thickness between surface and top of the rim", "length", default=1.0),
            Option("size", "nominal size of the post", default="4x4"),
            Option("notch", "cut out of the post", "length", default=0.0),
            Option("load", "push at the top", "number", "lb", 200.0, low=1, high=2000),
            Option("direction", "outward, inward or downward", default="outward"),
        ),
        guard_post,
        "moment (in-lb), pull on the bolts (lb) and stress of the post (psi)",
    ),
}
