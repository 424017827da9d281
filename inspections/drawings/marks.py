"""Marks on a photo: arrows, circles, lines and words over the picture, readable on light wood and dark soil alike.

Every stroke is drawn twice, white and wide below, ink above; words stand on a plate. Everything is drawn with
attributes, so that the same drawing serves the screen and the PDF. `static/js/marks.js` draws the same shapes while a
finger draws them; a browser test holds the two together.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from html import escape
from typing import Any

from inspections.drawings.paper import FONT, INK, LETTER_PX

KINDS = {"arrow": "Arrow", "circle": "Circle", "line": "Line", "text": "Words"}
LONGEST = 1600  # the drawing's longer side, in its own units; strokes and letters are sized for it
_STROKE, _HALO, _TICK, _BARB, _LETTERS, _PAD = 7, 15, 18, 46, 40, 12
_BARB_ANGLE = math.radians(27)
_FITS = {"cover": "xMidYMid slice", "contain": "xMinYMin meet"}  # as the picture below is fitted into its box

# Where a plate may stand beside its place, in its own widths and heights: the nearest first.
_AROUND = (
    (0, 0), (0, 1), (0, -1), (1, 0), (-1, 0), (0, 2), (0, -2), (1, 1), (-1, 1), (1, -1), (-1, -1), (0, 3), (0, -3),
    (1, 2), (-1, 2), (1, -2), (-1, -2), (2, 0), (-2, 0),
)  # fmt: skip

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # its middle, its width and height


def marks_svg(
    drawn: Mapping[str, Any],
    *,
    weight: float = 1.0,
    with_words: bool = True,
    fit: str = "cover",
    said: Callable[[str], str] = str,
) -> str:
    """SVG to lay over a photo; empty if nothing is drawn on it.

    `drawn` is what `Photo.marks` holds: `width_px` and `height_px` of the upright picture, and `marks`, whose
    coordinates are shares (0 to 1) of its width and height. `weight` makes strokes and letters larger for a picture
    that is shown small. `fit` is how the picture fills its box: "cover" or "contain" (at the left, at the top).
    `said` gives our words in the language of the page.
    """
    if not drawn or not drawn["marks"]:
        return ""
    width, height = sheet_size(drawn["width_px"], drawn["height_px"])
    shapes = "".join(_shape(mark, width, height, weight) for mark in drawn["marks"])
    if with_words:  # above all strokes
        shapes += _plates(drawn["marks"], width, height, weight)
    title = escape(marks_words(drawn, said=said))
    return (
        f'<svg class="photo-marks" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'preserveAspectRatio="{_FITS[fit]}" role="img" aria-label="{title}"><title>{title}</title>{shapes}</svg>'
    )


def marks_words(drawn: Mapping[str, Any], *, said: Callable[[str], str] = str) -> str:
    """`Marked on the photo: arrow “split here”, circle.` What a reader is told who cannot see it. Empty if unmarked."""
    if not drawn or not drawn["marks"]:
        return ""
    return f"{said('Marked on the photo:')} {', '.join(_name(mark, said) for mark in drawn['marks'])}."


def sheet_size(width_px: float, height_px: float) -> Point:
    """Width and height of the drawing, in units of which the longer side has 1600."""
    scale = LONGEST / max(width_px, height_px)
    return round(width_px * scale, 1), round(height_px * scale, 1)


def _name(mark: Mapping[str, Any], said: Callable[[str], str]) -> str:
    kind = said(KINDS[mark["kind"]].lower())
    return f"{kind} “{mark['text']}”" if mark["text"] else kind


def _ends(mark: Mapping[str, Any], width: float, height: float) -> tuple[Point, Point]:
    start = mark["x1"] * width, mark["y1"] * height
    return start, (mark["x2"] * width, mark["y2"] * height) if "x2" in mark else start


def _shape(mark: Mapping[str, Any], width: float, height: float, weight: float) -> str:
    start, end = _ends(mark, width, height)
    if mark["kind"] == "text":
        return ""
    if mark["kind"] == "circle":
        outline = _ellipse(start, end)
    elif mark["kind"] == "arrow":
        outline = _polyline(start, end) + _barbs(start, end, weight)
    else:
        outline = _polyline(start, end) + _tick(start, end, start, weight) + _tick(start, end, end, weight)
    joined = f'd="{outline}" fill="none" stroke-linecap="round" stroke-linejoin="round"'
    return (
        f'<path {joined} stroke="#ffffff" stroke-width="{_HALO * weight:g}"/>'
        f'<path {joined} stroke="{INK}" stroke-width="{_STROKE * weight:g}"/>'
    )


def _polyline(*points: Point) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _ellipse(one: Point, other: Point) -> str:
    """The ellipse in the box between two corners, as two arcs."""
    rx, ry = abs(other[0] - one[0]) / 2, abs(other[1] - one[1]) / 2
    left, y = min(one[0], other[0]), (one[1] + other[1]) / 2
    right = left + 2 * rx
    arc = f"A{rx:.1f} {ry:.1f} 0 1 1"
    return f"M{left:.1f} {y:.1f}{arc} {right:.1f} {y:.1f}{arc} {left:.1f} {y:.1f}Z"


def _direction(start: Point, end: Point) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])  # of a point: 0, to the right


def _barbs(start: Point, end: Point, weight: float) -> str:
    angle, length = _direction(start, end), _BARB * weight
    sides = [
        (end[0] - length * math.cos(angle + turn), end[1] - length * math.sin(angle + turn))
        for turn in (_BARB_ANGLE, -_BARB_ANGLE)
    ]
    return _polyline(sides[0], end, sides[1])


def _tick(start: Point, end: Point, at: Point, weight: float) -> str:
    angle, half = _direction(start, end) + math.pi / 2, _TICK * weight
    dx, dy = half * math.cos(angle), half * math.sin(angle)
    return _polyline((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))


def _plates(marks: Iterable[Mapping[str, Any]], width: float, height: float, weight: float) -> str:
    """The words of all marks, each on its plate. One that would cover another gives way, and a line leads back."""
    placed: list[Box] = []
    found = ""
    for mark in marks:
        if not mark["text"]:
            continue
        lines = list(_wrapped(mark["text"], max(8, int(0.8 * width / (LETTER_PX * _LETTERS * weight)))))
        wanted = _wanted_box(mark, lines, width, height, weight)
        box = _free_box(wanted, placed, width, height, weight)
        placed.append(box)
        if box != wanted:
            found += _leader(wanted, box, weight)
        found += _plate(lines, box, weight)
    return found


def _wanted_box(mark: Mapping[str, Any], lines: list[str], width: float, height: float, weight: float) -> Box:
    letters, pad = _LETTERS * weight, _PAD * weight
    plate_width = min(max(map(len, lines)) * LETTER_PX * letters + 2 * pad, width)
    plate_height = len(lines) * letters * 1.2 + pad
    x, y = _plate_centre(mark, width, height, plate_width, plate_height, weight)
    return _within((x, y, plate_width, plate_height), width, height)


def _within(box: Box, width: float, height: float) -> Box:
    x, y, plate_width, plate_height = box
    return (
        min(max(x, plate_width / 2), width - plate_width / 2),
        min(max(y, plate_height / 2), height - plate_height / 2),
        plate_width,
        plate_height,
    )


def _free_box(wanted: Box, placed: list[Box], width: float, height: float, weight: float) -> Box:
    """The wanted place, else the nearest of those around it that covers no other plate, else what covers least."""
    x, y, plate_width, plate_height = wanted
    tried = [
        _within(
            (x + across * (plate_width + _PAD * weight), y + down * (plate_height + _PAD * weight), *wanted[2:]),
            width,
            height,
        )
        for across, down in _AROUND
    ]
    return min(tried, key=lambda box: sum(_covered(box, other) for other in placed))  # the first of equals


def _covered(one: Box, other: Box) -> float:
    across = (one[2] + other[2]) / 2 - abs(one[0] - other[0])
    down = (one[3] + other[3]) / 2 - abs(one[1] - other[1])
    return max(0.0, across) * max(0.0, down)


def _leader(wanted: Box, box: Box, weight: float) -> str:
    line = f'd="{_polyline(wanted[:2], box[:2])}" fill="none"'
    return (
        f'<path {line} stroke="#ffffff" stroke-width="{_STROKE * weight:g}"/>'
        f'<path {line} stroke="{INK}" stroke-width="{2 * weight:g}"/>'
    )


def _plate(lines: list[str], box: Box, weight: float) -> str:
    letters, pad = _LETTERS * weight, _PAD * weight
    x, y, plate_width, plate_height = box
    top = y - plate_height / 2
    text = "".join(
        f'<text x="{x:.1f}" y="{top + pad / 2 + (row + 0.8) * letters * 1.2:.1f}" fill="{INK}" font-family="{FONT}" '
        f'font-size="{letters:g}" font-weight="600" text-anchor="middle">{escape(line)}</text>'
        for row, line in enumerate(lines)
    )
    return (
        f'<rect x="{x - plate_width / 2:.1f}" y="{top:.1f}" width="{plate_width:.1f}" height="{plate_height:.1f}" '
        f'fill="#ffffff" stroke="{INK}" stroke-width="{2 * weight:g}"/>{text}'
    )


def _plate_centre(
    mark: Mapping[str, Any], width: float, height: float, plate_width: float, plate_height: float, weight: float
) -> Point:
    start, end = _ends(mark, width, height)
    if mark["kind"] == "circle":
        return (start[0] + end[0]) / 2, max(start[1], end[1]) + plate_height / 2 + _HALO * weight
    if mark["kind"] == "line":
        across = math.dist(start, end) > plate_width + 4 * _TICK * weight
        below = 0 if across else plate_height / 2 + 1.5 * _TICK * weight  # else it would hide the line
        return (start[0] + end[0]) / 2, (start[1] + end[1]) / 2 + below
    return start


def _wrapped(text: str, most: int) -> Iterator[str]:
    line = ""
    for word in text.split(" "):
        if line and len(line) + 1 + len(word) > most:
            yield line
            line = word
        else:
            line = f"{line} {word}" if line else word
    yield line
