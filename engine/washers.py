"""Washers under the heads and nuts of bolts and lag screws: which is the least, and what one spreads over the wood."""

from __future__ import annotations

from engine.comparison import Comparison
from engine.errors import NotPublished, require_not_negative, require_positive
from engine.fasteners.parts import DIAMETER_TOLERANCE_IN, cell_number
from engine.results import Step
from engine.tables import load

CITATION = "NDS 12.1.3.3; NDS Table L6"


def cut_washer_in(bolt_in: float) -> float:
    """Outside diameter of the standard cut washer of a bolt, in. Raises NotPublished where Table L6 lists none."""
    require_positive(bolt_in=bolt_in)
    for row in load("cut_washers").rows:
        if abs(cell_number(row["bolt_in"]) - bolt_in) < DIAMETER_TOLERANCE_IN:
            return cell_number(row["outside_in"])
    raise NotPublished(f"NDS Table L6 lists no cut washer for a {bolt_in:g} in bolt")


def washer_size(washer_in: float, bolt_in: float) -> Comparison:
    """Compare the standard cut washer of a bolt (demand) with the washer that is there, in; 0 is no washer.

    Source: NDS 12.1.3.3 (a standard cut washer or more between the wood and a head or nut), from memory.
    """
    require_not_negative(washer_in=washer_in)
    least = cut_washer_in(bolt_in)
    step = Step("OD", "OD", {"OD": least}, least, "in", "NDS Table L6 (from memory)")
    return Comparison(least, washer_in, "in", "washer", (step,), (), CITATION)
