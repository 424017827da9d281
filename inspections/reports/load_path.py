"""The load path as a picture: a deck cut from the house to its outer edge, each link numbered and drawn as it stands.

A sketch, not to scale, and the same for every deck; the plan drawing is the one with measures. Drawn with attributes
only, so that screen and PDF use the same; what falls short is hatched, what is open is dashed.
"""

from collections.abc import Sequence
from html import escape

from inspections.drawings.gauge import CEDAR, INK, SHEET
from inspections.reports.pieces import Standing
from inspections.spanish import said

_WOOD, _FAINT, _GROUND = "#e9e2d3", "#8b8373", "#5d6a70"
_FONT = "Atkinson, 'Atkinson Hyperlegible Next', sans-serif"
_GROUND_Y = 222

# Link -> boxes (x, y, width, height) of the member, centre of its number, end of the leader.
_MEMBERS: dict[str, tuple[tuple[tuple[float, float, float, float], ...], tuple[float, float], tuple[float, float]]] = {
    "surface": (tuple((x, 84, 26, 8) for x in range(86, 486, 28)), (250, 62), (250, 86)),
    "joists": (((98, 94, 388, 28),), (250, 146), (250, 119)),
    "ledger and house": (((84, 94, 14, 30),), (124, 152), (94, 121)),
    "beam": (((400, 122, 28, 34),), (364, 142), (402, 140)),
    "posts": (((404, 156, 20, 58),), (364, 184), (406, 184)),
    "footings": (((390, 214, 48, 34),), (364, 234), (392, 232)),
    "edge": (((474, 36, 10, 58), (98, 36, 376, 7)), (330, 16), (330, 38)),
    "way up": ((), (596, 132), (560, 156)),
    "water": ((), (124, 62), (90, 80)),
}


def load_path_svg(standings: Sequence[Standing]) -> str:
    """SVG of the sketch. The title says in words how each link stands, for whoever cannot see it."""
    states = {standing.link: standing for standing in standings}
    title = said("Sketch of the load path.") + " ".join(
        f" {number} {said(standing.name)}: {said(standing.words)}." for number, standing in enumerate(standings, 1)
    )
    shapes = [_house(), _ground(), *(_member(link, states[link].state) for link in _MEMBERS if link in states)]
    marks = [_mark(number, standing) for number, standing in enumerate(standings, 1)]
    return (
        f'<svg class="load-path" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 640 262" role="img" '
        f'aria-label="{escape(title)}"><title>{escape(title)}</title>{"".join(shapes)}{"".join(marks)}</svg>'
    )


def number_svg(number: int, state: str) -> str:
    """One number in its circle, as it stands in the sketch, for the list beside it."""
    return (
        f'<svg class="load-path-number" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 26 26" role="img" '
        f'aria-label="{number}"><title>{number}</title>{_circle(13, 13, number, state)}</svg>'
    )


def _member(link: str, state: str) -> str:
    boxes, _, _ = _MEMBERS[link]
    if link == "way up":
        return _stair(state)
    if link == "water":
        return _flashing(state)
    thin = link == "edge"
    parts = [_box(box, state, hatched=not (thin and box[3] < 10)) for box in boxes]
    if thin:
        bars = "".join(f"M{x} 43V84" for x in range(110, 474, 13))
        parts.insert(0, f'<path d="{bars}" fill="none" stroke="{_colour(state)}" stroke-width="1"/>')
    return "".join(parts)


def _box(box: tuple[float, float, float, float], state: str, hatched: bool = True) -> str:
    x, y, width, height = box
    fill = _WOOD if state == "holds" else SHEET
    shape = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}" {_stroke(state)}/>'
    return shape + (_hatch(x, y, width, height) if state == "fails" and hatched else "")


def _stair(state: str) -> str:
    steps = "M488 92" + "".join("h19v21.6" for _ in range(6))
    stringer = f"M488 122L{488 + 19 * 6} {_GROUND_Y}"
    return (
        f'<path d="{steps}" fill="none" {_stroke(state)}/><path d="{stringer}" fill="none" {_stroke(state)}/>'
        f'<path d="M500 48L{500 + 19 * 5.6} 166" fill="none" {_stroke(state)}/>'
    )


def _flashing(state: str) -> str:
    drops = "".join(
        f"M{x} {y}c2.500 4 3.500 5.500 3.500 7a3.500 3.500 0 0 1-7 0c0-1.500 1-3 3.500-7z"
        for x, y in ((98, 54), (106, 62))
    )
    return (
        f'<path d="M85 68V83H100" fill="none" {_stroke(state)}/>'
        f'<path d="{drops}" fill="{SHEET}" stroke="{_colour(state)}" stroke-width="1.2"/>'
    )


def _house() -> str:
    siding = "".join(f"M40 {y}H84" for y in range(20, _GROUND_Y, 12))
    return (
        f'<path d="{siding}" fill="none" stroke="{_FAINT}" stroke-width="0.7"/>'
        f'<path d="M84 8V{_GROUND_Y}M40 8V{_GROUND_Y}" fill="none" stroke="{INK}" stroke-width="1.6"/>'
        f'<text x="33" y="120" font-family="{_FONT}" font-size="12" fill="{_GROUND}" text-anchor="end">'
        f"{escape(said('house'))}</text>"
    )


def _ground() -> str:
    ticks = "".join(f"M{x} {_GROUND_Y}l-7 7" for x in range(20, 640, 14) if not 384 < x < 448)
    return (
        f'<path d="M4 {_GROUND_Y}H636" stroke="{_GROUND}" stroke-width="1.6"/>'
        f'<path d="{ticks}" fill="none" stroke="{_GROUND}" stroke-width="0.8"/>'
    )


def _mark(number: int, standing: Standing) -> str:
    _, (x, y), (to_x, to_y) = _MEMBERS[standing.link]
    leader = f'<path d="M{x} {y}L{to_x} {to_y}" stroke="{INK}" stroke-width="0.9"/>'
    return leader + _circle(x, y, number, standing.state)


def _circle(x: float, y: float, number: int, state: str) -> str:
    fill, text = (CEDAR, SHEET) if state == "fails" else (SHEET, _colour(state))
    return (
        f'<circle cx="{x}" cy="{y}" r="11.500" fill="{fill}" {_stroke(state)}/>'
        f'<text x="{x}" y="{y + 4.6}" font-family="{_FONT}" font-size="13" font-weight="700" fill="{text}" '
        f'text-anchor="middle">{number}</text>'
    )


def _colour(state: str) -> str:
    return {"fails": CEDAR, "nothing": _GROUND}.get(state, INK)


def _stroke(state: str) -> str:
    width = "2" if state == "fails" else "1.4"
    dashes = ' stroke-dasharray="4 3"' if state in ("open", "nothing") else ""
    return f'stroke="{_colour(state)}" stroke-width="{width}"{dashes}'


def _hatch(x: float, y: float, width: float, height: float) -> str:
    """Slanted lines inside a box, cut off at its edges."""
    lines = []
    offset = 5.0
    while offset < width + height:
        from_x, from_y = x + min(offset, width), y + max(0.0, offset - width)
        to_x, to_y = x + max(0.0, offset - height), y + min(offset, height)
        lines.append(f"M{from_x:.1f} {from_y:.1f}L{to_x:.1f} {to_y:.1f}")
        offset += 5
    return f'<path d="{"".join(lines)}" fill="none" stroke="{CEDAR}" stroke-width="1"/>'
