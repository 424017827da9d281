"""One comparison: what a part must carry against what it can, with the derivation behind both."""

from __future__ import annotations

from engine.records import dataclass
from engine.results import Step, ratio_of


@dataclass(frozen=True)
class Comparison:
    """A demand and a capacity in the same `unit`; `governs` names the mode that sets the result.

    A check turns this into a verdict for one part of one deck; the functions that return it know no deck.
    """

    demand: float
    capacity: float
    unit: str
    governs: str = ""
    steps: tuple[Step, ...] = ()
    assumptions: tuple[str, ...] = ()
    citation: str = ""

    @property
    def ratio(self) -> float:
        """Demand over capacity; above 1 does not hold."""
        return ratio_of(self.demand, self.capacity)
