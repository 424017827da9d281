"""A sheet to draw a deck on: shapes in inches at one scale, labels that keep off each other, dimension lines.

Everything is drawn with attributes, so that one drawing serves the screen and the PDF.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from html import escape

from engine.units import format_feet_inches

INK, SOFT, CEDAR, SHEET, WOOD, LINE = "#16242c", "#3f4d55", "#84381a", "#fffdf9", "#efe7d6", "#8b8373"
FONT = "Atkinson, 'Atkinson Hyperlegible Next', sans-serif"
LETTER_PX = 0.56  # of the font size: the mean width of a letter, a little generous
HIT_PX = 44  # the least side of what a finger may tap
_MARK_LETTERS, _MARK_HEIGHT, _MARK_MOST = 13, 20, 9  # of the number of a finding: pixels, and letters in one mark

Box = tuple[float, float, float, float]  # left, top, right, bottom in pixels


class Paper:
    """Collects SVG. `x`, `y` and lengths come in inches from the corner of the deck at the house; sizes of text and
    line widths in drawing units (pixels of a drawing shown at its own width). `said` gives our words in the language of
    the page."""

    def __init__(
        self,
        scale_px_per_in: float,
        left_px: float,
        top_px: float,
        *,
        standing: Mapping[str, str] | None = None,
        hrefs: Mapping[str, str] | None = None,
        findings: Mapping[str, Sequence[int]] | None = None,
        said: Callable[[str], str] = str,
    ) -> None:
        self.scale, self.left, self.top, self.said = scale_px_per_in, left_px, top_px, said
        self.standing, self.hrefs, self.findings = standing or {}, hrefs or {}, findings or {}
        self.shapes: list[str] = []
        self._labels: list[str] = []
        self._boxes: list[Box] = []
        self._parts: dict[str, Box] = {}  # where each part was drawn
        self._drawing = ""  # the part that is being drawn
        self.right_px = self.bottom_px = 0.0

    def x(self, value_in: float) -> float:
        return self.left + value_in * self.scale

    def y(self, value_in: float) -> float:
        return self.top + value_in * self.scale

    # -- parts --------------------------------------------------------------------------------------------------------

    @contextmanager
    def part(self, key: str, words: str) -> Iterator[None]:
        """Whatever is drawn inside belongs to one part, which can be tapped if it has an address."""
        name, title = escape(key), escape(", ".join(filter(None, self._words(key, words))))
        self._drawing = key
        if href := self.hrefs.get(key):
            self.shapes.append(
                f'<a href="{escape(href)}" data-part="{name}" aria-label="{title}"><title>{title}</title>'
            )
            yield
            self.shapes.append("</a>")
        else:
            self.shapes.append(f'<g data-part="{name}"><title>{title}</title>')
            yield
            self.shapes.append("</g>")
        self._drawing = ""

    def _words(self, key: str, words: str) -> Iterator[str]:
        """What a reader who cannot see the part is told: which it is, how it stands, which findings are about it."""
        standing = {"fails": "more than it can carry or not as the rule asks", "cannot tell": "to be found out"}
        yield self.said(words)
        yield self.said(standing.get(self.standing.get(key, ""), ""))
        if numbers := self.findings.get(key, ()):
            yield f"{self.said('findings' if len(numbers) > 1 else 'finding')} {', '.join(map(str, numbers))}"

    def stroke(self, key: str, width: float = 1.5) -> str:
        """The attributes of a part's outline: cedar and heavier where a check fails, dashed where one is open."""
        if self.standing.get(key) == "fails":
            return f'stroke="{CEDAR}" stroke-width="{width + 1.5}"'
        dashes = ' stroke-dasharray="5 3"' if self.standing.get(key) == "cannot tell" else ""
        return f'stroke="{INK}" stroke-width="{width}"{dashes}'

    def marked(self, key: str) -> str:
        """The part's key as its label; what is over is said in words, too, not by colour alone."""
        return key + {"fails": f" {self.said('over')}", "cannot tell": " ?"}.get(self.standing.get(key, ""), "")

    # -- shapes -------------------------------------------------------------------------------------------------------

    def box(
        self, x_in: float, y_in: float, width_in: float, height_in: float, more: str, *, least_px: float = 0
    ) -> None:
        """A rectangle; thinner than `least_px` it is drawn that thick around its middle line."""
        width, height = width_in * self.scale, height_in * self.scale
        x, y = self.x(x_in), self.y(y_in)
        if height < least_px:
            y, height = y - (least_px - height) / 2, least_px
        if width < least_px:
            x, width = x - (least_px - width) / 2, least_px
        self.shapes.append(f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" {more}/>')
        self._drawn_at(x, y, x + width, y + height)

    def line(self, x1_in: float, y1_in: float, x2_in: float, y2_in: float, more: str) -> None:
        x1, y1, x2, y2 = self.x(x1_in), self.y(y1_in), self.x(x2_in), self.y(y2_in)
        self.shapes.append(f'<path d="M{x1:.2f} {y1:.2f}L{x2:.2f} {y2:.2f}" fill="none" {more}/>')
        self._drawn_at(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))

    def circle(self, x_in: float, y_in: float, radius_in: float, more: str, *, least_px: float = 0) -> None:
        radius = max(radius_in * self.scale, least_px)
        x, y = self.x(x_in), self.y(y_in)
        self.shapes.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" {more}/>')
        self._drawn_at(x - radius, y - radius, x + radius, y + radius)

    def tap_area(self, x_in: float, y_in: float, width_in: float, height_in: float) -> None:
        """An unseen rectangle, wide enough for a finger."""
        part, self._drawing = self._drawing, ""
        self.box(x_in, y_in, width_in, height_in, 'fill="#ffffff" fill-opacity="0"', least_px=HIT_PX)
        self._drawing = part

    def raw(self, svg: str) -> None:
        self.shapes.append(svg)

    # -- words --------------------------------------------------------------------------------------------------------

    def label(
        self, text: str, *places: tuple[float, float], size: float = 14, bold: bool = False, fill: str = INK
    ) -> bool:
        """Write at the first of the places (pixels, middle of the text) where it touches no other label.

        False, and nothing written, if there is none.
        """
        width, height = len(text) * size * LETTER_PX + 6, size * 1.25
        for x, y in places:
            box = (x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            if box[0] < 0 or box[1] < 0 or any(_touch(box, other) for other in self._boxes):
                continue
            self._boxes.append(box)
            weight = "700" if bold else "400"
            self._labels.append(
                f'<rect x="{box[0]:.1f}" y="{box[1]:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{SHEET}" '
                f'fill-opacity="0.85"/><text x="{x:.1f}" y="{y + size * 0.35:.1f}" font-family="{FONT}" '
                f'font-size="{size:g}" font-weight="{weight}" fill="{fill}" text-anchor="middle">{escape(text)}</text>'
            )
            self._reach(box[2], box[3])
            return True
        return False

    def part_label(self, key: str, *places: tuple[float, float], size: float = 14) -> bool:
        fill = CEDAR if self.standing.get(key) == "fails" else INK
        return self.label(self.marked(key), *places, size=size, bold=True, fill=fill)

    def across(self, from_in: float, to_in: float, y_px: float, text: str = "") -> None:
        """A dimension line along the house, at a height in pixels."""
        x1, x2 = self.x(from_in), self.x(to_in)
        self.shapes.append(_ticked(x1, y_px, x2, y_px, upright=True))
        self.label(text or format_feet_inches(to_in - from_in), ((x1 + x2) / 2, y_px))
        self._reach(x2, y_px + 8)

    def along(self, from_in: float, to_in: float, x_px: float, text: str = "") -> None:
        """A dimension line away from the house, at a distance in pixels."""
        y1, y2 = self.y(from_in), self.y(to_in)
        self.shapes.append(_ticked(x_px, y1, x_px, y2, upright=False))
        middle = (y1 + y2) / 2
        self.label(
            text or format_feet_inches(to_in - from_in), (x_px, middle), (x_px, middle - 22), (x_px, middle + 22)
        )
        self._reach(x_px + 8, y2)

    # -- the numbers of findings --------------------------------------------------------------------------------------

    @property
    def numbered(self) -> set[int]:
        """The findings whose part stands on this drawing."""
        return {number for key, numbers in self.findings.items() if key in self._parts for number in numbers}

    def mark_findings(self) -> None:
        """Set the numbers of the findings beside their parts: called last, because they keep off all other words.

        A number that finds no room at its part stands farther off, and a line leads back.
        """
        for key, numbers in self.findings.items():
            if part := self._parts.get(key):
                for text in _in_marks(numbers):
                    self._mark(key, text, part)

    def _mark(self, key: str, text: str, part: Box) -> None:
        width = max(_MARK_HEIGHT, len(text) * _MARK_LETTERS * LETTER_PX + 12)
        x, y = self._free_place(part, width)
        box = (x - width / 2, y - _MARK_HEIGHT / 2, x + width / 2, y + _MARK_HEIGHT / 2)
        self._boxes.append(box)
        near = min(max(x, part[0]), part[2]), min(max(y, part[1]), part[3])
        leader = ""
        if math.dist(near, (x, y)) > _MARK_HEIGHT / 2:
            line = f'd="M{x:.1f} {y:.1f}L{near[0]:.1f} {near[1]:.1f}" fill="none"'
            leader = (
                f'<path {line} stroke="{SHEET}" stroke-width="3.5"/><path {line} stroke="{INK}" stroke-width="1.2"/>'
            )
        self._labels.append(
            f'<g data-finding="{escape(text)}" data-of="{escape(key)}">{leader}<rect x="{box[0]:.1f}" y="{box[1]:.1f}" '
            f'width="{width:.1f}" height="{_MARK_HEIGHT}" rx="{_MARK_HEIGHT / 2:g}" fill="{INK}" stroke="{SHEET}" '
            f'stroke-width="1.5"/><text x="{x:.1f}" y="{y + _MARK_LETTERS * 0.35:.1f}" font-family="{FONT}" '
            f'font-size="{_MARK_LETTERS}" font-weight="700" fill="{SHEET}" text-anchor="middle">{text}</text></g>'
        )
        self._reach(box[2], box[3])

    def _free_place(self, part: Box, width: float) -> tuple[float, float]:
        """The place nearest to a part that touches no words; and no small part either, if there is one close by."""
        small = [box for box in self._parts.values() if box[2] - box[0] < 2 * HIT_PX and box[3] - box[1] < 2 * HIT_PX]
        for steps, in_the_way in ((24, [*self._boxes, *small]), (400, self._boxes)):
            for x, y in _around(part, width, steps):
                box = (x - width / 2 - 1, y - _MARK_HEIGHT / 2 - 1, x + width / 2 + 1, y + _MARK_HEIGHT / 2 + 1)
                if box[0] >= 0 and box[1] >= 0 and not any(_touch(box, other) for other in in_the_way):
                    return x, y
        raise AssertionError("a sheet has no end to the right and below")

    # -- the finished drawing -----------------------------------------------------------------------------------------

    def svg(self, title: str, css_class: str = "plan") -> str:
        """The whole drawing, as large as what was put on it. It is a group of links if any part can be tapped."""
        role = "group" if self.hrefs else "img"
        width, height = self.right_px + 8, self.bottom_px + 8
        name = escape(self.said(title))
        return (
            f'<svg class="{css_class}" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
            f'width="{width:.0f}" height="{height:.0f}" role="{role}" aria-label="{name}"><title>{name}</title>'
            f'{"".join(self.shapes)}<g pointer-events="none">{"".join(self._labels)}</g></svg>'
        )

    def label_boxes(self) -> tuple[Box, ...]:
        """Where words stand (left, top, right, bottom in pixels)."""
        return tuple(self._boxes)

    def _drawn_at(self, left: float, top: float, right: float, bottom: float) -> None:
        if self._drawing:
            was = self._parts.get(self._drawing, (left, top, right, bottom))
            self._parts[self._drawing] = (
                min(was[0], left), min(was[1], top), max(was[2], right), max(was[3], bottom)
            )  # fmt: skip
        self._reach(right, bottom)

    def _reach(self, x: float, y: float) -> None:
        self.right_px, self.bottom_px = max(self.right_px, x), max(self.bottom_px, y)


def _touch(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _in_marks(numbers: Sequence[int]) -> Iterator[str]:
    """ "1, 4", "5-9": neighbours as runs, and no mark longer than it can be read at a glance."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    text = ""
    for run in runs:
        said = f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(map(str, run))
        if text and len(text) + 2 + len(said) > _MARK_MOST:
            yield text
            text = ""
        text = f"{text}, {said}" if text else said
    yield text


def _around(part: Box, width: float, steps: int) -> Iterator[tuple[float, float]]:
    """Places for a mark: in a part that has room for it, else beside it, ever farther off."""
    left, top, right, bottom = part
    shares = (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6)
    if right - left > 3 * width and bottom - top > 3 * _MARK_HEIGHT:
        yield from (
            (left + across * (right - left), top + down * (bottom - top)) for down in shares for across in shares
        )
    for step in range(steps):
        off = _MARK_HEIGHT / 2 + 3 + step * 8
        for share in shares:
            x, y = left + share * (right - left), top + share * (bottom - top)
            yield from ((x, bottom + off), (right + off + width / 2 - _MARK_HEIGHT / 2, y), (x, top - off))
            yield left - off - width / 2 + _MARK_HEIGHT / 2, y
        far = off + width / 2
        yield from (
            (right + far, bottom + off),
            (right + far, top - off),
            (left - far, bottom + off),
            (left - far, top - off),
        )


def _ticked(x1: float, y1: float, x2: float, y2: float, *, upright: bool) -> str:
    """A thin line with a slanted tick at both ends, as on a carpenter's drawing."""
    reach = "v12" if upright else "h12"
    dx, dy = (0, -6) if upright else (-6, 0)
    ends = "".join(f"M{x + dx:.1f} {y + dy:.1f}{reach}M{x - 4:.1f} {y + 4:.1f}l8 -8" for x, y in ((x1, y1), (x2, y2)))
    return f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}{ends}" fill="none" stroke="{SOFT}" stroke-width="1"/>'
