"""The words of the walk: its links in order, what to look at there, the kinds of parts, the names of the facts."""

from dataclasses import dataclass

from engine.facts import label as engine_label
from engine.units import format_feet_inches, format_inches
from engine.vocabulary import BY_NAME, KINDS, Fact, Link


@dataclass(frozen=True)
class Stop:
    """One link of the load path as a stop of the walk. `kinds` are the parts that are recorded there."""

    slug: str
    link: Link
    title: str
    look: str
    kinds: tuple[str, ...]


STOPS = (
    Stop("surface", Link.SURFACE, "Surface", "What one walks on: size, height, boards, and what else stands on it.",
         ("level", "patch")),
    Stop("joists", Link.JOISTS, "Joists", "Size, spacing and clear span of each field; how both ends rest.",
         ("joist_field",)),
    Stop("ledger", Link.LEDGER, "Ledger and house",
         "The board at the house, every fastener in it, and what they bite into behind it.",
         ("ledger", "fastener", "lateral_tie")),
    Stop("beam", Link.BEAM, "Beams", "Plies, spans from post to post, splices, and how the beam sits.", ("beam",)),
    Stop("posts", Link.POSTS, "Posts", "Size, height, notches, braces, and what holds the foot.", ("post",)),
    Stop("footings", Link.FOOTINGS, "Footings", "Width and depth, as far as they can be dug or probed.", ("footing",)),
    Stop("edge", Link.EDGE, "Edge", "Guards: height, openings, and above all what holds the posts.", ("guard",)),
    Stop("way-up", Link.WAY_UP, "Way up", "Stairs: every riser and tread, stringers, handrail.", ("stair",)),
    Stop("water", Link.WATER, "Water", "Flashing, stains, soft wood under the probe, moisture by meter.", ()),
)  # fmt: skip
BY_SLUG = {stop.slug: stop for stop in STOPS}
BY_LINK = {stop.link: stop for stop in STOPS}
STOP_OF_KIND = {kind: stop for stop in STOPS for kind in stop.kinds}

KIND_WORDS = {
    "level": ("level", "levels"),
    "ledger": ("ledger", "ledgers"),
    "fastener": ("fastener", "fasteners"),
    "joist_field": ("field of joists", "fields of joists"),
    "beam": ("beam", "beams"),
    "post": ("post", "posts"),
    "footing": ("footing", "footings"),
    "guard": ("guard", "guards"),
    "stair": ("flight of stairs", "flights of stairs"),
    "lateral_tie": ("tie to the house floor", "ties to the house floor"),
    "patch": ("extra load", "extra loads"),
}

