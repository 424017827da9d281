"""How well a colour can be read on paper.

Source: WCAG 2.2, relative luminance and contrast ratio; 4.5 to 1 is its least for text (success criterion 1.4.3).
"""

PAPER = "#f3efe6"  # what text stands on here; on white every colour dark enough for this reads better still
LEAST_FOR_TEXT = 4.5


def contrast_ratio(one: str, other: str) -> float:
    """Of two colours written `#rrggbb`: from 1 (the same) to 21 (black on white)."""
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(share: float) -> float:
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
