"""The engine: what a timber deck must carry, what it can carry, and how we know. No web, no database, no clock."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from engine.assessment import CAUTION, Assessment, assess
    from engine.deck import Basis, Deck
    from engine.rating import load_rating
    from engine.remedies import remedies_for
    from engine.settling import reserve, what_would_settle

__version__ = "0.1.0"
__all__ = [
    "CAUTION",
    "Assessment",
    "Basis",
    "Deck",
    "__version__",
    "assess",
    "load_rating",
    "remedies_for",
    "reserve",
    "what_would_settle",
]

_HOMES = {
    "CAUTION": "engine.assessment",
    "Assessment": "engine.assessment",
    "Basis": "engine.deck",
    "Deck": "engine.deck",
    "assess": "engine.assessment",
    "load_rating": "engine.rating",
    "remedies_for": "engine.remedies",
    "reserve": "engine.settling",
    "what_would_settle": "engine.settling",
}


def __getattr__(name: str) -> Any:
    # Loaded when first asked for: one question on the command line must not pay for the whole engine.
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
