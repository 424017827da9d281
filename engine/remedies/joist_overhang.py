"""Joists that run too far past their beam: cut back to what holds."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, one, round_up

OVERHANG = (
    "joist.overhang_table",
    "joist.overhang_quarter",
    "joist.bending_over_beam",
    "joist.tip_deflection",
    "joist.lift_at_house",
)


@repair(kind="overhang-cut", owner="joist_field", answers=OVERHANG, title="The overhang cut back")
def cut_back(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    """The longest overhang, in half inches, at which every check of it holds."""
    overhang_in, step_in = bench.number(field.id, "overhang_in"), one("cut_step")
    level = bench.level_of(field.id)
    depth_in = bench.recorded(level.id, "depth_in") if level is not None else None

    def change(steps: int) -> Change:
        facts: dict[str, Value | None] = {f"{field.id}.overhang_in": steps * step_in}
        return Change(facts)

    low, high = 0, int(overhang_in / step_in)
    if not bench.clears(change(0), keys):
        return None
    while high - low > 1:  # a shorter overhang never does worse, so the border can be halved
        middle = (low + high) // 2
        low, high = (middle, high) if bench.clears(change(middle), keys) else (low, middle)
    left_in = low * step_in
    full = change(low)
    if level is not None and isinstance(depth_in, float) and len(bench.of_level(level.id, "joist_field")) == 1:
        least_in = level.kind.index["depth_in"].low
        full = full.with_(Change({f"{level.id}.depth_in": max(least_in, depth_in - (overhang_in - left_in))}))
    count = bench.recorded(field.id, "count")
    line = Line(
        "joist cut back",
        f"by {inches(overhang_in - left_in)}",
        count if isinstance(count, int) else None,
        f"{inches(left_in)} left past the beam; new rim joist, boards cut to suit; cut ends brushed with preservative",
    )
    return Draft(
        "overhang-cut",
        f"Cut the overhang of {field.subject} back to {inches(left_in)}",
        full,
        (line,),
        "IRC R507.6; DCA 6-2012 Table 2 note 3",
        (Mark(field.id, "overhang cut back", left_in),),
        (),
        ("the guard and the stairs at this edge move with it",),
    )


@repair(kind="uplift-clips", owner="joist_field", answers=("joist.lift_at_house",), title="Clips against uplift")
def clips(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    """A clip at the house end of each joist, rated for what the loaded overhang lifts."""
    fact = field.kind.index["uplift_clip_rated_lb"]
    asked = bench.trial(Change({f"{field.id}.uplift_clip_rated_lb": fact.high}))
    check = asked.check("joist.lift_at_house", field.id)
    if check is None or check.demand is None:
        return None
    rated_lb = max(fact.low, round_up(check.demand, one("hanger_step")))
    count = bench.recorded(field.id, "count")
    line = Line(
        "uplift clip",
        f"rated for at least {rated_lb:g} lb up",
        count if isinstance(count, int) else None,
        "one at the house end of each joist, to the ledger or beam, every hole filled as its maker lists",
        material="G185 galvanized or stainless",
    )
    return Draft(
        kind="uplift-clips",
        title=f"Tie the house end of {field.subject} down with clips rated for at least {rated_lb:g} lb",
        change=Change({f"{field.id}.uplift_clip_rated_lb": rated_lb}),
        schedule=(line,),
        citation="IRC R507.8; statics",
        marks=(Mark(field.id, "uplift clips"),),
        cautions=("the ledger must be fastened against uplift as well",),
    )
