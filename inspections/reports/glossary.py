"""Words of the trade that a report uses, for readers who do not. In our own words."""

import re

GLOSSARY: tuple[tuple[str, str], ...] = (
    ("Beam", "The timber, often of two or three boards side by side, on which the outer ends of the joists rest."),
    ("Bearing", "The length over which one timber rests on another. Too little of it crushes the wood."),
    ("Can carry", "The load a part can take for good, worked out from its size, its wood and the published values."),
    ("Decay", "Wood eaten by fungus: it turns soft, then brown and crumbling. It has lost strength before it shows."),
    ("Decking", "The boards one walks on."),
    ("Fastener", "A bolt, lag screw, nail or screw that holds two parts together."),
    ("Flashing", "The bent sheet over the ledger that keeps rain out of the wall and off the wood behind it."),
    ("Footing", "The concrete in the ground that spreads the load of a post on the soil, below the frost."),
    ("Frost depth", "How deep the ground freezes. A footing above it is lifted in winter."),
    ("Guard", "The railing at an open edge that keeps people from falling."),
    ("Hold-down", "A steel bracket that ties a guard post back into the frame, so that it cannot be pushed outward."),
    ("Joist", "One of the many parallel boards on edge that carry the decking."),
    ("Joist hanger", "The steel pocket in which a joist's end sits."),
    ("Ledger", "The board fastened to the house on which the joists' inner ends hang."),
    (
        "Load path",
        "The way a person's weight takes from the boards to the ground. It is as strong as its weakest link.",
    ),
    (
        "Must carry",
        "The load the building rules ask a part to be able to take: people, snow, and the deck's own weight.",
    ),
    ("Rim", "The outermost board of the frame, around the ends of the joists."),
    ("Riser, tread", "The upright height of a step, and the part one stands on."),
    ("Span", "The free length of a timber between two supports."),
    ("Stringer", "The slanting board that carries the treads of a stair."),
)


def words_used(text: str) -> list[tuple[str, str]]:
    """The terms of which one stands in the text, as one or as many."""
    found = []
    for term, words in GLOSSARY:
        any_of = "|".join(re.escape(each.strip()) for each in term.split(","))
        if re.search(rf"\b(?:{any_of})(?:e?s)?\b", text, re.IGNORECASE):
            found.append((term, words))
    return found
