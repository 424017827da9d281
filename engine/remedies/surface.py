"""The walking surface: soft boards, boards that span too far, things that are too heavy."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import OWNER, Draft, Line, Mark
from engine.vocabulary import DECKING


@repair(kind="boards-sound", owner="level", answers=("surface.condition",), title="Soft boards replaced")
def replace_boards(bench: Bench, level: Part, keys: Sequence[Key]) -> Draft | None:
    decking = bench.recorded(level.id, "decking")
    line = Line(
        "deck board",
        str(decking or "as those that are there"),
        None,
        "every board that gives or is broken, over at least three joists; each joist below probed while it is open",
        material="as those that are there; fasteners hot-dip galvanized or stainless",
    )
    return Draft(
        kind="boards-sound",
        title=f"Replace the soft boards of {level.subject}",
        change=Change({f"{level.id}.surface_condition": "firm"}),
        schedule=(line,),
        citation="seen on the day",
        marks=(Mark(level.id, "boards replaced"),),
    )


@repair(kind="boards-thicker", owner="joist_field", answers=("surface.decking_span",), title="Boards that span farther")
def thicker_boards(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    level = bench.level_of(field.id)
    if level is None:
        return None
    thick = [each for each in DECKING if each.endswith("thick wood")]

    def change(decking: str) -> Change:
        return Change({f"{level.id}.decking": decking, f"{level.id}.surface_condition": "firm"})

    decking = bench.first(thick, change, keys)
    if decking is None:
        return None
    line = Line("deck boards", decking, None, f"all of {level.subject}, each over three or more joists")
    return Draft(
        kind="boards-thicker",
        title=f"Lay boards of {decking} on {level.subject}",
        change=change(decking),
        schedule=(line,),
        citation="IRC R507.7",
        marks=(Mark(level.id, "new boards"),),
        cautions=("heights of guards and steps change with the thickness of the boards",),
    )


@repair(
    kind="heavy-thing-away",
    owner="patch",
    answers=("patch.joist_bending", "patch.joist_shear"),
    title="The heavy thing moved off",
)
def move_it_off(bench: Bench, patch: Part, keys: Sequence[Key]) -> Draft | None:
    what = bench.text(patch.id, "what")
    where = "onto the ground, or onto framing that was designed for it"
    return Draft(
        kind="heavy-thing-away",
        title=f"Take the {what} ({patch.id}) off the deck",
        change=Change(removed=(patch.id,)),
        schedule=(Line(f"{what} moved", "", 1, where),),
        citation="statics",
        marks=(Mark(str(patch.facts["joist_field"]), f"{what} taken off"),),
        who=OWNER,
    )
