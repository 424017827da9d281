"""Stairs for the foot and the hand: a flight of equal steps, closed risers, a handrail that can be held."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change, NewPart, new_id
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, several
from engine.remedies.stringers import STRINGER_FACTS, new_stringers

STEPS = ("stair.risers", "stair.risers_alike", "stair.treads", "stair.treads_alike", "stair.width")
HANDRAIL = ("stair.handrail", "stair.handrail_height", "stair.handrail_grip")
CITATION = "IRC R311.7"


@repair(kind="stair-rebuild", owner="stair", answers=STEPS, title="A new flight of equal steps")
def rebuild(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """The fewest equal risers over the same total rise, treads of the rule's depth or as deep as they were."""
    old_risers, old_treads = bench.numbers(stair.id, "risers_in"), bench.numbers(stair.id, "treads_in")
    rise_in = sum(old_risers)
    risers = max(1, math.ceil(rise_in / bench.rule("stair.max_riser").value - 1e-9))
    treads = max(1, risers - max(0, len(old_risers) - len(old_treads)))
    riser_in = rise_in / risers
    tread_in = max(bench.rule("stair.min_tread").value, sum(old_treads) / len(old_treads))
    width_in = max(bench.rule("stair.min_clear_width").value, bench.number(stair.id, "width_in"))
    facts: dict[str, Value | None] = {
        f"{stair.id}.risers_in": (riser_in,) * risers,
        f"{stair.id}.treads_in": (tread_in,) * treads,
        f"{stair.id}.width_in": width_in,
        f"{stair.id}.riser_opening_in": 0.0,
        f"{stair.id}.decay_depth_in": 0.0,
    }
    run_in, old_run_in = tread_in * treads, sum(old_treads)
    change = Change(facts)
    lines = [
        Line(
            "flight of equal steps",
            f"{several(risers, 'riser')} of {inches(riser_in)}, {several(treads, 'tread')} of {inches(tread_in)}",
            1,
            f"over the same rise of {inches(rise_in)}, {inches(run_in)} of run, {inches(width_in)} clear width; risers"
            " closed with boards; treads fastened level",
            tuple(round(riser_in * n, 4) for n in range(1, risers + 1)),
            "height of each step above the landing",
            material="preservative-treated",
        )
    ]
    cautions = [
        f"lay out to the sixteenth: no two risers or treads may differ by more than"
        f" {inches(bench.rule('stair.uniformity').value)}, the finished landing and surface included",
        "the guard and handrail beside the flight are set anew",
    ]
    if all(name in stair.facts for name in STRINGER_FACTS):
        span_in = bench.number(stair.id, "stringer_span_in") + run_in - old_run_in
        found = new_stringers(bench, stair, change, riser_in, tread_in, width_in, span_in)
        if found is None:
            return None
        change, line = found
        lines.append(line)
    else:
        cautions.append("the stringers were not recorded: they are to be designed with the flight")
    if abs(run_in - old_run_in) > 0.5:
        word = "longer" if run_in > old_run_in else "shorter"
        cautions.append(f"the flight becomes {inches(abs(run_in - old_run_in))} {word}: look where the landing ends")
    return Draft(
        kind="stair-rebuild",
        title=f"Rebuild {stair.subject} with {several(risers, 'equal riser')} of {inches(riser_in)}",
        change=change,
        schedule=tuple(lines),
        citation=CITATION + ".5",
        marks=(Mark(stair.id, "new flight"),),
        cautions=tuple(cautions),
    )