_LABELS = {
    ("level", "stands"): "Held up at the house",
    ("level", "height_in"): "Height above the ground",
    ("level", "width_in"): "Width along the house",
    ("level", "depth_in"): "Depth from the house",
    ("level", "board_span"): "Shortest board rests on",
    ("level", "surface_condition"): "Boards underfoot",
    ("ledger", "house_band"): "Fastened into",
    ("ledger", "joist_span_in"): "Span of its joists",
    ("fastener", "position_in"): "Place along the ledger",
    ("fastener", "fastener"): "Kind of fastener",
    ("fastener", "condition"): "As found",
    ("fastener", "corrosion_loss_in"): "Diameter lost to rust",
    ("joist_field", "span_in"): "Clear span",
    ("joist_field", "hanger_rated_lb"): "Hanger rated for",
    ("joist_field", "hanger_fasteners_present"): "Hanger holes filled",
    ("joist_field", "house_end"): "House end held by",
    ("joist_field", "count"): "Number of joists",
    ("beam", "spans_in"): "Spans from post to post",
    ("beam", "runs"): "Over the posts it is",
    ("beam", "seat"): "Rests on the posts",
    ("beam", "joist_span_in"): "Span of its joists",
    ("beam", "joist_overhang_in"): "Overhang of its joists",
    ("post", "position_in"): "Place along the beam",
    ("post", "is_braced"): "Braced to the beam",
    ("post", "base"): "Foot of the post",
    ("footing", "width_in"): "Diameter or side",
    ("guard", "is_present"): "There is a guard",
    ("guard", "attachment"): "Posts held by",
    ("guard", "bolts"): "Bolts at each post",
    ("guard", "hold_down_rated_lb"): "Hold-down rated for",
    ("stair", "risers_in"): "Risers, bottom to top",
    ("stair", "treads_in"): "Treads, nosing to nosing",
    ("stair", "top_held_by"): "Top of the stringers held by",
    ("stair", "can_be_gripped"): "Rail can be gripped",
    ("lateral_tie", "rated_lb"): "Rated for",
    ("level", "decking_rated_span_in"): "Boards rated for joists at",
    ("level", "decking_board"): "Size of a board",
    ("joist_field", "house_nails"): "Nails at each joist, at the house",
    ("joist_field", "house_nailing"): "Nails alone hold it as",
    ("joist_field", "strip_width_in"): "Ledger strip stands out by",
    ("beam", "seat_bolt_from_top_in"): "Upper side bolt below the top",
    ("beam", "ply_fastener"): "Plies held together by",
    ("beam", "ply_fastener_rows"): "Rows of ply fasteners",
    ("beam", "ply_fastener_spacing_in"): "Ply fasteners apart in a row",
    ("post", "is_braced_across"): "Braced to the joists",
    ("post", "brace_size"): "Board of a brace",
    ("post", "brace_lies"): "Braces are",
    ("post", "brace_drop_in"): "Brace starts below the beam by",
    ("post", "brace_run_in"): "Brace ends from the post",
    ("post", "brace_fastener"): "Ends of a brace held by",
    ("post", "brace_fasteners"): "Fasteners at each end of a brace",
    ("post", "tie_uplift_rated_lb"): "Tie to the beam rated for",
    ("guard", "washer_in"): "Washers across",
    ("ledger", "washer_in"): "Washers across",
    ("guard", "baluster_fasteners"): "Fasteners at each end of a baluster",
    ("guard", "rail_fasteners"): "Fasteners at each end of the top rail",
    ("stair", "tread_size"): "Board of a tread",
    ("patch", "what"): "What stands there",
}


def fact_label(kind: str, fact: Fact) -> str:
    """What a fact is called on the page, with its unit where the value is a bare number."""
    words = _LABELS.get((kind, fact.name)) or engine_label(fact).capitalize()
    unit = fact.unit if fact.kind == "number" and fact.unit != "fraction" else ""
    return f"{words}, {unit}" if unit else words


def water_facts(kind: str) -> tuple[Fact, ...]:
    """The facts of a kind of part that belong to the link of water."""
    return tuple(fact for fact in BY_NAME[kind].facts if fact.link == Link.WATER)


# The metal of a fastener is told where its kind and length are: on the strip of its ledger.
WATER_KINDS = tuple(kind.name for kind in KINDS if water_facts(kind.name) and kind.name != "fastener")


def stop_for(kind: str, slug: str) -> Stop:
    """The stop of that name if a part of the kind is recorded there, else the one where it is."""
    own = STOP_OF_KIND[kind]
    asked = BY_SLUG.get(slug, own)
    return asked if asked.link == Link.WATER and kind in WATER_KINDS else own


def quantity(value: float, unit: str) -> str:
    """A value as the trade writes it: lengths as on a tape, large numbers without decimals, the unit behind."""
    if unit == "in":
        return format_feet_inches(value) if value >= 24 else format_inches(value)
    digits = f"{value:,.0f}" if abs(value) >= 100 else f"{value:,.1f}" if abs(value) >= 10 else f"{value:,.2f}"
    return f"{digits} {unit}".strip()


def plainly(value: object) -> str:
    """A number of a derivation as one would put it into a calculator: five figures, no trailing zeros."""
    return f"{value:.5g}" if isinstance(value, float) else str(value)
