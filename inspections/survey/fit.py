"""Measures that cannot all be right at once: joists that do not fill their level, risers that do not reach it.

Nothing is refused or judged by it; it says where to hold the tape again. The allowances are common practice, no
published source. Knows no Django, so that a tablet can say the same without signal.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from engine.units import format_feet_inches, format_inches
from inspections.survey.record import PartLike, Record

_SLOPE_IN = 12  # ground falls away under a deck, and a stair may land on a slab
_EDGE_IN = 6  # of boards and rims beyond the frame


@dataclass(frozen=True)
class Misfit:
    """Words, and the key of the part at which to measure again."""

    key: str
    words: str


def misfits(record: Record) -> list[Misfit]:
    """What does not fit together among the measures of the record, part by part."""
    return [one for part in record.parts for one in _ASKED.get(part.kind, _nothing)(record, part)]


def _nothing(record: Record, part: PartLike) -> Iterator[Misfit]:
    yield from ()


def _joists(record: Record, part: PartLike) -> Iterator[Misfit]:
    count, spacing_in = _number(record, part, "count"), _number(record, part, "spacing_in")
    level = _level(record, part)
    width_in = level and _number(record, level, "width_in")
    is_alone = len(_on_level(record, "joist_field", level)) == 1
    if count and count > 1 and spacing_in and width_in and is_alone:
        covered_in = (count - 1) * spacing_in
        if abs(covered_in - width_in) > spacing_in + _EDGE_IN:
            yield Misfit(
                part.key,
                f"{part.key}: {count:g} joists at {format_inches(spacing_in)} cover {_length(covered_in)}, but "
                f"{level.key} is {_length(width_in)} wide.",
            )
    span_in, depth_in = _number(record, part, "span_in"), level and _number(record, level, "depth_in")
    if span_in and depth_in and span_in > depth_in + _EDGE_IN:
        yield Misfit(
            part.key,
            f"{part.key}: a clear span of {_length(span_in)} does not fit on {level.key}, which is {_length(depth_in)} "
            "deep.",
        )


def _beam(record: Record, part: PartLike) -> Iterator[Misfit]:
    spans = _numbers(record, part, "spans_in")
    level = _level(record, part)
    width_in = level and _number(record, level, "width_in")
    if spans and width_in and sum(spans) > width_in + _EDGE_IN:
        yield Misfit(
            part.key,
            f"{part.key}: its spans add up to {_length(sum(spans))}, but {level.key} is {_length(width_in)} wide.",
        )
    posts = [one for one in record.of_kind("post") if record.value(one, "beam") == part.key]
    if spans and posts and len(posts) != len(spans) + 1:
        yield Misfit(
            part.key,
            f"{part.key}: {_counted(len(spans), 'span')} from post to post need {len(spans) + 1} posts, but "
            f"{len(posts)} {'is' if len(posts) == 1 else 'are'} recorded.",
        )


def _post(record: Record, part: PartLike) -> Iterator[Misfit]:
    beam = record.by_key.get(str(record.value(part, "beam")))
    level = _level(record, beam) if beam else None
    tall_in, high_in = _number(record, part, "height_in"), level and _number(record, level, "height_in")
    if tall_in and high_in and tall_in > high_in + _SLOPE_IN:
        yield Misfit(
            part.key,
            f"{part.key}: a post of {_length(tall_in)} does not fit under {level.key}, which is {_length(high_in)} "
            "above the ground.",
        )


def _ledger(record: Record, part: PartLike) -> Iterator[Misfit]:
    level = _level(record, part)
    length_in, width_in = _number(record, part, "length_in"), level and _number(record, level, "width_in")
    if length_in and width_in and length_in > width_in + _EDGE_IN:
        yield Misfit(
            part.key,
            f"{part.key}: a ledger of {_length(length_in)} is longer than {level.key} is wide ({_length(width_in)}).",
        )


def _stair(record: Record, part: PartLike) -> Iterator[Misfit]:
    risers, treads = _numbers(record, part, "risers_in"), _numbers(record, part, "treads_in")
    level = _level(record, part)
    high_in = level and _number(record, level, "height_in")
    if risers and high_in and len(record.of_kind("level")) == 1 and abs(sum(risers) - high_in) > _SLOPE_IN:
        yield Misfit(
            part.key,
            f"{part.key}: its risers add up to {_length(sum(risers))}, but {level.key} is {_length(high_in)} above the "
            "ground.",
        )
    if risers and treads and not len(risers) - 1 <= len(treads) <= len(risers):
        yield Misfit(
            part.key,
            f"{part.key}: {_counted(len(risers), 'riser')} and {_counted(len(treads), 'tread')} do not make a flight.",
        )


_ASKED = {"joist_field": _joists, "beam": _beam, "post": _post, "ledger": _ledger, "stair": _stair}


def _level(record: Record, part: PartLike) -> PartLike | None:
    return record.by_key.get(str(record.value(part, "level")))


def _on_level(record: Record, kind: str, level: PartLike | None) -> list[PartLike]:
    return [one for one in record.of_kind(kind) if level and record.value(one, "level") == level.key]


def _number(record: Record, part: PartLike, fact_name: str) -> float | None:
    value = record.value(part, fact_name)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _numbers(record: Record, part: PartLike, fact_name: str) -> list[float]:
    value = record.value(part, fact_name)
    return [float(one) for one in value] if isinstance(value, list | tuple) else []


def _length(value_in: float) -> str:
    return format_feet_inches(value_in) if value_in >= 24 else format_inches(value_in)


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
