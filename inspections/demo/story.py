# ruff: noqa: E501 (prose)
"""Who and what the demo firm is: people, clients, houses, visits and what was found. All of it is invented.

Telephone numbers are from the 555-01xx block that is kept free for fiction; mail addresses end in .example.
"""

from dataclasses import dataclass, field

FIRM = {
    "name": "Fathom & Post",
    "strapline": "Deck and balcony inspections",
    "licence_line": "Registered deck inspectors, county register no. 0417",
    "address": "12 Ropewalk\nQuillan Harbor",
    "phone": "555-0110",
    "email": "office@fathomandpost.example",
    "cautions": "",
}

PEOPLE = {
    "office": {"first_name": "June", "last_name": "Abara", "is_office": True, "phone": "555-0111"},
    "inspector": {
        "first_name": "Tomas",
        "last_name": "Reyl",
        "is_inspector": True,
        "phone": "555-0112",
        "licence_line": "Deck inspector, licence DI-2207",
    },
    "manager": {"first_name": "Ada", "last_name": "Lind", "is_manager": True, "phone": "555-0113"},
    "admin": {"first_name": "Sam", "last_name": "Pell", "is_administrator": True, "phone": "555-0114"},
    "wren": {
        "first_name": "Wren",
        "last_name": "Osei",
        "is_inspector": True,
        "phone": "555-0115",
        "licence_line": "Deck inspector, licence DI-2389",
    },
}

# Building-rule basis by place. Invented counties; the values are of the kind such counties adopt.
HARBOR = {
    "county": "Sele",
    "region": "Tarrant Shore",
    "edition": "IRC 2021",
    "ground_snow_psf": 20,
    "frost_depth_in": 18,
    "soil_psf": 2000,
    "rules_source": "Sele County building office, by telephone",
}
HILLS = {
    "county": "Harrow",
    "region": "Tarrant Shore",
    "edition": "IRC 2018",
    "ground_snow_psf": 40,
    "frost_depth_in": 32,
    "soil_psf": 1500,
    "rules_source": "Harrow County ordinance 9-14",
}
SHORE = {**HARBOR, "is_near_salt_water": True, "rules_source": "Sele County building office, shore overlay"}

# The same as the firm keeps them: a set for each county, one for the town that has rules of its own, and in Harrow one
# rule that departs from the code. `citation`, then the days since it was asked for, then the amendments.
RULE_SETS = (
    (HARBOR, "", "county building office, by telephone", 120, ()),
    (HILLS, "", "county ordinance 9-14", 400, (("stair.landing_depth", 42, "in", "ordinance 9-14, section 6"),)),
    (SHORE, "Corran", "county building office, shore overlay", 120, ()),
)


@dataclass(frozen=True)
class Shot:
    """A photo: the scene that is drawn, its caption, the link it belongs to."""

    scene: str
    caption: str
    link: str


@dataclass(frozen=True)
class Noted:
    """A finding as the inspector wrote it; `defect` is a slug of the catalogue."""

    link: str
    title: str
    action: str
    how_soon: str = "no_date"
    who: str = "contractor"
    place: str = ""
    seen: str = ""
    meaning: str = ""
    remedy: str = ""
    defect: str = ""
    photos: tuple[Shot, ...] = ()


@dataclass(frozen=True)
class Told:
    """One visit of the demo. `day` counts from today; `until` is the state it has reached."""

    key: str
    client: tuple[str, str, str]
    street: str
    town: str
    postcode: str
    rules: dict
    year_built: int
    deck_year: int
    builder: str
    day: int
    hour: float
    until: str
    inspector: str = "inspector"
    purpose: str = "whole_deck"
    length_minutes: int = 90
    deck: str = ""
    assumed: frozenset = frozenset()
    papers: frozenset = frozenset()
    notes: str = ""
    summary: str = ""
    reason: str = ""
    follows: str = ""
    suits: str = ""  # for one that was asked for and has no time yet: `day` and `hour` say nothing then
    findings: tuple[Noted, ...] = field(default=())
    shots: tuple[Shot, ...] = field(default=())
    comments: tuple[tuple[str, str], ...] = ()  # of the desk: a kind of part, or "finding", and the words


