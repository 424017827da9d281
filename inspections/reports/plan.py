"""The plan drawing of a frozen deck, as the survey draws it."""

from collections.abc import Mapping
from typing import Any


def plan_of(snapshot: Mapping[str, Any]) -> str:
    """SVG of the plan; empty where nothing was measured that could be drawn."""
    try:
        from inspections.drawings.plan import plan_svg
    except ImportError:
        return ""
    return plan_svg(snapshot["deck"]) if snapshot["deck"].get("levels") else ""
