"""How the load runs down: which joists stand on which ledger or beam, and what they bring.

Spans and overhangs by statics: a joist that overhangs its beam by `a` past a span `l` brings w (l + a)**2 / (2 l) to
the beam and, with the overhang empty, w l / 2 to the house end.
"""

from __future__ import annotations

from engine.errors import EngineError
from engine.facts import CannotJudge, DeckView, NotRecorded, PartView
from engine.results import Step


def joist_fields_on(part: PartView, by: str | None = None) -> list[PartView]:
    """The joist fields that rest on a ledger or beam."""
    return part.parts("joist_field", by)


def ledger_joist_span_in(ledger: PartView) -> float:
    """Span of the joists that a ledger carries: as recorded for the ledger, else the longest of its joist fields."""
    return _span_in(ledger, joist_fields_on(ledger))


def _span_in(part: PartView, fields: list[PartView]) -> float:
    if part.is_recorded("joist_span_in") or not fields:
        return part.number("joist_span_in")
    return max(field.number("span_in") for field in fields)


def beam_joists(beam: PartView, deck: DeckView) -> list[tuple[float, float]]:
    """The joists that a beam carries from each side, as (span, overhang) in inches.

    Fields whose outer end it is may overhang it; fields whose house end it is do not. Of several fields on one side the
    heaviest counts along the whole beam.
    """
    outer, inner = joist_fields_on(beam, "beam"), joist_fields_on(beam, "inner_beam")
    if beam.is_recorded("joist_span_in") or not (outer or inner):
        span_in = beam.number("joist_span_in")
        if beam.is_recorded("joist_overhang_in"):
            return [(span_in, beam.number("joist_overhang_in"))]
        overhangs = [field.number("overhang_in") for field in outer]
        if not overhangs:
            beam.not_recorded("joist_overhang_in")
        return [(span_in, max(overhangs))]
    found = []
    if outer:
        sides = [(field.number("span_in"), field.number("overhang_in")) for field in outer]
        found.append(max(sides, key=lambda side: side_share_in(*side)))
        _say_heaviest(beam, deck, outer)
    if inner:
        found.append((max(field.number("span_in") for field in inner), 0.0))
        _say_heaviest(beam, deck, inner)
    return found


def _say_heaviest(beam: PartView, deck: DeckView, fields: list[PartView]) -> None:
    if len(fields) > 1:
        names = ", ".join(field.id for field in fields)
        deck.run.assume(f"{beam.subject}: the heaviest of the joist fields {names} taken along the whole beam")


def side_share_in(span_in: float, overhang_in: float) -> float:
    """Width of deck (in) whose load one side of joists brings to a beam: (l + a)**2 / (2 l)."""
    return (span_in + overhang_in) ** 2 / (2 * span_in)


def beam_tributary_in(beam: PartView, deck: DeckView) -> float:
    """Width of deck (in) that a beam carries, both sides together."""
    return deck.run.once(("tributary", beam.id), lambda: _tributary_in(beam, deck))


def _tributary_in(beam: PartView, deck: DeckView) -> float:
    return sum(side_share_in(*side) for side in beam_joists(beam, deck))


def tributary_step(beam: PartView, deck: DeckView) -> Step:
    """The width of deck (in) that a beam carries, as a line of a derivation."""
    return deck.run.once(("tributary step", beam.id), lambda: _tributary_step(beam, deck))


def _tributary_step(beam: PartView, deck: DeckView) -> Step:
    sides = beam_joists(beam, deck)
    names = [("l", "a")] if len(sides) == 1 else [(f"l{n}", f"a{n}") for n in range(1, len(sides) + 1)]
    formula = " + ".join(f"({span} + {over})**2 / (2 * {span})" for span, over in names)
    inputs: dict[str, float] = {}
    for (span, over), (span_in, overhang_in) in zip(names, sides, strict=True):
        inputs |= {span: span_in, over: overhang_in}
    value = beam_tributary_in(beam, deck)
    return Step("b", formula, inputs, value, "in", "statics", "joists on the beam, their overhang full")


def posts_along(beam: PartView) -> list[PartView]:
    """The posts under a beam from left to right. Raises CannotJudge unless there is one at each end of every span."""
    spans_in = beam.numbers("spans_in")
    posts = beam.parts("post")
    if len(posts) != len(spans_in) + 1:
        raise CannotJudge(
            f"{beam.subject} has {len(spans_in)} spans and {len(posts)} posts recorded; spans and posts do not fit",
            f"count the posts and measure the spans of {beam.subject} again",
        )
    if not all(post.is_recorded("position_in") for post in posts):
        return posts  # as listed; the order of the file is all there is
    return sorted(posts, key=lambda post: post.number("position_in"))


def joists_of_level(level: PartView) -> list[PartView]:
    """The joist fields of a level."""
    return level.parts("joist_field")


def first_known(read: list[tuple[PartView, str]]) -> float:
    """The first number of several places where it may be recorded. Raises NotRecorded for the first place."""
    missing: EngineError | None = None
    for part, name in read:
        try:
            return part.number(name)
        except NotRecorded as error:
            missing = missing or error
    assert missing is not None
    raise missing
