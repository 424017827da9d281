# ruff: noqa: E501 (one fact a line reads as the table it is)
"""The vocabulary of a deck file: which parts a deck has, which facts are kept of each, in which unit and range.

One place for three readers: `engine.deck` validates against it, `python -m engine schema` prints it as JSON Schema, and
whoever records a deck builds the entry form from it. Lengths are inches, loads psf or lb, unless the name says otherwise.

A fact may be absent (nobody wrote it down) or "unknown" (looked for and not found). An absent one takes its `default`,
which the check lists as an assumption; without a default its `candidates`, the values it may plausibly have, are tried
one by one; with neither, the checks that need it answer `cannot tell` and ask for it. An unknown one never takes a
default, unless `default_if_unknown` says that the default is meant for that: its candidates are tried, or else every
choice it has.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from typing import Literal

from engine.records import dataclass


class Link(StrEnum):
    """The links of the load path, and what stands beside it."""

    SURFACE = "surface"
    JOISTS = "joists"
    LEDGER = "ledger and house"
    BEAM = "beam"
    POSTS = "posts"
    FOOTINGS = "footings"
    EDGE = "edge"
    WAY_UP = "way up"
    WATER = "water"


Kind = Literal["length", "number", "count", "choice", "yes-no", "text", "lengths", "reference"]


@dataclass(frozen=True)
class Fact:
    """One fact of a part: its name (with the unit where it has one), kind, range and meaning."""

    name: str
    kind: Kind
    meaning: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    choices: tuple[str, ...] = ()
    refers_to: str = ""
    required: bool = False
    default: object = None
    default_why: str = ""
    default_if_unknown: bool = False
    candidates: tuple[object, ...] = ()
    link: Link | None = None
    is_detail: bool = False  # seldom measured: a form may keep it back until a check asks for it


@dataclass(frozen=True)
class PartKind:
    """A kind of part: the list it stands in, its link of the load path, its facts."""

    name: str
    plural: str
    link: Link
    meaning: str
    facts: tuple[Fact, ...]
    index: Mapping[str, Fact] = field(init=False, compare=False, repr=False)
    references: tuple[str, ...] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "index", {fact.name: fact for fact in self.facts})
        object.__setattr__(self, "references", tuple(fact.name for fact in self.facts if fact.kind == "reference"))


def _length(name: str, meaning: str, low: float, high: float, **more: object) -> Fact:
    return Fact(name, "length", meaning, "in", low, high, **more)  # type: ignore[arg-type]


SPECIES = (
    "southern pine", "douglas fir-larch", "hem-fir", "spruce-pine-fir", "spruce-pine-fir (south)", "redwood",
    "western cedars", "northern species",
)  # fmt: skip
GRADES = ("Select Structural", "No. 1", "No. 2", "No. 3")
JOIST_SIZES = ("2x6", "2x8", "2x10", "2x12")
BEAM_SIZES = ("2x6", "2x8", "2x10", "2x12", "3x6", "3x8", "3x10", "3x12", "4x6", "4x8", "4x10", "4x12", "6x6", "6x8")
POST_SIZES = ("4x4", "4x6", "6x6", "8x8")
DECKING = ("1-1/4 in thick wood", "2 in thick wood", "composite", "other")
HOUSE_BANDS = (
    "2x lumber", "1 in engineered wood", "1-1/8 in engineered wood", "engineered I-joist rim", "end of a floor truss",
    "masonry veneer", "concrete or masonry wall", "cantilevered floor",
)  # fmt: skip
FASTENER_KINDS = ("bolt", "lag screw", "nail", "wood screw")
CONDITIONS = ("good", "loose", "missing", "corroded", "not seen")
POST_ATTACHMENTS = (
    "bolts with a hold-down tension device", "bolts through rim and blocking", "bolts through the rim only",
    "lag screws", "nails or screws", "bracket on the surface",
)  # fmt: skip

METALS = (
    "plain steel", "electroplated steel", "hot-dip galvanized steel", "G90 galvanized sheet", "G185 galvanized sheet",
    "stainless steel 304", "stainless steel 316", "aluminum",
)  # fmt: skip

# What a plain visit leaves open: no grade stamp in sight. These four span the range of treated framing sold in
# North America (common practice, no published source).
LIKELY_SPECIES: tuple[object, ...] = ("southern pine", "douglas fir-larch", "hem-fir", "spruce-pine-fir")
LIKELY_GRADES: tuple[object, ...] = ("No. 1", "No. 2", "No. 3")


def _wood(sizes: tuple[str, ...]) -> tuple[Fact, ...]:
    return (
        Fact("size", "choice", "nominal size, width by depth in inches", choices=sizes),
        Fact("species", "choice", "species or species group", choices=SPECIES, candidates=LIKELY_SPECIES),
        Fact("grade", "choice", "visual grade by the stamp", choices=GRADES, default="No. 2",
             candidates=LIKELY_GRADES, default_why="the grade behind every prescriptive deck table (DCA 6 Table 2 note 1)"),
        Fact("is_incised", "yes-no", "cut by incising before treatment", default=None, candidates=(True, False)),
    )  # fmt: skip


_DECAY = (
    Fact("decay_depth_in", "length", "depth a probe goes into soft wood, deepest place", "in", 0, 6,
         default=0.0, default_why="no soft wood was recorded", link=Link.WATER),
    Fact("moisture_percent", "number", "moisture content by meter", "%", 0, 100, link=Link.WATER),
)  # fmt: skip

_LEVEL = Fact("level", "reference", "the level it belongs to", refers_to="level")

KINDS: tuple[PartKind, ...] = (
    PartKind("level", "levels", Link.SURFACE, "one walking surface at one height", (
        _length("height_in", "walking surface above the ground below, at the highest edge", 0, 600),
        _length("width_in", "along the house", 12, 1200),
        _length("depth_in", "away from the house", 12, 600),
        Fact("stands", "choice", "how it is held up at the house", choices=("on a ledger", "free-standing"), required=True),
        Fact("decking", "choice", "what one walks on", choices=DECKING),
        Fact("decking_direction", "choice", "boards across the joists", choices=("perpendicular", "diagonal"),
             default="perpendicular", default_why="the usual way to lay boards (common practice, no published source)"),
        Fact("board_span", "choice", "the shortest board rests on", choices=("two joists", "three or more joists"),
             default="three or more joists", default_why="long boards (common practice, no published source)"),
        _length("decking_rated_span_in", "greatest joist spacing the boards' maker rates them for, as they lie; of a composite board or another", 4, 48, is_detail=True),
        Fact("decking_species", "choice", "of 2 in thick boards, where it is known", choices=SPECIES, is_detail=True),
        Fact("decking_grade", "choice", "of 2 in thick boards", choices=GRADES, default="No. 2", candidates=LIKELY_GRADES, default_why="no stamp was recorded"),
        Fact("decking_board", "choice", "2 in thick boards, nominal", choices=("2x4", "2x6"), default="2x6", default_why="the usual deck board (common practice, no published source)"),
        Fact("surface_condition", "choice", "boards underfoot", choices=("firm", "some soft boards", "soft or broken"),
             link=Link.WATER),
    )),
    PartKind("ledger", "ledgers", Link.LEDGER, "the board that fastens a level to the house", (
        _LEVEL,
        _length("length_in", "end to end", 12, 1200),
        *_wood(JOIST_SIZES),
        Fact("house_band", "choice", "what the fasteners bite into at the house", choices=HOUSE_BANDS),
        _length("sheathing_in", "sheathing and spacers between ledger and band", 0, 3),
        _length("joist_span_in", "span of the joists it carries; taken from the joists where left out", 12, 300),
        _length("upper_row_from_top_in", "upper fasteners below the top edge of the ledger", 0, 12),
        _length("lower_row_from_bottom_in", "lower fasteners above the bottom edge of the ledger", 0, 12),
        _length("washer_in", "outside diameter of the washers under heads and nuts; 0 where there are none", 0, 6, is_detail=True),
        Fact("flashing", "choice", "flashing over the ledger", choices=("lapped behind the wall covering", "present, not lapped", "none", "cannot be seen"), link=Link.WATER),
        Fact("staining", "yes-no", "water marks on the ledger or the wall below", link=Link.WATER),
        *_DECAY,
    )),
    PartKind("fastener", "fasteners", Link.LEDGER, "one fastener of a ledger", (
        Fact("ledger", "reference", "the ledger it is in", refers_to="ledger", required=True),
        _length("position_in", "from the left end of the ledger, facing the house", 0, 1200, required=True),
        Fact("row", "choice", "height in the ledger", choices=("upper", "lower", "middle")),
        Fact("fastener", "choice", "kind", choices=FASTENER_KINDS),
        _length("diameter_in", "nominal diameter", 0.08, 1.5),
        _length("length_in", "under the head", 0.5, 24),
        Fact("condition", "choice", "as found", choices=CONDITIONS, default="good", default_why="nothing else was recorded"),
        _length("corrosion_loss_in", "diameter lost to rust", 0, 1, default=0.0, default_why="no loss was recorded"),
        Fact("metal", "choice", "metal and coat", choices=METALS, link=Link.WATER),
        Fact("anchor_rated_lb", "number", "allowable shear of an anchor in concrete or masonry, from its maker", "lb", 50, 20000),
    )),
    PartKind("joist_field", "joist_fields", Link.JOISTS, "joists of one size, span and spacing", (
        _LEVEL,
        *_wood(JOIST_SIZES),
        _length("spacing_in", "centre to centre", 4, 48),
        Fact("count", "count", "number of joists", "", 1, 400),
        _length("span_in", "clear between supports", 12, 480),
        _length("overhang_in", "past the outer beam", 0, 120, default=0.0, default_why="no overhang was recorded"),
        Fact("ledger", "reference", "ledger at the house end; left out where a beam stands there", refers_to="ledger"),
        Fact("inner_beam", "reference", "beam at the house end of a free-standing level", refers_to="beam"),
        Fact("beam", "reference", "beam at the outer end", refers_to="beam"),
        Fact("house_end", "choice", "how the house end is held", choices=("joist hanger", "ledger strip", "on top of a beam", "nails only")),
        Fact("hanger_rated_lb", "number", "allowable download of the hanger, from its maker", "lb", 50, 10000),
        Fact("hanger_fasteners_present", "number", "share of the hanger's holes filled with the right fastener", "fraction", 0, 1,
             default=1.0, default_why="all were recorded as filled"),
        Fact("hanger_fasteners", "choice", "what fills the hanger's holes", choices=("as the maker lists", "others"),
             default="as the maker lists", default_why="no other fasteners were recorded"),
        _length("hanger_depth_in", "height of the hanger's sides along the joist", 1, 16, is_detail=True),
        Fact("uplift_clip_rated_lb", "number", "allowable uplift of the clip at the house end, from its maker", "lb", 10, 10000),
        Fact("house_nails", "count", "nails at the house end of each joist: in the ledger strip under it, or in the joist itself", "", 0, 12, is_detail=True),
        _length("house_nail_diameter_in", "of the nails at the house end of each joist", 0.08, 0.25, is_detail=True),
        _length("house_nail_length_in", "of the nails at the house end of each joist, under the head", 1, 6, is_detail=True),
        Fact("house_nailing", "choice", "how nails alone hold the joist", choices=("toe-nails", "through the ledger or rim into the joist's end"), is_detail=True),
        _length("strip_width_in", "how far the ledger strip stands out under the joist", 0.5, 6, is_detail=True),
        _length("bearing_in", "length of bearing on the outer beam", 0, 12, default=1.5,
                default_why="the least the rule asks (IRC R507.6.1)"),
        _length("notch_depth_in", "cut out of the underside at the support", 0, 8, default=0.0, default_why="no notch was recorded"),
        *_DECAY,
    )),
    PartKind("beam", "beams", Link.BEAM, "a beam under joists", (
        _LEVEL,
        *_wood(BEAM_SIZES),
        Fact("plies", "count", "boards side by side", "", 1, 4, required=True),
        Fact("spans_in", "lengths", "spans from post to post, centre to centre, left to right", "in", 6, 480),
        _length("overhang_left_in", "past the left post", 0, 120, default=0.0, default_why="no overhang was recorded"),
        _length("overhang_right_in", "past the right post", 0, 120, default=0.0, default_why="no overhang was recorded"),
        Fact("runs", "choice", "over the posts", choices=("continuous", "spliced over posts", "spliced between posts")),
        _length("joist_span_in", "span of the joists it carries; taken from the joists where left out", 12, 480),
        _length("joist_overhang_in", "overhang of the joists it carries; taken from the joists where left out", 0, 120),
        Fact("seat", "choice", "how it rests on the posts", choices=("on top of the post", "in a notch of the post", "bolted to the side of the post")),
        Fact("ply_fastener", "choice", "what holds the plies together", choices=("nail", "wood screw", "bolt", "nothing seen"), is_detail=True),
        _length("ply_fastener_diameter_in", "of the nails, screws or bolts of the plies", 0.08, 1, is_detail=True),
        _length("ply_fastener_length_in", "of the nails or screws of the plies, under the head", 1, 12, is_detail=True),
        Fact("ply_fastener_rows", "count", "rows of nails, screws or bolts along the beam, one above the other", "", 1, 6, is_detail=True),
        _length("ply_fastener_spacing_in", "from one to the next in a row of the plies", 1, 96, is_detail=True),
        Fact("seat_bolts", "count", "bolts at each post, where bolted to the side or let into a notch", "", 0, 8),
        _length("seat_bolt_diameter_in", "where bolted to the side or let into a notch", 0.25, 1),
        _length("seat_bolt_from_top_in", "upper bolt below the top of the beam, where bolted to the side", 0.5, 14, is_detail=True),
        _length("seat_bolt_spacing_in", "bolt to bolt up the post, where bolted to the side", 0.5, 12, is_detail=True),
        _length("bearing_in", "length of bearing on a post", 0, 12),
        *_DECAY,
    )),
    PartKind("post", "posts", Link.POSTS, "a post under a beam", (
        Fact("beam", "reference", "the beam it carries", refers_to="beam", required=True),
        _length("position_in", "from the left end of the beam", 0, 1200),
        *_wood(POST_SIZES),
        _length("height_in", "top of the footing to underside of the beam", 1, 480),
        _length("notch_depth_in", "cut out of the post where the beam sits", 0, 6, default=0.0, default_why="no notch was recorded"),
        Fact("is_braced", "yes-no", "diagonal braces to the beam", default=False, default_why="no brace was recorded"),
        Fact("is_braced_across", "yes-no", "diagonal braces to the joists, square to the beam; asked of a free-standing deck", is_detail=True),
        Fact("brace_size", "choice", "board of a brace, nominal", choices=("2x4", "2x6", "4x4", "4x6"), is_detail=True),
        Fact("brace_lies", "choice", "how a brace meets post and beam or joist", choices=("lapped on their sides", "cut to fit between them"), is_detail=True),
        _length("brace_drop_in", "from the underside of the beam down to where a brace meets the post", 6, 120, is_detail=True),
        _length("brace_run_in", "from the post to where a brace meets the beam or the joist", 6, 120, is_detail=True),
        Fact("brace_fastener", "choice", "what holds the ends of a brace", choices=FASTENER_KINDS, is_detail=True),
        Fact("brace_fasteners", "count", "at each end of a brace", "", 0, 12, is_detail=True),
        _length("brace_fastener_diameter_in", "at the ends of a brace", 0.08, 1, is_detail=True),
        _length("brace_fastener_length_in", "of lag screws, nails or screws at the ends of a brace, under the head", 1, 24, is_detail=True),
        Fact("tie_uplift_rated_lb", "number", "allowable uplift of the tie from beam to post, from its maker", "lb", 10, 20000, is_detail=True),
        Fact("base", "choice", "at the foot", choices=("metal base above the concrete", "set in concrete", "in the ground", "on a bare block")),
        *_DECAY,
    )),
    PartKind("footing", "footings", Link.FOOTINGS, "what a post stands on", (
        Fact("post", "reference", "the post it carries", refers_to="post", required=True),
        Fact("shape", "choice", "seen from above", choices=("round", "square")),
        _length("width_in", "diameter or side", 4, 96),
        _length("thickness_in", "of the concrete", 1, 120),
        _length("depth_in", "underside below the ground", 0, 120),
    )),
    PartKind("guard", "guards", Link.EDGE, "a run of guard along an edge", (
        _LEVEL,
        Fact("stair", "reference", "the stair it runs beside, where it does", refers_to="stair"),
        Fact("is_present", "yes-no", "there is a guard", required=True),
        _length("drop_in", "greatest drop within 36 in of the edge", 0, 600),
        _length("height_in", "top above the walking surface, or above the nosing line at a stair", 0, 96),
        _length("largest_opening_in", "largest ball that passes the infill", 0, 48),
        _length("bottom_gap_in", "under the bottom rail", 0, 48),
        Fact("post_size", "choice", "guard post", choices=POST_SIZES, default="4x4", default_why="the usual guard post (common practice, no published source)"),
        Fact("species", "choice", "of the posts and rails", choices=SPECIES, candidates=LIKELY_SPECIES),
        Fact("grade", "choice", "of the posts", choices=GRADES, default="No. 2", candidates=LIKELY_GRADES, default_why="no stamp was recorded"),
        _length("post_spacing_in", "post to post", 6, 240),
        _length("post_notch_in", "cut out of the post where it meets the frame", 0, 4, default=0.0, default_why="no notch was recorded"),
        Fact("rail_size", "choice", "top rail, nominal", choices=("2x4", "2x6")),
        Fact("rail_lies", "choice", "how the top rail lies", choices=("flat", "on edge")),
        Fact("rail_fastener", "choice", "what holds an end of the top rail to its post", choices=("nail", "wood screw"), is_detail=True),
        Fact("rail_fasteners", "count", "at each end of the top rail", "", 0, 8, is_detail=True),
        _length("rail_fastener_diameter_in", "of the nails or screws of the top rail", 0.05, 0.3, is_detail=True),
        _length("rail_fastener_length_in", "of the nails or screws of the top rail, under the head", 0.5, 6, is_detail=True),
        Fact("attachment", "choice", "how the posts are held", choices=POST_ATTACHMENTS),
        Fact("bolts", "count", "bolts or lag screws at each post", "", 0, 8),
        _length("bolt_diameter_in", "of the bolts or lag screws", 0.19, 1),
        Fact("rim_size", "choice", "the rim joist the post is fastened to", choices=JOIST_SIZES),
        _length("upper_bolt_from_top_in", "upper bolt below the top of the rim", 0.5, 11),
        _length("bolt_spacing_in", "upper to lower bolt", 0.5, 11),
        Fact("hold_down_rated_lb", "number", "allowable tension of the hold-down, from its maker", "lb", 100, 20000),
        _length("washer_in", "outside diameter of the washers under heads and nuts; 0 where there are none", 0, 6, is_detail=True),
        Fact("baluster_size", "choice", "wood balusters, nominal", choices=("2x2", "2x4"), is_detail=True),
        _length("baluster_length_in", "between the rails that hold it", 6, 72, is_detail=True),
        _length("baluster_spacing_in", "centre to centre", 1, 24, is_detail=True),
        Fact("baluster_fastener", "choice", "what holds a baluster to each rail", choices=("nail", "wood screw"), is_detail=True),
        Fact("baluster_fasteners", "count", "at each end of a baluster", "", 0, 6, is_detail=True),
        _length("baluster_fastener_diameter_in", "of the nails or screws of a baluster", 0.05, 0.3, is_detail=True),
        _length("baluster_fastener_length_in", "of the nails or screws of a baluster, under the head", 0.5, 6, is_detail=True),
        *_DECAY,
    )),
    PartKind("stair", "stairs", Link.WAY_UP, "a flight of stairs", (
        _LEVEL,
        Fact("risers_in", "lengths", "height of each riser, bottom to top", "in", 1, 24),
        Fact("treads_in", "lengths", "depth of each tread, nosing to nosing", "in", 2, 48),
        _length("width_in", "clear width", 6, 240),
        _length("headroom_in", "above the nosing line, at the lowest place", 0, 200),
        Fact("riser_opening_in", "length", "largest ball that passes between the treads", "in", 0, 24),
        Fact("handrail", "choice", "handrail", choices=("one side", "both sides", "none")),
        _length("handrail_height_in", "above the nosing line", 0, 60),
        Fact("can_be_gripped", "yes-no", "a hand closes around the rail"),
        Fact("stringer", "choice", "stringers", choices=("cut", "solid")),
        Fact("stringer_count", "count", "stringers side by side", "", 1, 20),
        _length("stringer_spacing_in", "centre to centre", 6, 120),
        _length("stringer_span_in", "horizontal, between supports", 6, 300),
        _length("throat_in", "wood left below the cuts, square to the edge; the whole depth of a solid stringer", 0, 12),
        _length("stringer_thickness_in", "of one stringer", 0.5, 6, default=1.5, default_why="2 in nominal lumber"),
        Fact("tread_size", "choice", "board of a tread, nominal; one board of a tread made of several", choices=("2x4", "2x6", "2x8", "2x10", "2x12"), is_detail=True),
        Fact("species", "choice", "of the stringers", choices=SPECIES, candidates=LIKELY_SPECIES),
        Fact("grade", "choice", "of the stringers", choices=GRADES, default="No. 2", candidates=LIKELY_GRADES, default_why="no stamp was recorded"),
        Fact("top_held_by", "choice", "top of the stringers", choices=("stringer hanger", "resting on a ledger strip", "nails or screws only", "hanging from the rim by a board")),
        Fact("top_hanger_rated_lb", "number", "allowable download of the stringer's hanger, from its maker", "lb", 50, 10000),
        _length("stringer_bearing_in", "length of bearing of a stringer at its foot, and on a ledger strip at its top", 0, 24,
                default=1.5, default_why="the least the rule asks of a joist (IRC R507.6.1)"),
        *_DECAY,
    )),
    PartKind("lateral_tie", "lateral_ties", Link.LEDGER, "a tension device that ties the deck to the house floor", (
        _LEVEL,
        Fact("rated_lb", "number", "allowable tension, from its maker", "lb", 50, 20000),
        _length("from_end_in", "from the nearer end of the ledger", 0, 600),
        Fact("end", "choice", "which end of the ledger is nearer, facing the house", choices=("left", "right")),
        Fact("condition", "choice", "as found", choices=CONDITIONS, default="good", default_why="nothing else was recorded"),
    )),
    PartKind("patch", "patches", Link.SURFACE, "an extra load on part of the surface", (
        Fact("joist_field", "reference", "the joists it stands on", refers_to="joist_field", required=True),
        Fact("what", "choice", "what it is", choices=("hot tub", "planter", "outdoor kitchen", "stored goods", "roof or pergola post", "other"), required=True),
        Fact("load_psf", "number", "weight with its contents and people over the area it covers", "psf", 1, 1000),
        Fact("area_sqft", "number", "area it covers", "sq ft", 0.5, 2000),
    )),
)  # fmt: skip

BASIS_FACTS: tuple[Fact, ...] = (
    Fact("edition", "choice", "code edition that the local authority has adopted", choices=("IRC 2015", "IRC 2018", "IRC 2021", "IRC 2024", "DCA 6-2012"), required=True),
    Fact("live_psf", "number", "live load of a deck", "psf", 10, 250, default=40.0, default_why="IRC Table R301.5"),
    Fact("dead_psf", "number", "weight of the deck itself", "psf", 3, 100, default=10.0, default_if_unknown=True, default_why="the dead load behind the prescriptive tables (IRC R507)"),
    Fact("ground_snow_psf", "number", "ground snow load", "psf", 0, 300, default=0.0, default_why="no snow load was recorded for the place"),
    Fact("frost_depth_in", "length", "frost line below the ground", "in", 0, 120),
    Fact("soil_psf", "number", "soil bearing capacity", "psf", 500, 12000, default=1500.0, default_if_unknown=True, default_why="the least presumptive value (IRC Table R401.4.1; DCA 6 Table 4 note 2)"),
    Fact("is_near_salt_water", "yes-no", "within 300 ft of a salt-water shore", default=False, default_why="not recorded as near salt water"),
    Fact("is_wet", "yes-no", "wood stays above 19 % moisture for long", default=True, default_why="the wet service behind the prescriptive tables (DCA 6 Table 2 note 1)"),
)  # fmt: skip

BY_NAME: Mapping[str, PartKind] = {kind.name: kind for kind in KINDS}
BY_PLURAL: Mapping[str, PartKind] = {kind.plural: kind for kind in KINDS}
