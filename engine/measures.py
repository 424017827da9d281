"""A measured length against a limit of a rule: the three ways a limit can run.

For a least dimension the limit is the demand and the measured value the capacity, for a greatest one it is the other
way round, so that a ratio above 1 always means "not good enough".
"""

from __future__ import annotations

from engine.comparison import Comparison
from engine.errors import require_not_negative, require_positive
from engine.results import Step

# A measured gap as wide as the ball lets the ball through: the limit is just below the ball.
JUST_BELOW = 1 - 1e-8


def at_least(required_in: float, measured_in: float, name: str, citation: str) -> Comparison:
    """Compare a least dimension of a rule with what was measured, in. Raises OutOfRange for a negative one."""
    require_positive(required_in=required_in)
    require_not_negative(measured_in=measured_in)
    return Comparison(required_in, measured_in, "in", name, (measured(name, measured_in),), (), citation)


def at_most(allowed_in: float, measured_in: float, name: str, citation: str) -> Comparison:
    """Compare what was measured with a greatest dimension of a rule, in. Raises OutOfRange for a negative one."""
    require_positive(allowed_in=allowed_in)
    require_not_negative(measured_in=measured_in)
    return Comparison(measured_in, allowed_in, "in", name, (measured(name, measured_in),), (), citation)


def stops_ball(ball_in: float, largest_ball_in: float, name: str, citation: str) -> Comparison:
    """Compare the largest ball that passes an opening with the ball that must not, in.

    A ball of exactly that size must not pass either, so an opening of the same width does not hold.
    """
    require_positive(ball_in=ball_in)
    require_not_negative(largest_ball_in=largest_ball_in)
    steps = (measured(name, largest_ball_in),)
    return Comparison(largest_ball_in, ball_in * JUST_BELOW, "in", name, steps, (), citation)


def measured(name: str, value_in: float) -> Step:
    """The line of a derivation that says which measured number went in."""
    return Step("x", "x", {"x": value_in}, value_in, "in", "measured", name)
