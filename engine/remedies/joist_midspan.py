"""A beam under the middle of the joists: two shorter spans instead of one."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Asking, Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change, NewPart, new_id
from engine.remedies.joist_strength import STRENGTH
from engine.remedies.model import Draft
from engine.remedies.new_beam import (
    Carried,
    beam_line,
    beam_mark,
    on_posts,
    ply_nails,
    under_joists_in,
    usual_size,
)
from engine.remedies.sizes import inches
from engine.results import RATIO_TOLERANCE

# A joist that runs on over the new beam brings it more shear than two that end there: 5/8 against 1/2 of a span
# (statics, two equal spans under an even load).
THROUGH_SHEAR = 1.25
SHARES = (0.5, 0.45, 0.4, 0.35, 0.3, 0.25)  # of the span on the house side; less of it leaves more behind an overhang
_OWN = (
    "ledger",
    "inner_beam",
    "house_end",
    "hanger_rated_lb",
    "hanger_fasteners_present",
    "hanger_fasteners",
    "notch_depth_in",
)


@repair(kind="joist-midspan-beam", owner="joist_field", answers=STRENGTH, title="A beam under the middle of the joists")
def midspan_beam(bench: Bench, field: Part, keys: Sequence[Key]) -> Draft | None:
    level = bench.level_of(field.id)
    if level is None:
        return None
    span_in, overhang_in = bench.number(field.id, "span_in"), bench.number(field.id, "overhang_in")
    length_in = _length_in(bench, field, level)
    outer = str(field.facts["beam"]) if "beam" in field.facts else None
    field_id, beam_id = new_id(bench.deck, field.id), new_id(bench.deck, f"{field.id}B")
    size = usual_size(bench, outer)
    height_in = under_joists_in(bench, level.id, bench.depth_in(field.id))
    wood = bench.wood(outer or field.id)
    for share in SHARES:
        inner_in, outer_in = span_in * share, span_in * (1 - share)
        if inner_in < field.kind.index["span_in"].low:
            break
        width_in = through_tributary_in(inner_in, outer_in)
        if 2 * width_in > bench.part(field.id).kind.index["span_in"].high:
            continue
        # Joists on both sides of the new beam run through over it: what they bring is entered as one span of twice
        # the width of deck that comes down on it.
        facts: dict[str, Value] = {"level": level.id, "joist_span_in": 2 * width_in, "joist_overhang_in": 0.0}
        wanted = Carried(beam_id, length_in, height_in, facts)

        def base(beam: NewPart, inner_in: float = inner_in, outer_in: float = outer_in) -> Change:
            return _divided(bench, field, field_id, beam, inner_in, outer_in, overhang_in)

        any_beam = NewPart("beam", beam_id, {**wood, **ply_nails(bench), "size": size, "plies": 2, **facts})
        if not _first_look(bench, base(any_beam), field.id, field_id, keys):
            continue
        stood = on_posts(bench, wanted, wood, size, base, keys)
        if stood is None:
            return None
        stand, beam = stood
        where = f"under the joists, {inches(inner_in)} from the house end of their span"
        return Draft(
            kind="joist-midspan-beam",
            title=f"Put a beam on {stand.words} under {field.subject}, {inches(inner_in)} out from the house end",
            change=stand.change,
            schedule=(beam_line(beam, wanted, where, bench.wood_words(outer or field.id)), *stand.lines),
            citation="NDS 3.3, 3.4; IRC R507.5; IRC R507.3, R507.4",
            marks=(beam_mark(beam), *stand.marks),
            inherits={field_id: field.id},
            assumptions=(
                f"the joists run through over the new beam: it carries {inches(width_in)} of deck, and the joists have"
                f" {THROUGH_SHEAR:g} times the shear of a simple span there",
                "in the deck file the joists on either side of the new beam are two fields",
                "the ground below is as far down as at the highest edge; 1 in of decking",
            ),
            cautions=(
                "shim tight to every joist; a gap under one joist makes its neighbours carry it",
                "a heavy thing on this field must be looked up again: it is kept on the part next to the house",
            )
            if bench.referring(field.id, "patch")
            else ("shim tight to every joist",),
        )
    return None


def through_tributary_in(inner_in: float, outer_in: float) -> float:
    """Width of deck (in) that comes down on the middle support of joists running through over two spans.

    Source: theorem of three moments for a uniform load on both spans, the ends free to turn:
    M = w (l1**3 + l2**3) / (8 (l1 + l2)); R = w (l1 + l2) / 2 + M / l1 + M / l2.
    """
    moment_in2 = (inner_in**3 + outer_in**3) / (8 * (inner_in + outer_in))
    return (inner_in + outer_in) / 2 + moment_in2 / inner_in + moment_in2 / outer_in


def _length_in(bench: Bench, field: Part, level: Part) -> float:
    ledger = field.facts.get("ledger")
    if isinstance(ledger, str):
        return bench.number(ledger, "length_in")
    return bench.number(level.id, "width_in")


def _divided(
    bench: Bench, field: Part, field_id: str, beam: NewPart, inner_in: float, outer_in: float, overhang_in: float
) -> Change:
    plies = beam.facts["plies"]
    assert isinstance(plies, int)
    on_beam_in = 1.5 * plies
    facts: dict[str, Value | None] = {
        f"{field.id}.span_in": inner_in,
        f"{field.id}.overhang_in": 0.0,
        f"{field.id}.beam": beam.id,
        f"{field.id}.bearing_in": on_beam_in,
    }
    ledger = field.facts.get("ledger")
    if isinstance(ledger, str) and "joist_span_in" in bench.part(ledger).facts:
        facts[f"{ledger}.joist_span_in"] = None
    outer = field.facts.get("beam")
    if isinstance(outer, str):
        facts |= {
            f"{outer}.{name}": None
            for name in ("joist_span_in", "joist_overhang_in")
            if name in bench.part(outer).facts
        }
    kept = {name: value for name, value in field.facts.items() if name not in _OWN}
    new: dict[str, Value] = {
        **kept,
        "span_in": outer_in,
        "overhang_in": overhang_in,
        "inner_beam": beam.id,
        "house_end": "on top of a beam",
    }
    return Change(facts, (NewPart("joist_field", field_id, new, f"outer part of {field.name or field.id}"), beam))


def _first_look(bench: Bench, change: Change, field_id: str, new_id_: str, keys: Sequence[Key]) -> bool:
    """Whether the joists hold over the shorter spans, before any beam is looked for."""
    asked = bench.trial(change)
    if not all(asked.clears(key) for key in keys) or not _shear_holds(asked, (field_id, new_id_)):
        return False
    known = set(bench.failing)
    answers = [*asked.about(field_id), *asked.about(new_id_)]
    here = [each for each in answers if asked.fails(each.key)]
    inherited = {key.check_id for key in known if key.part_id == field_id}
    return all(each.key.check_id in inherited for each in here)


def _shear_holds(asked: Asking, fields: Sequence[str]) -> bool:
    checks = [asked.check("joist.shear", field) for field in fields]
    ratios = [check.ratio for check in checks if check is not None and check.ratio is not None]
    return len(ratios) == len(fields) and all(ratio * THROUGH_SHEAR <= 1 + RATIO_TOLERANCE for ratio in ratios)
