"""Repairs worked out, not advised: for each failing check the smallest standard repair that makes it hold.

A repair is a change of the deck file; it counts only if the same engine, asked again about the changed deck, says that
the check holds. A room for each subject; `bench` is what they work on, `finding` what puts their work to the proof.
"""

from engine.remedies.finding import remedies_for
from engine.remedies.model import Answered, Line, Mark, Remedy

__all__ = ["Answered", "Line", "Mark", "Remedy", "remedies_for"]
