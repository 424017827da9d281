"""The load gauge: demand as a bar against what the part can carry, with the 100 % line marked.

Everything is drawn with attributes, not style sheets, so that the same drawing serves the screen and the PDF. What is
over the limit is hatched as well as coloured, and the number stands beside it.
"""

import math
from html import escape

INK, CEDAR, TRACK, SHEET = "#16242c", "#84381a", "#e4ded1", "#fffdf9"
_WIDTH, _HEIGHT = 400, 42
_BAR_Y, _BAR_HEIGHT = 8, 18
_LIMIT_X = 200  # where 100 % stands
_END_X = 296  # the bar stops here, at 148 %; above that it is drawn as broken off
_FONT = "Atkinson, 'Atkinson Hyperlegible Next', sans-serif"


def load_gauge(ratio: float | None, label: str) -> str:
    """SVG of one gauge. `ratio` is demand over capacity; None draws the gauge of what could not be judged.

    `label` is what a screen reader says, without the percentage.
    """
    words, inside = _unknown() if ratio is None else _known(ratio)
    title = escape(f"{label}: {words}")
    return (
        f'<svg class="gauge" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" '
        f'aria-label="{title}"><title>{title}</title>{inside}</svg>'
    )


def percent(ratio: float) -> str:
    """A ratio as whole percent; never rounded down to 100 % when it is above, nor up when below."""
    if math.isinf(ratio):
        return "no capacity"
    hundredths = ratio * 100
    if hundredths >= 1000:
        return "over 1000 %"
    if 100 < hundredths < 101:
        return "just over 100 %"
    return f"{math.floor(hundredths + 0.5) if hundredths < 99.5 or hundredths >= 101 else 100 if ratio == 1 else 99} %"


def _known(ratio: float) -> tuple[str, str]:
    text = percent(ratio)
    over = ratio > 1
    end_x = min(ratio * _LIMIT_X, _END_X)
    parts = [_rect(0, _LIMIT_X, TRACK), _rect(0, min(end_x, _LIMIT_X), INK)]
    if over:
        parts.append(_rect(_LIMIT_X, end_x, SHEET, stroke=CEDAR))
        parts.append(_hatch(_LIMIT_X, end_x))
        if ratio * _LIMIT_X > _END_X:
            parts.append(_break(_END_X - 14))
    parts.append(_limit_line())
    weight = "700" if over else "600"
    colour = CEDAR if over else INK
    parts.append(_text(max(end_x, _LIMIT_X) + 10, _BAR_Y + 15, text, colour, weight, size=16 if len(text) < 8 else 13))
    return text + (", more than it can carry" if over else ""), "".join(parts)


def _unknown() -> tuple[str, str]:
    track = (
        f'<rect x="0.75" y="{_BAR_Y + 0.75}" width="{_LIMIT_X - 1.5}" height="{_BAR_HEIGHT - 1.5}" fill="{SHEET}" '
        f'stroke="{INK}" stroke-width="1.5" stroke-dasharray="5 4"/>'
    )
    return "cannot be judged yet", track + _limit_line() + _text(_LIMIT_X + 10, _BAR_Y + 15, "Find out", INK, "600")


def _rect(from_x: float, to_x: float, fill: str, stroke: str = "") -> str:
    edge = f' stroke="{stroke}" stroke-width="1.5"' if stroke else ""
    return (
        f'<rect x="{from_x:.1f}" y="{_BAR_Y}" width="{max(to_x - from_x, 0):.1f}" height="{_BAR_HEIGHT}" '
        f'fill="{fill}"{edge}/>'
    )


def _hatch(from_x: float, to_x: float) -> str:
    """Slanted lines from the lower to the upper edge, cut off at both ends."""
    lines = []
    top, bottom = _BAR_Y, _BAR_Y + _BAR_HEIGHT
    x = from_x - _BAR_HEIGHT + 6
    while x < to_x:
        start_x, start_y = (x, bottom) if x >= from_x else (from_x, bottom - (from_x - x))
        run = min(to_x - start_x, start_y - top)
        if run > 0:
            lines.append(f"M{start_x:.1f} {start_y:.1f}l{run:.1f} {-run:.1f}")
        x += 6
    return f'<path d="{"".join(lines)}" fill="none" stroke="{CEDAR}" stroke-width="2"/>'


def _break(x: float) -> str:
    top, bottom = _BAR_Y - 3, _BAR_Y + _BAR_HEIGHT + 3
    return (
        f'<path d="M{x} {bottom}l5 -8l-4 -8l5 -8" fill="none" stroke="{SHEET}" stroke-width="5"/>'
        f'<path d="M{x} {bottom}l5 -8l-4 -8l5 -8" fill="none" stroke="{CEDAR}" stroke-width="1.2" data-top="{top}"/>'
    )


def _limit_line() -> str:
    line = f'<path d="M{_LIMIT_X} 2v{_BAR_HEIGHT + 12}" stroke="{INK}" stroke-width="2.5"/>'
    return line + _text(_LIMIT_X, _HEIGHT - 0.5, "100 %", INK, "400", anchor="middle", size=10)


def _text(x: float, y: float, text: str, fill: str, weight: str, anchor: str = "start", size: float = 16) -> str:
    return (
        f'<text x="{x:.1f}" y="{y}" fill="{fill}" font-family="{_FONT}" font-size="{size}" font-weight="{weight}" '
        f'text-anchor="{anchor}">{escape(text)}</text>'
    )