@repair(kind="stair-landing", owner="stair", answers=("stair.risers", "stair.risers_alike"), title="The landing moved")
def move_the_landing(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """The landing raised or lowered where only the bottom riser is out of line with the others."""
    risers_in = bench.numbers(stair.id, "risers_in")
    if len(risers_in) < 3:
        return None
    others = risers_in[1:]
    riser_in = sum(others) / len(others)
    change = Change({f"{stair.id}.risers_in": (riser_in, *others)})
    if not bench.clears(change, keys):
        return None
    moved_in = risers_in[0] - riser_in
    word = "Raise" if moved_in > 0 else "Lower"
    line = Line(
        "landing at the foot of the flight",
        f"{word.lower()} by {inches(abs(moved_in))}",
        1,
        f"so that the bottom riser is {inches(riser_in)} like those above it",
    )
    return Draft(
        kind="stair-landing",
        title=f"{word} the landing of {stair.subject} by {inches(abs(moved_in))}",
        change=change,
        schedule=(line,),
        citation=CITATION + ".5.1",
        marks=(Mark(stair.id, "landing moved"),),
        cautions=("the landing stays level and drains away from the stair",),
    )


@repair(kind="stair-close-risers", owner="stair", answers=("stair.riser_opening",), title="Closed risers")
def close_risers(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    risers = len(bench.numbers(stair.id, "risers_in"))
    width_in = bench.recorded(stair.id, "width_in")
    line = Line(
        "riser board",
        "1x or 5/4, as high as the opening",
        risers,
        (f"{inches(width_in)} long, " if isinstance(width_in, float) else "")
        + "behind each tread, from tread to tread",
        material="preservative-treated",
    )
    return Draft(
        kind="stair-close-risers",
        title=f"Close the risers of {stair.subject}",
        change=Change({f"{stair.id}.riser_opening_in": 0.0}),
        schedule=(line,),
        citation=bench.rule("stair.open_riser_sphere").citation,
        marks=(Mark(stair.id, "riser boards"),),
    )


@repair(kind="stair-handrail", owner="stair", answers=HANDRAIL, title="A handrail that can be held")
def handrail(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """A graspable rail at the middle of the allowed heights, along the whole flight."""
    least_in, most_in = bench.rule("handrail.min_height").value, bench.rule("handrail.max_height").value
    height_in = (least_in + most_in) / 2
    there = bench.recorded(stair.id, "handrail")
    side = there if there in ("one side", "both sides") else "one side"
    facts: dict[str, Value | None] = {
        f"{stair.id}.handrail": side,
        f"{stair.id}.handrail_height_in": height_in,
        f"{stair.id}.can_be_gripped": True,
    }
    round_in = f"{inches(bench.rule('handrail.round_min').value)} to {inches(bench.rule('handrail.round_max').value)}"
    load_lb = bench.rule("load.guard_concentrated").value
    line = Line(
        "handrail",
        f"round, {round_in} across, or a shaped grip",
        2 if side == "both sides" else 1,
        f"{inches(height_in)} above the line of the nosings ({inches(least_in)} to {inches(most_in)} allowed), from"
        " the top riser to the bottom riser without a break, ends returned; at least"
        f" {inches(bench.rule('handrail.wall_clearance').value)} clear behind it; brackets that hold {load_lb:g} lb"
        " at any point",
    )
    return Draft(
        kind="stair-handrail",
        title=f"Put a handrail at {inches(height_in)} on {stair.subject}",
        change=Change(facts),
        schedule=(line,),
        citation="IRC R311.7.8",
        marks=(Mark(stair.id, "handrail"),),
    )


@repair(kind="stair-middle-landing", owner="stair", answers=("stair.flight",), title="A landing half way up")
def middle_landing(bench: Bench, stair: Part, keys: Sequence[Key]) -> Draft | None:
    """The flight broken into two by a landing in place of the middle tread."""
    risers_in, treads_in = bench.numbers(stair.id, "risers_in"), bench.numbers(stair.id, "treads_in")
    if len(risers_in) < 4 or len(treads_in) != len(risers_in) - 1:
        return None
    half = len(risers_in) // 2
    upper_id = new_id(bench.deck, stair.id)
    lower: dict[str, Value] = {"risers_in": risers_in[:half], "treads_in": treads_in[: half - 1]}
    upper: dict[str, Value] = {"risers_in": risers_in[half:], "treads_in": treads_in[half:]}
    span_in = bench.recorded(stair.id, "stringer_span_in")
    if isinstance(span_in, float):
        run_in = sum(treads_in)
        lower["stringer_span_in"] = span_in * sum(treads_in[: half - 1]) / run_in
        upper["stringer_span_in"] = span_in * sum(treads_in[half:]) / run_in
    change = Change(
        {f"{stair.id}.{name}": value for name, value in lower.items()},
        (NewPart("stair", upper_id, {**stair.facts, **upper}, f"upper flight of {stair.name or stair.id}"),),
    )
    depth_in = bench.rule("stair.landing_depth").value
    line = Line(
        "landing",
        f"at least {inches(depth_in)} in the line of travel, as wide as the stair",
        1,
        f"{inches(sum(risers_in[:half]))} above the foot, in place of tread {half}; on posts and footings of its own",
        (sum(risers_in[:half]),),
        "height above the foot of the stair",
    )
    return Draft(
        kind="stair-middle-landing",
        title=f"Break {stair.subject} with a landing after {several(half, 'riser')}",
        change=change,
        schedule=(line,),
        citation=bench.rule("stair.landing_depth").citation,
        marks=(Mark(stair.id, "new landing", sum(risers_in[:half])),),
        cautions=(f"the stair becomes about {inches(depth_in)} longer", "the landing is framed like a small deck"),
        inherits={upper_id: stair.id},
    )
