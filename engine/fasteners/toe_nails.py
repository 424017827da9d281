"""Toe-nails: a nail driven aslant through the end of one member into another (NDS 12.1.5.4)."""

from __future__ import annotations

import math

from engine.errors import OutOfRange
from engine.fasteners.parts import Fastener

ANGLE_DEG = 30


def toe_nail_lengths_in(nail: Fastener) -> tuple[float, float]:
    """Length of a toe-nail in the member it starts in, and its penetration beyond (tip included), inches.

    The nail starts a third of its length from the end of the member and goes in at about 30 degrees to its face. A
    third of it counts in the first member, and what is left of its reach along the grain in the second.

    Raises OutOfRange for anything but a nail of a known length. Source: NDS 12.1.5.4 and Figure 12A (from memory).
    """
    if nail.kind != "nail":
        raise OutOfRange("kind", nail.kind, "nail, for a toe-nail")
    if nail.length_in is None:
        raise OutOfRange("length_in", None, "a measured length")
    side_in = nail.length_in / 3
    return side_in, nail.length_in * math.cos(math.radians(ANGLE_DEG)) - side_in
