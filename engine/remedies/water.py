"""What water has done: flashing made good, soft wood replaced, damp wood watched."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import OWNER, Draft, Line, Mark
from engine.remedies.sizes import inches

_WORDS = {
    "joist_field": "joists",
    "beam": "beam",
    "post": "post",
    "guard": "guard posts",
    "stair": "stringers",
}


@repair(kind="flashing", owner="ledger", answers=("water.flashing",), title="Flashing over the ledger")
def flashing(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    length = bench.recorded(ledger.id, "length_in")
    long = (
        f"{inches(length)} and 4 in past each end"
        if isinstance(length, float)
        else "the whole ledger and past each end"
    )
    thick = bench.rule("ledger.flashing_thickness")
    line = Line(
        "flashing over the ledger",
        f"corrosion-resistant metal at least {thick.value:g} in thick, or a flexible membrane made for it",
        1,
        f"{long}; lapped behind the wall covering and its weather barrier, over the top and down the face of the"
        " ledger",
        material="no aluminum against copper-treated wood",
    )
    return Draft(
        kind="flashing",
        title=f"Flash {ledger.subject}, lapped behind the wall covering",
        change=Change({f"{ledger.id}.flashing": "lapped behind the wall covering"}),
        schedule=(line,),
        citation="IRC R507.9.1.3; R703.4; " + thick.citation,
        marks=(Mark(ledger.id, "flashing"),),
        cautions=("look at the house band and its sheathing once the wall covering is open",),
    )


def _replacement(bench: Bench, part: Part, keys: Sequence[Key]) -> Draft | None:
    facts: dict[str, Value | None] = {f"{part.id}.decay_depth_in": 0.0}
    if "moisture_percent" in part.facts:
        facts[f"{part.id}.moisture_percent"] = None
    what = _WORDS[part.kind.name]
    size = (
        bench.recorded(part.id, "post_size" if part.kind.name == "guard" else "size")
        if part.kind.name != "stair"
        else "2x12"
    )
    counted = {"joist_field": "count", "stair": "stringer_count", "beam": "plies"}.get(part.kind.name)
    count = bench.recorded(part.id, counted) if counted else 1 if part.kind.name == "post" else None
    line = Line(
        f"{what} of {part.subject}",
        str(size or "as it is"),
        count if isinstance(count, int) else None,
        "like for like in place of every soft piece; sound neighbours may stay where a probe finds them hard",
        material=bench.wood_words(part.id),
    )
    return Draft(
        kind="replace-soft",
        title=f"Replace the soft {what} of {part.subject}",
        change=Change(facts),
        schedule=(line,),
        citation="probed on the day",
        marks=(Mark(part.id, "replaced"),),
        assumptions=("what takes its place is sound and of the same size and wood",),
        cautions=("find where the water comes from first, or the new wood goes the same way",),
    )


for _kind in _WORDS:
    repair(kind="replace-soft", owner=_kind, answers=("water.decay",), title="Soft wood replaced", of=_kind)(
        _replacement
    )


def _dry_out(bench: Bench, part: Part, keys: Sequence[Key]) -> Draft | None:
    line = Line(
        "keep water off, let air to it",
        pattern=f"clear gaps and gutters above {part.subject}, close the way in of the water, and measure again after"
        " a dry month",
    )
    return Draft(
        kind="dry-out",
        title=f"Find what keeps {part.subject} wet, and measure again",
        change=Change(),
        schedule=(line,),
        citation="see the check",
        marks=(Mark(part.id, "wet"),),
        who=OWNER,
        is_proved=False,
        cautions=("only a later reading can tell whether it worked; probe for soft wood then",),
    )


for _kind in ("ledger", *_WORDS):
    repair(kind="dry-out", owner=_kind, answers=("water.moisture", "water.staining"), title="Damp wood", of=_kind)(
        _dry_out
    )
