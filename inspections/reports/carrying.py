"""What the checks say of the parts that carry the deck: the only ground on which a sentence may call it safe to use."""

import math
from dataclasses import dataclass

from engine.vocabulary import Link
from inspections.drawings.gauge import percent
from inspections.reports.digest import Digest

# From the boards down to the ground; the edge, the way up and water stand beside it.
MAIN_PATH = (Link.SURFACE, Link.JOISTS, Link.LEDGER, Link.BEAM, Link.POSTS, Link.FOOTINGS)


@dataclass(frozen=True)
class Carrying:
    """How many questions on the main load path fall short, or have no clear answer; questions, not pieces."""

    is_checked: bool  # at least one check of the path was made
    failing: int
    worst_ratio: float | None  # of those that fall short, if one of them has a number
    unanswered: int

    @property
    def holds(self) -> bool:
        """Every check that applies was made and holds."""
        return self.is_checked and not self.failing and not self.unanswered

    @property
    def worst_words(self) -> str:
        """ ", the worst at 213 %", or nothing where no number can be given."""
        return "" if self.worst_ratio is None else f", the worst at {percent(self.worst_ratio)}"


def carrying_of(digest: Digest) -> Carrying:
    """The main path of a digest. A check whose other way of judging disagrees has no clear answer."""
    checks = [check for check in digest.checks if check.link in MAIN_PATH]
    failing = [check for check in checks if check.fails and not check.is_disputed]
    ratios = [check.ratio for check in failing if check.ratio is not None and math.isfinite(check.ratio)]
    return Carrying(
        is_checked=bool(checks),
        failing=len({check.id for check in failing}),
        worst_ratio=max(ratios, default=None),
        unanswered=len({check.id for check in checks if check.is_open or check.is_disputed}),
    )
