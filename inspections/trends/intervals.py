"""How sure a share is that was counted in few visits."""

from dataclasses import dataclass
from math import sqrt

Z_95 = 1.959963984540054  # the standard normal's 97.5 % point


@dataclass(frozen=True)
class Share:
    """`count` out of `of`, with the interval in which the true share lies in 95 of 100 such samples."""

    count: int
    of: int
    share: float
    low: float
    high: float


def wilson_share(count: int, of: int) -> Share | None:
    """The share with its 95 % score interval, or None of nothing.

    Unlike the plain formula it stays between 0 and 1 and tells something about 0 of 5 too.
    Raises ValueError unless 0 <= count <= of.
    Source: E. B. Wilson, Journal of the American Statistical Association 22 (1927), 209-212, without continuity
    correction.
    """
    if not 0 <= count <= of:
        raise ValueError(f"{count} of {of} is no share")
    if of == 0:
        return None
    share = count / of
    shrink = 1 + Z_95**2 / of
    middle = (share + Z_95**2 / (2 * of)) / shrink
    half_width = Z_95 * sqrt(share * (1 - share) / of + Z_95**2 / (4 * of**2)) / shrink
    return Share(count, of, share, max(0.0, middle - half_width), min(1.0, middle + half_width))
