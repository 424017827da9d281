"""Fasteners of a ledger: the bad ones replaced in their places, and the fewest new ones that close every gap."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from engine.deck import Part
from engine.remedies.asking import Asking, Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change
from engine.remedies.ledger_parts import (
    OF_THE_JOINT,
    Joint,
    ends_of,
    facts_of,
    joint_holds,
    joint_of,
    length_in,
    metal_for,
    old_holes,
    place_of,
    put_in,
    rows_are_known,
)
from engine.remedies.ledger_pattern import LEAST_GAP_IN, Place, filled, gaps_to_try
from engine.remedies.ledger_whole import WIDEST_IN, whole_pattern
from engine.remedies.model import PRACTICE, Draft, Line, Mark
from engine.remedies.sizes import inches, one, several

CITATION = "IRC R507.9.1.3; IRC R507.9.1.3(2)"
FACING = "from the left end of the ledger, facing the house"
NAMES = {"bolt": "half-inch through-bolt", "lag screw": "half-inch lag screw"}


@repair(kind="ledger-bolts", owner="ledger", answers=OF_THE_JOINT, title="Through-bolts in the ledger")
def replace_and_add_bolts(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    return _replace_and_add(bench, ledger, keys, "bolt")


@repair(kind="ledger-lags", owner="ledger", answers=OF_THE_JOINT, title="Lag screws in the ledger")
def replace_and_add_lags(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    return _replace_and_add(bench, ledger, keys, "lag screw")


@repair(kind="ledger-new-places", owner="ledger", answers=OF_THE_JOINT, title="Through-bolts in new places")
def bolts_in_new_places(bench: Bench, ledger: Part, keys: Sequence[Key]) -> Draft | None:
    """New places only, where that takes fewer bolts than replacing every bad fastener."""
    joint = joint_of(bench, ledger)
    if not joint.bad:
        return None
    left = Joint(joint.kept, (), (*joint.idle, *joint.bad))
    found = _pattern(bench, ledger, left, Change(removed=_ids(left.idle)), "bolt", keys)
    if found is None:
        return None
    places, change = found
    count = len(change.added)
    other = _pattern(bench, ledger, joint, _in_place(bench, ledger, joint, "bolt"), "bolt", keys)
    if other is not None and count >= len(joint.bad) + len(other[1].added):
        return None
    return _draft(bench, ledger, left, places, change, "bolt", "ledger-new-places")


def _replace_and_add(bench: Bench, ledger: Part, keys: Sequence[Key], kind: str) -> Draft | None:
    joint = joint_of(bench, ledger)
    found = _pattern(bench, ledger, joint, _in_place(bench, ledger, joint, kind), kind, keys)
    if found is None:
        return None
    return _draft(bench, ledger, joint, *found, kind, "ledger-bolts" if kind == "bolt" else "ledger-lags")


def _ids(parts: tuple[Part, ...]) -> tuple[str, ...]:
    return tuple(part.id for part in parts)


def _in_place(bench: Bench, ledger: Part, joint: Joint, kind: str) -> Change:
    """Every bad fastener replaced where it stands; what never counts is left out of the record."""
    facts = facts_of(bench, ledger, kind, metal_for(bench, joint.kept))
    return Change(
        {f"{part.id}.{name}": value for part in joint.bad for name, value in facts.items()}, removed=_ids(joint.idle)
    )


def _pattern(
    bench: Bench, ledger: Part, joint: Joint, first: Change, kind: str, keys: Sequence[Key]
) -> tuple[tuple[Place, ...], Change] | None:
    """The fewest new fasteners beside what stays, and the whole change; None where no number is enough."""
    key = ("ledger pattern", ledger.id, kind, _ids(joint.bad))
    if key not in bench.kept:
        bench.kept[key] = _worked_out(bench, ledger, joint, first, kind, keys)
    found: tuple[tuple[Place, ...], Change] | None = bench.kept[key]
    return found


def _worked_out(
    bench: Bench, ledger: Part, joint: Joint, first: Change, kind: str, keys: Sequence[Key]
) -> tuple[tuple[Place, ...], Change] | None:
    standing = (*joint.kept, *joint.bad)
    fixed = [place_of(bench, part) for part in standing]
    ends, ledger_in = ends_of(bench), bench.number(ledger.id, "length_in")
    in_turn = rows_are_known(bench, standing)
    facts = facts_of(bench, ledger, kind, metal_for(bench, joint.kept))

    def tried(gap_in: float) -> tuple[tuple[Place, ...], Change, Asking]:
        places = filled(fixed, ledger_in, gap_in, ends, in_turn=in_turn)
        change = first.with_(put_in(bench, ledger, places, facts))
        return places, change, bench.trial(change)

    most = _most(bench, ledger, keys, kind) - len(joint.bad)
    spacing = tried(WIDEST_IN)[2].check("ledger.spacing", ledger.id)
    widest_in = min(WIDEST_IN, (spacing.capacity if spacing else None) or WIDEST_IN)
    for gap_in in gaps_to_try(fixed, ledger_in, widest_in, ends):
        places, change, asked = tried(gap_in)
        if len(change.added) > most:
            return None  # a whole new pattern takes fewer
        if joint_holds(asked, ledger.id, keys):
            return _thinned(bench, ledger, fixed, first, places, change, keys)
    return None


def _most(bench: Bench, ledger: Part, keys: Sequence[Key], kind: str) -> int:
    """The number of fasteners of a whole new pattern, which is as good as any patching that takes more."""
    whole = whole_pattern(bench, ledger, keys, kind, bench.text(ledger.id, "size"), {})
    if whole is not None:
        return len(whole[0])
    return int(bench.number(ledger.id, "length_in") / LEAST_GAP_IN)


def _thinned(
    bench: Bench,
    ledger: Part,
    fixed: Sequence[Place],
    first: Change,
    places: tuple[Place, ...],
    change: Change,
    keys: Sequence[Key],
) -> tuple[tuple[Place, ...], Change]:
    """New ones taken out again one by one, the rest of their gap spread anew, as long as everything still holds."""
    facts = (
        {name: value for name, value in change.added[0].facts.items() if name not in ("ledger", "position_in", "row")}
        if change.added
        else {}
    )
    for left_in, right_in in pairwise(sorted(place.position_in for place in fixed)):
        inside = [place for place in places if place.is_new and left_in < place.position_in < right_in]
        for fewer in range(len(inside)):
            step_in = (right_in - left_in) / (fewer + 1)
            rows = [place.row for place in inside]
            spread = tuple(Place(left_in + step_in * n, rows[n - 1]) for n in range(1, fewer + 1))
            thinner = tuple(place for place in places if place not in inside)
            thinner = tuple(sorted((*thinner, *spread), key=lambda place: place.position_in))
            lighter = first.with_(put_in(bench, ledger, thinner, facts))
            if joint_holds(bench.trial(lighter), ledger.id, keys):
                places, change = thinner, lighter
                break
    return places, change


def _draft(
    bench: Bench, ledger: Part, joint: Joint, places: tuple[Place, ...], change: Change, kind: str, name: str
) -> Draft | None:
    new = tuple(place for place in places if place.is_new)
    if not new and not joint.bad:
        return None
    metal, long_in = metal_for(bench, joint.kept), length_in(bench, ledger, kind)
    size = f"1/2 in x {inches(long_in)}"
    material = (
        f"{metal}, with washers under head and nut" if kind == "bolt" else f"{metal}, with a washer under the head"
    )
    lines, marks = [], []
    if joint.bad:
        at = tuple(bench.number(part.id, "position_in") for part in joint.bad)
        found = ", ".join(f"{part.id} {_why(bench, part)}" for part in joint.bad)
        lines.append(
            Line(
                NAMES[kind] + ", in the place of a bad fastener",
                size,
                len(at),
                f"replaces {found}",
                at,
                FACING,
                edges_words(bench),
                material,
            )
        )
        marks += [Mark(part.id, "fastener replaced", x) for part, x in zip(joint.bad, at, strict=True)]
    if new:
        at = tuple(round(place.position_in, 4) for place in new)
        rows = ", ".join(f"{inches(place.position_in)} {place.row}".strip() for place in new)
        pattern = f"high and low in turn: {rows}"
        lines.append(Line(NAMES[kind] + ", new", size, len(new), pattern, at, FACING, edges_words(bench), material))
        marks += [Mark(ledger.id, "new fastener", place.position_in, place.row) for place in new]
    return Draft(
        kind=name,
        title=_title(ledger, joint, len(new), kind),
        change=change,
        schedule=tuple(lines),
        citation=CITATION,
        marks=tuple(marks),
        assumptions=_assumptions(joint),
        cautions=(*_cautions(bench, ledger, places, change, kind), *old_holes(bench, places, joint.idle)),
    )


def _why(bench: Bench, part: Part) -> str:
    condition = bench.text(part.id, "condition")
    return condition if condition != "good" else f"of {bench.text(part.id, 'metal')}"


def _title(ledger: Part, joint: Joint, new: int, kind: str) -> str:
    words = []
    if joint.bad:
        words.append(f"replace {several(len(joint.bad), 'fastener')} by {NAMES[kind]}s")
    if new:
        words.append(f"add {several(new, NAMES[kind])}")
    text = " and ".join(words)
    return f"{text[0].upper()}{text[1:]} in {ledger.subject}"


def edges_words(bench: Bench) -> str:
    value = {
        name: bench.rule(f"ledger.{name}").value
        for name in ("edge_top_min", "edge_bottom_min", "row_spacing_min", "row_spacing_max")
    }
    band = {name: bench.rule_or(f"band.{name}", 0.0) for name in ("edge_top_min", "edge_bottom_min")}
    ends = ends_of(bench)
    return (
        f"ledger: upper row at least {inches(value['edge_top_min'])} below the top, lower row at least"
        f" {inches(value['edge_bottom_min'])} above the bottom, rows {inches(value['row_spacing_min'])} to"
        f" {inches(value['row_spacing_max'])} apart, ends {inches(ends.least_in)} to {inches(ends.most_in)};"
        f" band: at least {inches(band['edge_top_min'])} from its top and {inches(band['edge_bottom_min'])} from its"
        " bottom"
    )


def _assumptions(joint: Joint) -> tuple[str, ...]:
    words = ["the fasteners that stay are as sound as they were found"]
    if joint.idle:
        words.append(
            "not counted, and left out of the record: "
            + ", ".join(part.id for part in joint.idle)
            + " (no fastener of the published table, or too near an end)"
        )
    return tuple(words)


def _cautions(bench: Bench, ledger: Part, places: tuple[Place, ...], change: Change, kind: str) -> tuple[str, ...]:
    words = []
    if change.added:
        clear_in = one("joist_clearance")
        room_in = min(clear_in + 0.75, _room_in(bench, ledger, change))
        where = f"a new fastener may be moved by up to {inches(room_in)}" if room_in >= 0.0625 else "none may be moved"
        words.append(
            f"where the joists stand is not recorded: keep {inches(clear_in)} clear of each joist and its hanger"
            f" ({PRACTICE}); {where} sideways without a gap becoming too wide, else ask again"
        )
    if kind == "bolt":
        words.append("needs a way to the inside face of the house band; look for pipes and wires before drilling")
    words.append("holds only in a sound band: probe it where the old holes are opened")
    return tuple(words)


def _room_in(bench: Bench, ledger: Part, change: Change) -> float:
    """How far one new fastener may be moved, in: what the widest gap has left of what is allowed, halved."""
    spacing = bench.trial(change).check("ledger.spacing", ledger.id)
    if spacing is None or spacing.demand is None or spacing.capacity is None:
        return 0.0
    return max(0.0, (spacing.capacity - spacing.demand) / 2)
