"""Stringers: a support at midspan, more of them, new ones, hangers at their top."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, one, round_up, several
from engine.sections import find_size
from engine.vocabulary import BY_NAME

STRENGTH = ("stringer.bending", "stringer.shear", "stringer.span_rule", "stringer.spacing", "stringer.throat")
STRINGER_FACTS = ("stringer", "stringer_count", "stringer_span_in", "throat_in")
CITATION = "NDS 3.3, 3.4; DCA 6-2012 Figures 28-30"
BOARD = "2x12"
_MOST = BY_NAME["stair"].index["stringer_count"].high
LEAST_APART_IN = BY_NAME["stair"].index["stringer_spacing_in"].low
_HANGER_LB = BY_NAME["stair"].index["top_hanger_rated_lb"]
HANGER = "stringer hanger"


@repair(kind="stringer-support", owner="stair", answers=STRENGTH, title="A support under the stringers")
def support_at_midspan(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """The stringers as they are, held up at midspan: two half spans."""
    span_in = bench.number(stair.id, "stringer_span_in")
    change = Change({f"{stair.id}.stringer_span_in": span_in / 2})
    if not bench.clears(change, keys):
        return None
    count = bench.count(stair.id, "stringer_count")
    return Draft(
        kind="stringer-support",
        title=f"Hold the stringers of {stair.subject} up at midspan",
        change=change,
        schedule=(support_line(bench, span_in, count),),
        citation=CITATION,
        marks=(Mark(stair.id, "support", span_in / 2),),
        assumptions=("each half of a stringer as a simple span",),
        cautions=("the support needs footings of its own below the frost, and bracing where it is tall",),
    )


@repair(kind="stringer-more", owner="stair", answers=STRENGTH, title="More stringers")
def more_stringers(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """The fewest more, cut like those that are there and evenly spaced, that bring every check to hold."""
    count, width_in = bench.count(stair.id, "stringer_count"), bench.number(stair.id, "width_in")

    def change(more: int) -> Change:
        apart_in = width_in / (count + more - 1)
        return Change({f"{stair.id}.stringer_count": count + more, f"{stair.id}.stringer_spacing_in": apart_in})

    most = min(int(_MOST), int(width_in / LEAST_APART_IN) + 1)
    more = bench.first(range(1, most - count + 1), change, keys)
    if more is None:
        return None
    apart_in = width_in / (count + more - 1)
    line = Line(
        "stringer",
        f"{BOARD}, {bench.text(stair.id, 'stringer')}",
        more,
        f"{inches(bench.number(stair.id, 'throat_in'))} of wood left below the cuts; {count + more} in all,"
        f" {inches(apart_in)} on centre",
        tuple(round(apart_in * n, 4) for n in range(count + more)),
        "from one side of the stair, all of them",
        material=bench.wood_words(stair.id),
    )
    return Draft(
        kind="stringer-more",
        title=f"Add {several(more, 'stringer')} to {stair.subject}",
        change=change(more),
        schedule=(line,),
        citation=CITATION,
        marks=(Mark(stair.id, "new stringers"),),
        cautions=("each new stringer hangs and stands like the others; treads fastened to all of them",),
    )


@repair(kind="stringer-new", owner="stair", answers=STRENGTH, title="New stringers")
def replace(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """New stringers from 2x12 for the steps as they are, with supports between where the span asks for them."""
    risers_in, treads_in = bench.numbers(stair.id, "risers_in"), bench.numbers(stair.id, "treads_in")
    riser_in, tread_in = sum(risers_in) / len(risers_in), sum(treads_in) / len(treads_in)
    width_in, span_in = bench.number(stair.id, "width_in"), bench.number(stair.id, "stringer_span_in")
    found = new_stringers(
        bench, stair, Change({f"{stair.id}.decay_depth_in": 0.0}), riser_in, tread_in, width_in, span_in
    )
    if found is None:
        return None
    change, line = found
    return Draft(
        kind="stringer-new",
        title=f"Put {line.count} new {BOARD} stringers under {stair.subject}",
        change=change,
        schedule=(line,),
        citation=CITATION,
        marks=(Mark(stair.id, "new stringers"),),
        assumptions=("cut for the mean riser and tread that were measured",),
        cautions=("where the steps are out of rule too, rebuild the flight instead",),
    )


def throat_in(riser_in: float, tread_in: float, depth_in: float) -> float:
    """Wood left below the cuts of a stringer, square to its edge: the cut goes as deep as the step's triangle is high.

    Source: geometry; the height of a right-angled triangle over its long side is r t / sqrt(r**2 + t**2).
    """
    return depth_in - riser_in * tread_in / math.hypot(riser_in, tread_in)


def new_stringers(
    bench: Bench, stair: Part, base: Change, riser_in: float, tread_in: float, width_in: float, span_in: float
) -> tuple[Change, Line] | None:
    """The fewest stringers cut from 2x12, on the fewest supports between, at which no check of them fails."""
    depth_in = find_size(BOARD).depth_in
    kind = bench.text(stair.id, "stringer")
    left_in = throat_in(riser_in, tread_in, depth_in) if kind == "cut" else depth_in
    for spans in (1, 2, 3, 4):
        for count in range(2, int(width_in / one("stringer_spacing_least")) + 2):
            facts: dict[str, Value | None] = {
                f"{stair.id}.stringer_count": count,
                f"{stair.id}.stringer_spacing_in": width_in / (count - 1),
                f"{stair.id}.stringer_span_in": span_in / spans,
                f"{stair.id}.throat_in": left_in,
                f"{stair.id}.stringer_thickness_in": find_size(BOARD).width_in,
                f"{stair.id}.decay_depth_in": 0.0,
            }
            change = base.with_(Change(facts))
            asked = bench.trial(change)
            if not all(asked.clears(Key(name, stair.id)) for name in STRENGTH):
                continue
            held = ""
            if spans > 1:
                supports = ", ".join(inches(span_in * n / spans) for n in range(1, spans))
                held = f"; held up by a header on two posts under all of them, {supports} out from the top"
            pattern = f"{inches(left_in)} of wood left below the cuts; {inches(width_in / (count - 1))} on centre{held}"
            places = tuple(round(width_in / (count - 1) * n, 4) for n in range(count))
            words = bench.wood_words(stair.id)
            return change, Line(
                "stringer", f"{BOARD}, {kind}", count, pattern, places, "from one side of the stair", "", words
            )
    return None


def support_line(bench: Bench, span_in: float, count: int) -> Line:
    """A header on two posts under all stringers, as a line of a schedule."""
    return Line(
        "header on two posts",
        "2-ply 2x8 on 4x4 posts (common practice, no published source)",
        1,
        f"under all {count} stringers, {inches(span_in / 2)} out from the top, notch-free bearing under each",
        (span_in / 2,),
        "along the ground from the upper end",
        material="preservative-treated",
    )


@repair(kind="stringer-hangers", owner="stair", answers=("stringer.top", "stringer.hanger"), title="Stringer hangers")
def hang(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """Hangers of the rating that the end reaction of a stringer asks for."""
    first = Change({f"{stair.id}.top_held_by": HANGER, f"{stair.id}.top_hanger_rated_lb": _HANGER_LB.high})
    check = bench.trial(first).check("stringer.hanger", stair.id)
    if check is None or check.demand is None:
        return None
    rated_lb = max(_HANGER_LB.low, round_up(check.demand, one("hanger_step")))
    count = bench.recorded(stair.id, "stringer_count")
    line = Line(
        "stringer hanger",
        f"rated for at least {rated_lb:g} lb down",
        count if isinstance(count, int) else None,
        "one at the top of each stringer, every hole filled as its maker lists, on a rim or header that is itself held",
        material="G185 galvanized or stainless; stainless near salt water",
    )
    return Draft(
        kind="stringer-hangers",
        title=f"Hang the stringers of {stair.subject} in hangers rated for at least {rated_lb:g} lb",
        change=first.with_(Change({f"{stair.id}.top_hanger_rated_lb": rated_lb})),
        schedule=(line,),
        citation="DCA 6-2012 Figure 29; IRC Table R301.5",
        marks=(Mark(stair.id, "stringer hangers"),),
    )


@repair(
    kind="stringer-seat", owner="stair", answers=("stringer.bearing", "stringer.bearing_length"), title="More bearing"
)
def longer_bearing(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """A plate or ledger strip under the stringers, long enough in half inches."""
    now_in, step_in = bench.number(stair.id, "stringer_bearing_in"), one("bearing_step")
    fact = stair.kind.index["stringer_bearing_in"]

    def change(length_in: float) -> Change:
        return Change({f"{stair.id}.stringer_bearing_in": length_in})

    lengths = [step_in * n for n in range(1, int(fact.high / step_in) + 1) if step_in * n > now_in]
    found_in = bench.first(lengths, change, keys)
    if found_in is None:
        return None
    count = bench.recorded(stair.id, "stringer_count")
    line = Line(
        "treated plate or concrete pad under the stringers",
        f"at least {inches(found_in)} of bearing",
        count if isinstance(count, int) else None,
        "under the foot of each stringer, cut square to bear on all of it",
        material="treated for ground contact",
    )
    return Draft(
        kind="stringer-seat",
        title=f"Give the stringers of {stair.subject} at least {inches(found_in)} of bearing",
        change=change(found_in),
        schedule=(line,),
        citation="NDS 3.10; IRC R507.6.1",
        marks=(Mark(stair.id, "bearing"),),
    )


@repair(kind="tread-boards", owner="stair", answers=("tread.bending", "tread.deflection"), title="Stronger treads")
def stronger_treads(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """Wider boards for the treads: the first that carries the load on one of them alone."""

    def change(size: str) -> Change:
        return Change({f"{stair.id}.tread_size": size})

    size = bench.first(BY_NAME["stair"].index["tread_size"].choices, change, keys)
    if size is None:
        return None
    line = Line(
        "tread board", size, None, "every tread, lying flat from stringer to stringer", material="preservative-treated"
    )
    return Draft(
        kind="tread-boards",
        title=f"Lay treads of {size} on {stair.subject}",
        change=change(size),
        schedule=(line,),
        citation="IRC Table R301.5 note c; NDS 3.3",
        marks=(Mark(stair.id, "new treads"),),
        cautions=("riser heights and openings change with the thickness of the boards",),
    )
