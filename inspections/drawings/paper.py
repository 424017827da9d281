"""A sheet to draw a deck on: shapes in inches at one scale, labels that keep off each other, dimension lines.

Everything is drawn with attributes, so that one drawing serves the screen and the PDF.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from html import escape

from engine.units import format_feet_inches

INK, SOFT, CEDAR, SHEET, WOOD, LINE = "#16242c", "#3f4d55", "#84381a", "#fffdf9", "#efe7d6", "#8b8373"
FONT = "Atkinson, 'Atkinson Hyperlegible Next', sans-serif"
LETTER_PX = 0.56  # of the font size: the mean width of a letter, a little generous
HIT_PX = 44  # the least side of what a finger may tap


class Paper:
    """Collects SVG. `x`, `y` and lengths come in inches from the corner of the deck at the house; sizes of text and
    line widths in drawing units (pixels of a drawing shown at its own width)."""

    def __init__(
        self,
        scale_px_per_in: float,
        left_px: float,
        top_px: float,
        *,
        standing: Mapping[str, str] | None = None,
        hrefs: Mapping[str, str] | None = None,
    ) -> None:
        self.scale, self.left, self.top = scale_px_per_in, left_px, top_px
        self.standing, self.hrefs = standing or {}, hrefs or {}
        self.shapes: list[str] = []
        self._labels: list[str] = []
        self._boxes: list[tuple[float, float, float, float]] = []
        self.right_px = self.bottom_px = 0.0

    def x(self, value_in: float) -> float:
        return self.left + value_in * self.scale

    def y(self, value_in: float) -> float:
        return self.top + value_in * self.scale

    # -- parts --------------------------------------------------------------------------------------------------------

    @contextmanager
    def part(self, key: str, words: str) -> Iterator[None]:
        """Whatever is drawn inside belongs to one part, which can be tapped if it has an address."""
        name, title = escape(key), escape(words + self._standing_words(key))
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

    def _standing_words(self, key: str) -> str:
        words = {"fails": ", more than it can carry or not as the rule asks", "cannot tell": ", to be found out"}
        return words.get(self.standing.get(key, ""), "")

    def stroke(self, key: str, width: float = 1.5) -> str:
        """The attributes of a part's outline: cedar and heavier where a check fails, dashed where one is open."""
        if self.standing.get(key) == "fails":
            return f'stroke="{CEDAR}" stroke-width="{width + 1.5}"'
        dashes = ' stroke-dasharray="5 3"' if self.standing.get(key) == "cannot tell" else ""
        return f'stroke="{INK}" stroke-width="{width}"{dashes}'

    def marked(self, key: str) -> str:
        """The part's key as its label; what is over is said in words, too, not by colour alone."""
        return key + {"fails": " over", "cannot tell": " ?"}.get(self.standing.get(key, ""), "")

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
        self._reach(x + width, y + height)

    def line(self, x1_in: float, y1_in: float, x2_in: float, y2_in: float, more: str) -> None:
        x1, y1, x2, y2 = self.x(x1_in), self.y(y1_in), self.x(x2_in), self.y(y2_in)
        self.shapes.append(f'<path d="M{x1:.2f} {y1:.2f}L{x2:.2f} {y2:.2f}" fill="none" {more}/>')
        self._reach(max(x1, x2), max(y1, y2))

    def circle(self, x_in: float, y_in: float, radius_in: float, more: str, *, least_px: float = 0) -> None:
        radius = max(radius_in * self.scale, least_px)
        x, y = self.x(x_in), self.y(y_in)
        self.shapes.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" {more}/>')
        self._reach(x + radius, y + radius)

    def tap_area(self, x_in: float, y_in: float, width_in: float, height_in: float) -> None:
        """An unseen rectangle, wide enough for a finger."""
        self.box(x_in, y_in, width_in, height_in, 'fill="#ffffff" fill-opacity="0"', least_px=HIT_PX)

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

    # -- the finished drawing -----------------------------------------------------------------------------------------

    def svg(self, title: str, css_class: str = "plan") -> str:
        """The whole drawing, as large as what was put on it. It is a group of links if any part can be tapped."""
        role = "group" if self.hrefs else "img"
        width, height = self.right_px + 8, self.bottom_px + 8
        name = escape(title)
        return (
            f'<svg class="{css_class}" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
            f'width="{width:.0f}" height="{height:.0f}" role="{role}" aria-label="{name}"><title>{name}</title>'
            f'{"".join(self.shapes)}<g pointer-events="none">{"".join(self._labels)}</g></svg>'
        )

    def label_boxes(self) -> tuple[tuple[float, float, float, float], ...]:
        """Where words stand (left, top, right, bottom in pixels)."""
        return tuple(self._boxes)

    def _reach(self, x: float, y: float) -> None:
        self.right_px, self.bottom_px = max(self.right_px, x), max(self.bottom_px, y)


def _touch(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _ticked(x1: float, y1: float, x2: float, y2: float, *, upright: bool) -> str:
    """A thin line with a slanted tick at both ends, as on a carpenter's drawing."""
    reach = "v12" if upright else "h12"
    dx, dy = (0, -6) if upright else (-6, 0)
    ends = "".join(f"M{x + dx:.1f} {y + dy:.1f}{reach}M{x - 4:.1f} {y + 4:.1f}l8 -8" for x, y in ((x1, y1), (x2, y2)))
    return f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}{ends}" fill="none" stroke="{SOFT}" stroke-width="1"/>'
