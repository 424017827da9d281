"""The load gauge: demand as a bar against what the part can carry, with the 100 % line marked.

Everything is drawn with attributes, not style sheets, so that the same drawing serves the screen and the PDF. What is
over the limit is hatched as well as coloured, and the number stands beside it.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from html import escape

INK, CEDAR, TRACK, SHEET = "#16242c", "#84381a", "#e4ded1", "#fffdf9"
_HEIGHT, _BAR_Y, _BAR_HEIGHT = 42, 8, 18
_FONT = "Atkinson, 'Atkinson Hyperlegible Next', sans-serif"


@dataclass(frozen=True)
class _Shape:
    """How wide a gauge is, where 100 % stands, and where the bar stops; above that it is drawn as broken off."""

    width: float
    limit_x: float
    end_x: float
    limit_letters: float


_WIDE = _Shape(400, 200, 296, 10)
_NARROW = _Shape(272, 116, 172, 12)  # for a column of print: the letters stay large enough to read


def load_gauge(ratio: float | None, label: str, *, narrow: bool = False, said: Callable[[str], str] = str) -> str:
    """SVG of one gauge. `ratio` is demand over capacity; None draws the gauge of what could not be judged.

    `label` is what a screen reader says, without the percentage; `said` gives words in the language of the page (the
    drawing itself knows none, so that a tablet without signal can make it, too).
    """
    shape = _NARROW if narrow else _WIDE
    words, inside = _unknown(shape, said) if ratio is None else _known(shape, ratio, said)
    title = escape(f"{label}: {words}")
    return (
        f'<svg class="gauge" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {shape.width} {_HEIGHT}" role="img" '
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


def _known(shape: _Shape, ratio: float, said: Callable[[str], str]) -> tuple[str, str]:
    text = said(percent(ratio))
    over = ratio > 1
    end_x = min(ratio * shape.limit_x, shape.end_x)
    parts = [_rect(0, shape.limit_x, TRACK), _rect(0, min(end_x, shape.limit_x), INK)]
    if over:
        parts.append(_rect(shape.limit_x, end_x, SHEET, stroke=CEDAR))
        parts.append(_hatch(shape.limit_x, end_x))
        if ratio * shape.limit_x > shape.end_x:
            parts.append(_break(shape.end_x - 14))
    parts.append(_limit_line(shape))
    weight = "700" if over else "600"
    colour = CEDAR if over else INK
    parts.append(
        _text(max(end_x, shape.limit_x) + 10, _BAR_Y + 15, text, colour, weight, size=16 if len(text) < 8 else 13)
    )
    return text + (f", {said('more than it can carry')}" if over else ""), "".join(parts)


def _unknown(shape: _Shape, said: Callable[[str], str]) -> tuple[str, str]:
    track = (
        f'<rect x="0.75" y="{_BAR_Y + 0.75}" width="{shape.limit_x - 1.5}" height="{_BAR_HEIGHT - 1.5}" fill="{SHEET}" '
        f'stroke="{INK}" stroke-width="1.5" stroke-dasharray="5 4"/>'
    )
    return said("cannot be judged yet"), track + _limit_line(shape) + _text(
        shape.limit_x + 10, _BAR_Y + 15, said("Find out"), INK, "600"
    )


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


def _limit_line(shape: _Shape) -> str:
    line = f'<path d="M{shape.limit_x} 2v{_BAR_HEIGHT + 12}" stroke="{INK}" stroke-width="2.5"/>'
    return line + _text(shape.limit_x, _HEIGHT - 0.5, "100 %", INK, "400", anchor="middle", size=shape.limit_letters)


def _text(x: float, y: float, text: str, fill: str, weight: str, anchor: str = "start", size: float = 16) -> str:
    return (
        f'<text x="{x:.1f}" y="{y}" fill="{fill}" font-family="{_FONT}" font-size="{size}" font-weight="{weight}" '
        f'text-anchor="{anchor}">{escape(text)}</text>'
    )