VISITS = (
    Told(
        key="slope", client=("Marguerite Hale", "m.hale@mail.example", "555-0131"), street="41 Kestrel Rise", town="Upper Quillan", postcode="40317",
        rules=HILLS, year_built=1987, deck_year=1996, builder="Previous owner", day=-16, hour=9.5, until="released", deck="raised_on_a_slope",
        assumed=frozenset({"species", "grade"}), papers=frozenset({"hanger_rated_lb"}),
        notes="Raised at the back; bring the long ladder. Dog in the yard, ring first.",
        summary="Please keep everyone off the deck until the ledger has been refastened and the tall posts and guard have been replaced. The framing itself is worth keeping.",
        shots=(Shot("whole_deck", "The deck from the garden; the low side is ten feet up", "surface"),),
        findings=(
            Noted("ledger and house", "Two lag screws missing and one loose in the ledger", "keep_off", "at_once", "contractor", "ledger, 64 to 88 in from the left",
                  "Fasteners 6 and 7 are gone, fastener 8 turns by hand. Rust has run from the empty holes.",
                  "Between the neighbours that still hold there are 48 inches without a fastener. These two carry almost twice what they may, and if one lets go the next is overloaded at once.",
                  "Refasten the whole ledger: through-bolts or structural lags at the spacing of the table, staggered in two rows, into sound band joist. Check the band from inside first.",
                  defect="ledger-fastener-fails", photos=(Shot("ledger_missing", "Fastener 7: the hole is empty", "ledger and house"),)),
            Noted("posts", "Tall 4x4 posts without braces", "put_right", "two_weeks", "contractor", "all three posts",
                  "Posts of 7 to 9 feet, 4x4, no diagonal braces, standing on loose blocks.",
                  "A slender post bends sideways long before it is crushed. At this height the rule asks for a thicker post.",
                  "Replace with 6x6 posts on new footings below frost depth, in metal post bases, with a brace to the beam each way.",
                  defect="post-overloaded", photos=(Shot("beam_side_bolted", "Beam bolted to the side of the post", "beam"),)),
            Noted("beam", "Beam hangs on bolts at the side of the posts", "put_right", "two_weeks", "contractor", "beam, at every post",
                  "The two plies are bolted to one side of the posts with two half-inch bolts.",
                  "Bolts through the side of a post are not a bearing. They split the post as the wood shrinks.",
                  "Seat the beam on top of the new posts in post caps.", defect="beam-bolted-to-side"),
            Noted("edge", "Guard posts are notched and held by the rim alone", "put_right", "two_weeks", "contractor", "all guard posts",
                  "Each 4x4 is cut by 1 1/2 in where it meets the rim; cracks start from the corner of the notch.",
                  "A notch takes away most of the strength just where a leaning person bends the post most.",
                  "New posts without notches, blocked between the joists, with a hold-down at the upper bolt.", defect="guard-post-notched",
                  photos=(Shot("guard_post", "Notch and crack at the third guard post", "edge"),)),
            Noted("edge", "Openings in the guard are wider than 4 in", "put_right", "three_months", "contractor", "long side", "6 1/4 in between balusters.",
                  "A small child can slip through.", "Add balusters so that no opening lets a 4 in ball pass.", defect="guard-opening-too-wide",
                  photos=(Shot("guard_open", "6 1/4 in clear", "edge"),)),
            Noted("water", "No flashing over the ledger", "put_right", "three_months", "contractor", "whole length of the house wall", "Siding runs down behind the ledger; dark stains below the door.",
                  "Water runs in behind the ledger every time it rains and rots the house where the deck hangs on it.",
                  "When the ledger is refastened: metal flashing lapped behind the wall covering and over the ledger.", defect="no-ledger-flashing",
                  photos=(Shot("flashing", "Water marks below the decking", "water"),)),
            Noted("footings", "Posts stand on bare blocks above the frost line", "put_right", "three_months", "contractor", "all three posts", "16 in blocks, 4 in deep.",
                  "Frost lifts a shallow footing and the load on it is more than the soil takes.", "New footings below 32 in, sized as in the repair schedule.", defect="footing-above-frost"),
            Noted("way up", "Stair: last riser and handrail", "put_right", "three_months", "contractor", "garden stair", "The top riser is 3/4 in higher than the others; the rail is a flat 2x6 that cannot be gripped.",
                  "An uneven last step is where people fall.", "Even out the risers and fit a rail a hand closes around.", defect="risers-uneven"),
        ),
    ),
    Told(
        key="platform", client=("Oluwaseun Brandt", "o.brandt@mail.example", "555-0132"), street="7 Millrace Lane", town="Quillan Harbor", postcode="40302",
        rules=HARBOR, year_built=2004, deck_year=2019, builder="Ashdown Carpentry", day=-30, hour=13, until="released", deck="low_platform", inspector="wren", length_minutes=60,
        assumed=frozenset({"species"}),
        summary="The platform is sound. Keep leaves out of the gaps and look at it again in three years.",
        shots=(Shot("low_platform", "The platform from the lawn", "surface"), Shot("beam_on_post", "Beam on top of the post", "beam")),
        findings=(Noted("surface", "Leaves packed between the boards", "look_after", "one_year", "owner", "along the house", "Wet leaves fill the gaps for about a yard.",
                        "What stays wet rots.", "Rake out the gaps every autumn.", defect="soil-against-wood", photos=(Shot("decking", "The boards are firm", "surface"),)),),
    ),
    Told(
        key="hottub", client=("Priya and Joel Maddern", "maddern@mail.example", "555-0133"), street="230 Old Ferry Road", town="Quillan Harbor", postcode="40304",
        rules=HARBOR, year_built=1998, deck_year=2011, builder="Bay & Batten Decks", day=-23, hour=10, until="released", deck="hot_tub_deck",
        papers=frozenset({"hanger_rated_lb", "hold_down_rated_lb", "load_psf", "rated_lb"}),
        summary="The deck may be used as before, but leave the hot tub empty: filled, it asks more of the joists and the beam below it than they can carry.",
        shots=(Shot("hot_tub", "The tub stands on the eastern bay", "surface"),),
        findings=(
            Noted("joists", "Hot tub on joists that were sized for people only", "limit_use", "at_once", "owner", "eastern bay", "A seven-foot tub, about 5,500 lb filled and occupied, on 2x10 joists.",
                  "Water is heavy: the tub loads this bay almost three times as much as a crowd would.", "Keep the tub empty until a beam line with two posts and footings has been added below it, by a design from a licensed engineer.",
                  defect="heavy-thing-on-deck", photos=(Shot("hanger", "Hangers below the tub, all nails present", "joists"),)),
            Noted("ledger and house", "Band joist behind the ledger could not be seen", "find_out", "no_date", "owner", "inside, behind the kitchen units", "", "The bolts are well spaced; what they bite into is known from the builder's drawing only.",
                  "Open the ceiling panel in the basement and look.", defect="ledger-spacers-behind"),
        ),
    ),
    Told(
        key="nails", client=("Ingrid Castellane", "ingrid.c@mail.example", "555-0134"), street="9 Tannery Yard", town="Low Harrow", postcode="40341",
        rules=HILLS, year_built=1969, deck_year=1991, builder="", day=-44, hour=9, until="released", deck="nailed_to_the_house", purpose="before_sale",
        assumed=frozenset({"species", "grade", "is_incised"}),
        summary="Keep off. The deck is held to the house by nails alone and one post is rotten through. It should be taken down and rebuilt.",
        shots=(Shot("whole_deck", "Seen from the yard", "surface"),),
        findings=(
            Noted("ledger and house", "Ledger held by nails alone", "keep_off", "at_once", "contractor", "whole ledger", "Pairs of nails every 12 in; a gap of 1/4 in has opened at the top.",
                  "Nails pull straight out. This is how decks fall, usually with people on them.", "Take down. A new ledger wants bolts or structural lags into a sound band joist.", defect="ledger-nailed-only",
                  photos=(Shot("ledger_nails", "Nails, and the gap above the ledger", "ledger and house"),)),
            Noted("posts", "Post rotten at the ground", "keep_off", "at_once", "contractor", "middle post", "A screwdriver goes in 1 1/4 in all round.", "Little wood is left to carry the beam.", "New posts on bases above the concrete.",
                  defect="decay-in-frame", photos=(Shot("post_base_rotten", "Middle post at the ground", "posts"),)),
            Noted("surface", "Soft and broken boards", "put_right", "at_once", "contractor", "near the door", "Two boards give underfoot.", "A foot can go through.", "Replace with the rebuilding.", defect="boards-soft-or-broken",
                  photos=(Shot("decking_soft", "Decay in the boards by the door", "surface"),)),
            Noted("edge", "Guard too low and too open", "put_right", "at_once", "contractor", "all round", "30 1/2 in high, 9 in between the rails.", "Neither stops a fall.", "New guard, at least 36 in, no opening over 4 in.", defect="guard-too-low"),
            Noted("way up", "No handrail; stringer cut too deep", "put_right", "two_weeks", "contractor", "stair", "Eight risers, no rail; 3 1/2 in of wood left in the stringers, one cracked.", "", "New stair.", defect="no-handrail",
                  photos=(Shot("stair_cracked", "Crack from the cut of the third step", "way up"),)),
            Noted("water", "No flashing over the ledger", "put_right", "two_weeks", "contractor", "house wall", "Ledger soft to 3/8 in; 31 % moisture.", "", "", defect="no-ledger-flashing"),
        ),
    ),
    Told(
        key="salt", client=("Dmitri Vance", "d.vance@mail.example", "555-0135"), street="3 Lantern Point", town="Corran", postcode="40366",
        rules=SHORE, year_built=2008, deck_year=2009, builder="Bay & Batten Decks", day=-12, hour=11, until="released", deck="by_the_salt_water", inspector="wren",
        papers=frozenset({"hanger_rated_lb", "hold_down_rated_lb"}),
        summary="Usable for the household until the metal is replaced this season. No parties on it before then.",
        shots=(Shot("whole_deck", "Forty yards from the water", "surface"),),
        findings=(
            Noted("water", "Hangers and bolts rusting in salt air", "put_right", "three_months", "contractor", "all hangers; ledger bolts 3, 6, 9, 12", "Heavy scale; half the hanger nails have lost their heads.",
                  "Plain zinc does not last this close to the sea. Rusted metal lets go without warning.", "Replace hangers, nails and bolts with stainless steel, one bay at a time.", defect="rust-on-fasteners",
                  photos=(Shot("hanger_rusted", "Hanger in the third bay", "joists"), Shot("ledger_lags", "Bolt 6", "ledger and house"))),
            Noted("joists", "At most eight people: half the hanger nails are missing or headless", "limit_use", "at_once", "owner", "whole joist field", "", "What is left carries a household, not a crowd.", "New hangers, or every hole filled as the maker lists; until then no party.", defect="hangers-not-filled"),
        ),
    ),
    Told(
        key="good", client=("Noor Halloran", "noor@mail.example", "555-0136"), street="88 Whinfield", town="Quillan Harbor", postcode="40301",
        rules=HARBOR, year_built=2016, deck_year=2025, builder="Ashdown Carpentry", day=-9, hour=14, until="released", deck="built_last_year", length_minutes=75,
        papers=frozenset({"species", "grade", "hanger_rated_lb", "hold_down_rated_lb", "rated_lb", "depth_in"}),
        summary="The deck follows the tables throughout. Nothing to repair.",
        shots=(Shot("whole_deck", "A year old", "surface"), Shot("flashing_present", "Flashing lapped behind the wall covering", "water"), Shot("post_base", "Post base above the concrete", "posts")),
        findings=(Noted("water", "First coat of finish is due", "look_after", "one_year", "owner", "boards and rails", "", "Finish keeps water out of the end grain.", "Coat once the wood is dry, and the cut ends first.", defect="wood-stays-wet"),),
    ),
    Told(
        key="joists", client=("Ruth Ansdell", "r.ansdell@mail.example", "555-0137"), street="15 Cooper's Way", town="Upper Quillan", postcode="40318",
        rules=HILLS, year_built=2012, deck_year=2013, builder="", day=-5, hour=9, until="handed_in", deck="long_joists", purpose="before_sale",
        papers=frozenset({"house_band", "hanger_rated_lb"}),
        summary="Usable with care; the joists are too long for their size and should be given a beam at mid-span this year.",
        shots=(Shot("whole_deck", "From the west", "surface"),),
        findings=(Noted("joists", "Joists span further than their size allows", "put_right", "three_months", "contractor", "whole field", "2x10 at 16 in, 15 ft 6 in clear.", "The floor bounces and the joists are stressed beyond the rule.",
                        "A mid-span beam on three posts, or a sister joist beside every joist.", defect="joists-span-over-table", photos=(Shot("hanger", "Joist hanger, sound", "joists"),)),),
    ),
    Told(
        key="balcony", client=("Callum Whitlow", "whitlow@mail.example", "555-0138"), street="2 Saltmarsh Terrace", town="Quillan Harbor", postcode="40305",
        rules=HARBOR, year_built=1978, deck_year=2001, builder="", day=-2, hour=10.5, until="handed_in", deck="second_storey_balcony", inspector="wren", length_minutes=60,
        assumed=frozenset({"species", "grade", "is_incised"}),
        summary="Keep the balcony door locked until the soft part of the ledger has been opened up.",
        findings=(
            Noted("ledger and house", "Ledger soft below the door", "keep_off", "at_once", "contractor", "ledger, 60 to 90 in", "The probe goes in 1/2 in; 28 % moisture.", "The fasteners there hold in decayed wood.",
                  "Open the wall, cut out what is soft, new ledger and flashing.", defect="decay-in-frame", photos=(Shot("flashing", "Stains below the door", "water"),)),
            Noted("edge", "Guard 2 in too low", "put_right", "three_months", "contractor", "front", "34 in.", "", "Raise the top rail to 36 in.", defect="guard-too-low"),
        ),
    ),
    Told(
        key="twolevels", client=("Beatriz Lowe", "b.lowe@mail.example", "555-0139"), street="67 Orchard Bank", town="Low Harrow", postcode="40343",
        rules=HILLS, year_built=1994, deck_year=1999, builder="Previous owner", day=-7, hour=13.5, until="sent_back", deck="two_levels_with_stairs", length_minutes=120,
        reason="Three things are not clear yet: please see the comments at the stair, the ledger and the guard.",
        comments=(
            ("stair", "Which fasteners hold the stringers at the top? Please add a photo of it."),
            ("ledger", "Can the flashing of the upper ledger be seen from the eaves?"),
            ("finding", "Is the drop 4 ft along the whole side, or only at the foot?"),
        ),
        summary="Two levels; the stair between them needs a guard and a handrail.",
        shots=(Shot("whole_deck", "Upper level", "surface"),),
        findings=(Noted("edge", "No guard beside the stair", "put_right", "two_weeks", "contractor", "stair between the levels", "A drop of 4 ft beside the stair.", "", "Guard on the open side, at least 34 in above the nosings.", defect="guard-missing",
                        photos=(Shot("stair", "The open side", "way up"),)),),
    ),
    Told(
        key="brick", client=("Sunniva Park", "s.park@mail.example", "555-0140"), street="19 Brickfield Close", town="Quillan Harbor", postcode="40303",
        rules=HARBOR, year_built=1983, deck_year=1990, builder="", day=-19, hour=9, until="released", deck="against_brick", assumed=frozenset({"grade"}),
        summary="Use by the household only until a licensed engineer has looked behind the brick: what the deck hangs on cannot be seen.",
        findings=(
            Noted("ledger and house", "Ledger bolted to brick veneer", "find_out", "three_months", "engineer", "whole ledger", "Bolt heads in the ledger; a brick face behind, no way to see the wall.",
                  "A brick face is a skin. It is not made to hold a deck, and no table covers it.", "A licensed engineer decides: open the wall, or stand the deck on its own posts at the house.", defect="ledger-on-veneer"),
            Noted("footings", "Footings out of reach", "find_out", "one_year", "contractor", "three posts", "Posts run into concrete; its size and depth are not known.", "Whether the ground carries the load, and whether frost can lift the deck, cannot be told.", "Dig beside one post down to the underside."),
        ),
    ),
    Told(
        key="landing", client=("Theo Marchbank", "", "555-0141"), street="5 Chandler Street", town="Quillan Harbor", postcode="40302",
        rules=HARBOR, year_built=1959, deck_year=2015, builder="Ashdown Carpentry", day=-37, hour=15, until="released", deck="small_landing", inspector="wren", length_minutes=45,
        summary="Sound. One piece of flashing to tuck in.",
        findings=(Noted("water", "Flashing not tucked behind the siding", "put_right", "one_year", "contractor", "side door", "The upper leg of the flashing stands proud of the siding.", "Water can run behind it.", "Loosen the lowest board and tuck the flashing behind it.",
                        defect="no-ledger-flashing", photos=(Shot("flashing_present", "The upper leg stands proud", "water"),)),),
    ),
    Told(
        key="begun", client=("Wilhelmina Duarte", "w.duarte@mail.example", "555-0142"), street="31 Heron Walk", town="Upper Quillan", postcode="40316",
        rules=HILLS, year_built=2001, deck_year=2006, builder="", day=0, hour=9, until="under_way", deck="just_begun", notes="Owner at home until noon.",
        shots=(Shot("ledger_lags", "Ledger from below", "ledger and house"),),
    ),
    Told(
        key="today", client=("Anselm Ferreira", "a.ferreira@mail.example", "555-0143"), street="104 Dovecote Hill", town="Upper Quillan", postcode="40319",
        rules=HILLS, year_built=1990, deck_year=1990, builder="", day=0, hour=13, until="booked", notes="Second floor balcony and garden stair.",
    ),
    Told(
        key="afterrepair", client=("Ingrid Castellane", "ingrid.c@mail.example", "555-0134"), street="9 Tannery Yard", town="Low Harrow", postcode="40341",
        rules=HILLS, year_built=1969, deck_year=1991, builder="", day=6, hour=9.5, until="booked", purpose="after_repair", follows="nails", notes="Rebuilt by the buyer's carpenter.",
    ),
    Told(
        key="tomorrow", client=("Lucian Abbott", "l.abbott@mail.example", "555-0144"), street="72 Fuller's Row", town="Quillan Harbor", postcode="40305",
        rules=HARBOR, year_built=1972, deck_year=1988, builder="", day=1, hour=10, until="booked", inspector="wren", purpose="after_damage", notes="A branch came down on the north corner.",
    ),
    Told(
        key="askedfor", client=("Cosmo Bellweather", "c.bellweather@mail.example", "555-0146"), street="26 Tollgate Lane", town="Low Harrow", postcode="40344",
        rules=HILLS, year_built=1988, deck_year=1993, builder="", day=0, hour=9, until="asked_for", purpose="before_sale", suits="Any afternoon once the agent has the keys, after the 10th.",
    ),
    Told(
        key="calledoff", client=("Greta Nyland", "g.nyland@mail.example", "555-0145"), street="18 Staith Road", town="Corran", postcode="40367",
        rules=SHORE, year_built=2010, deck_year=2010, builder="", day=-3, hour=13, until="called_off", reason="The house was sold; the buyer will ask for a visit of their own.",
    ),
)  # fmt: skip
