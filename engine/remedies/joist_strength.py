"""Joists that are too weak or too soft underfoot: a second joist beside each, or new joists in between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, one, round_up, several
from engine.vocabulary import BY_NAME

STRENGTH = (
    "joist.bending",
    "joist.shear",
    "joist.shear_at_notch",
    "joist.notch_depth",
    "joist.live_deflection",
    "joist.total_deflection",
    "joist.span_table",
)
PATCHES = ("patch.joist_bending", "patch.joist_shear")
CITATION = "NDS 3.3, 3.4; IRC R507.6"
HANGER = "joist hanger"
HANGER_COAT = "G185 galvanized or stainless, every hole filled as its maker lists"
_BESIDE = {1: "a new joist beside each joist", 2: "two new joists beside each joist", 3: "three new joists beside each"}


@repair(kind="joist-sister", owner="joist_field", answers=STRENGTH, title="A second joist beside each joist")
def sister(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    """New joists of the same size, full length, beside the old ones. A notched or soft old joist is not counted."""
    spacing_in = bench.number(field.id, "spacing_in")
    is_whole = not bench.number(field.id, "notch_depth_in") and not bench.number(field.id, "decay_depth_in")

    def change(new: int) -> Change:
        return _sistered(bench, field, spacing_in, new + is_whole, is_whole)

    new = bench.first((1, 2, 3), change, keys)
    if new is None:
        return None
    together = new + is_whole
    count = bench.recorded(field.id, "count")
    joists = int(count) * new if isinstance(count, int) else None
    size = bench.text(field.id, "size")
    lines = [
        Line(
            f"joist, {_BESIDE[new]}",
            size,
            joists,
            "full length, bearing at both ends like the old ones;"
            " fastened to them with 10d nails in two rows at 16 in (common practice, no published source)",
            material=bench.wood_words(field.id),
        )
    ]
    full, rated = change(new), None
    if bench.recorded(field.id, "house_end") == HANGER:
        full, rated = _with_hangers(bench, field, full)
        lines.append(
            Line(
                "joist hanger for the joists side by side",
                f"{together}-ply, rated for at least {rated * together:g} lb down",
                _int(count),
                "in place of each old hanger",
                material=HANGER_COAT,
            )
        )
    assumptions = []
    if together > 1:
        assumptions.append(
            f"in the deck file: {together} joists side by side are joists at {spacing_in / together:g}"
            " in, which is what each of them carries"
        )
    if not is_whole:
        assumptions.append("the old joists, notched or soft, are not counted")
    return Draft(
        "joist-sister",
        f"Put {_BESIDE[new]} in {field.subject}",
        full,
        tuple(lines),
        CITATION,
        (Mark(field.id, "new joists"),),
        tuple(assumptions),
        _cautions(rated, "every"),
    )


def _sistered(bench: Bench, field: Part, spacing_in: float, together: int, is_whole: bool) -> Change:
    facts: dict[str, Value | None] = {f"{field.id}.spacing_in": spacing_in / together}
    count = bench.recorded(field.id, "count")
    if isinstance(count, int):
        facts[f"{field.id}.count"] = min(count * together, int(BY_NAME["joist_field"].index["count"].high))
    if not is_whole:
        facts |= {f"{field.id}.notch_depth_in": 0.0, f"{field.id}.decay_depth_in": 0.0}
    return Change(facts)


@repair(kind="joist-between", owner="joist_field", answers=STRENGTH, title="New joists between the old ones")
def between(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    return _between(bench, field, keys, "joist-between", CITATION)


@repair(kind="joist-under-load", owner="joist_field", answers=PATCHES, title="New joists under the heavy thing")
def under_heavy_thing(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    draft = _between(bench, field, keys, "joist-under-load", CITATION)
    below = (
        "ledger, beam, posts and footings under the heavy thing stay to be designed or approved by a licensed engineer"
    )
    return replace(draft, cautions=(*draft.cautions, below)) if draft is not None else None


@repair(
    kind="joist-for-boards",
    owner="joist_field",
    answers=("surface.decking_span", "surface.board_bending", "surface.board_deflection"),
    title="New joists for the boards",
)
def for_boards(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    return _between(bench, field, keys, "joist-for-boards", "IRC R507.7")


def _between(bench: Bench, field: Part, keys: Sequence[Key], kind: str, citation: str) -> Draft | None:
    spacing_in = bench.number(field.id, "spacing_in")
    count = bench.recorded(field.id, "count")
    least_in = BY_NAME["joist_field"].index["spacing_in"].low

    def change(new: int) -> Change:
        facts: dict[str, Value | None] = {f"{field.id}.spacing_in": spacing_in / (new + 1)}
        if isinstance(count, int):
            facts[f"{field.id}.count"] = (count - 1) * (new + 1) + 1
        return Change(facts)

    numbers = [new for new in (1, 2, 3) if spacing_in / (new + 1) >= least_in]
    new = bench.first(numbers, change, keys)
    if new is None:
        return None
    full, rated = change(new), None
    joists = (int(count) - 1) * new if isinstance(count, int) else None
    apart_in = spacing_in / (new + 1)
    lines = [
        Line(
            "joist, new",
            bench.text(field.id, "size"),
            joists,
            f"{new} in each space between two old joists: {inches(apart_in)} on centre",
            _places(bench, field, spacing_in, new),
            "from the first joist",
            material=bench.wood_words(field.id),
        )
    ]
    if bench.recorded(field.id, "house_end") == HANGER:
        needed = _needed_lb(bench, field, full)
        rated = needed
        lines.append(
            Line(
                "joist hanger",
                f"rated for at least {needed:g} lb down",
                joists,
                "at the house end of each new joist",
                material=HANGER_COAT,
            )
        )
    title = f"Put {several(new, 'new joist')} in each space of {field.subject}"
    marks = (Mark(field.id, "new joists"),)
    return Draft(kind, title, full, tuple(lines), citation, marks, (), _cautions(rated, "each new"))


def _places(bench: Bench, field: Part, spacing_in: float, new: int) -> tuple[float, ...]:
    count = bench.recorded(field.id, "count")
    if not isinstance(count, int):
        return ()
    step_in = spacing_in / (new + 1)
    return tuple(
        round(space * spacing_in + step_in * number, 4) for space in range(count - 1) for number in range(1, new + 1)
    )


def _with_hangers(bench: Bench, field: Part, change: Change) -> tuple[Change, float]:
    rated = _needed_lb(bench, field, change)
    facts: dict[str, Value | None] = {
        f"{field.id}.hanger_rated_lb": rated,
        f"{field.id}.hanger_fasteners_present": 1.0,
        f"{field.id}.hanger_fasteners": "as the maker lists",
    }
    return change.with_(Change(facts)), rated


def _needed_lb(bench: Bench, field: Part, change: Change) -> float:
    """What one joist's hanger must be rated for after a change, lb: its reaction, and the published least."""
    return needed_hanger_lb(bench, field, change)


