"""Stairs: the dimensions a foot and a hand rely on. What carries them is in `engine.stair_framing`.

Every limit is an argument, since the adopted edition or a local amendment sets it; the citation comes with it.
"""

from __future__ import annotations

from collections.abc import Sequence

from engine.comparison import Comparison
from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.measures import at_least, at_most, stops_ball
from engine.results import Step


def riser_heights(risers_in: Sequence[float], most_in: float, citation: str) -> Comparison:
    """Compare the highest riser with the limit, in. Raises OutOfRange without a riser."""
    worst = max(_numbered(risers_in, "risers_in"))
    return at_most(most_in, worst[0], f"riser {worst[1]}", citation)


def tread_depths(treads_in: Sequence[float], least_in: float, citation: str) -> Comparison:
    """Compare the shallowest tread, nosing to nosing, with the limit, in. Raises OutOfRange without a tread."""
    worst = min(_numbered(treads_in, "treads_in"))
    return at_least(least_in, worst[0], f"tread {worst[1]}", citation)


def uniformity(values_in: Sequence[float], most_in: float, what: str, citation: str) -> Comparison:
    """Compare the difference between the largest and the smallest riser (or tread) of a flight with the limit, in.

    The bottom and the top one count too: that is where people trip. Raises OutOfRange without a value.
    """
    numbered = _numbered(values_in, f"{what}s_in")
    high, low = max(numbered), min(numbered)
    require_positive(most_in=most_in)
    spread = Step("spread", "high - low", {"high": high[0], "low": low[0]}, high[0] - low[0], "in", "measured")
    name = f"{what} {high[1]} against {what} {low[1]}"
    return Comparison(spread.value, most_in, "in", name, (spread,), (), citation)


def flight_rise(risers_in: Sequence[float], most_in: float, citation: str) -> Comparison:
    """Compare the rise between two landings with the limit, in. Raises OutOfRange without a riser."""
    total_in = sum(height for height, _ in _numbered(risers_in, "risers_in"))
    return at_most(most_in, total_in, "rise of the flight", citation)


def clear_width(width_in: float, least_in: float, citation: str) -> Comparison:
    """Compare the clear width above the handrail with the limit, in."""
    return at_least(least_in, width_in, "clear width", citation)


def headroom(headroom_in: float, least_in: float, citation: str) -> Comparison:
    """Compare the headroom above the nosing line with the limit, in."""
    return at_least(least_in, headroom_in, "headroom", citation)


def open_riser(largest_ball_in: float, ball_in: float, citation: str) -> Comparison:
    """Compare the largest ball that passes between two treads with the ball that must not, in."""
    return stops_ball(ball_in, largest_ball_in, "open riser", citation)


def needs_handrail(riser_count: int, trigger_risers: int) -> bool:
    """Whether a flight needs a handrail: from `trigger_risers` on (IRC R311.7.8: four). Raises OutOfRange below one."""
    if riser_count < 1 or trigger_risers < 1:
        raise OutOfRange("riser_count", riser_count, "one riser or more")
    return riser_count >= trigger_risers


def handrail_height(height_in: float, least_in: float, most_in: float, citation: str) -> tuple[Comparison, Comparison]:
    """Compare the handrail's height above the nosing line with the two ends of its range, in."""
    if least_in > most_in:
        raise OutOfRange("least_in", least_in, f"not above {most_in:g}")
    return (
        at_least(least_in, height_in, "handrail height, at least", citation),
        at_most(most_in, height_in, "handrail height, at most", citation),
    )


def round_grip(diameter_in: float, least_in: float, most_in: float, citation: str) -> tuple[Comparison, Comparison]:
    """Compare the outside diameter of a round handrail with its range, in (IRC R311.7.8.5 type I)."""
    require_positive(diameter_in=diameter_in)
    return (
        at_least(least_in, diameter_in, "round grip, at least", citation),
        at_most(most_in, diameter_in, "round grip, at most", citation),
    )


def shaped_grip(
    perimeter_in: float,
    largest_section_in: float,
    *,
    perimeter_least_in: float,
    perimeter_most_in: float,
    section_most_in: float,
    citation: str,
) -> tuple[Comparison, ...]:
    """Compare a handrail that is not round with its perimeter range and its largest cross dimension, in.

    A 2x4 or 2x6 laid flat or on edge is no grip under this rule. Source: IRC R311.7.8.5 type I.
    """
    require_positive(perimeter_in=perimeter_in, largest_section_in=largest_section_in)
    return (
        at_least(perimeter_least_in, perimeter_in, "grip perimeter, at least", citation),
        at_most(perimeter_most_in, perimeter_in, "grip perimeter, at most", citation),
        at_most(section_most_in, largest_section_in, "grip cross dimension", citation),
    )


def _numbered(values_in: Sequence[float], field: str) -> list[tuple[float, int]]:
    """Each value with its number from the bottom, counting from 1."""
    if not values_in:
        raise OutOfRange(field, (), "at least one measured value")
    for value in values_in:
        require_not_negative(**{field: value})
    return [(value, number) for number, value in enumerate(values_in, start=1)]