def needed_hanger_lb(bench: Bench, field: Part, change: Change) -> float:
    """Download (lb) that a hanger of the field needs: the joist's reaction and the least of the published list."""
    ready: dict[str, Value | None] = {
        f"{field.id}.house_end": HANGER,
        f"{field.id}.hanger_rated_lb": BY_NAME["joist_field"].index["hanger_rated_lb"].high,
        f"{field.id}.hanger_fasteners_present": 1.0,
        f"{field.id}.hanger_fasteners": "as the maker lists",
    }
    asked = bench.trial(change.with_(Change(ready)))
    checks = [asked.check(name, field.id) for name in ("joist.hanger", "joist.hanger_table")]
    needed = max((check.demand for check in checks if check is not None and check.demand is not None), default=0.0)
    return max(round_up(needed, one("hanger_step")), BY_NAME["joist_field"].index["hanger_rated_lb"].low)


def _int(count: object) -> int | None:
    return count if isinstance(count, int) else None


def _cautions(rated: float | None, which: str) -> tuple[str, ...]:
    words = [
        "the new joists must stand under the boards: lift boards or pack them tight, and screw every board to them"
    ]
    if rated is None:
        words.append(f"{which} new joist needs its own bearing or hanger at the house end".replace("new new", "new"))
    return tuple(words)
