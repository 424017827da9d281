"""The ledger as one faces the house: a board to scale with every fastener at its place, its kind by shape, its
condition by how the shape is drawn."""

from collections.abc import Mapping
from typing import Any

from engine.units import format_feet_inches
from inspections.drawings.paper import INK, LINE, SHEET, SOFT, WOOD, Paper
from inspections.drawings.plan import number, word

WIDTH_PX = 720
_LEFT_PX = 22
_TOP_PX = 34
_BOARD_PX = 64
_HEIGHTS = {"upper": 0.25, "middle": 0.5, "lower": 0.75}
_SIZE_PX = 7.0
_NOT_TOLD_IN = 168  # a board of fourteen feet is drawn where the length is not known yet


def draw_ledger(
    ledger: Mapping[str, Any],
    fasteners: list[Mapping[str, Any]],
    *,
    standing: Mapping[str, str] | None = None,
    hrefs: Mapping[str, str] | None = None,
    chosen: str = "",
) -> str:
    """SVG of a ledger of a deck file with its fasteners.

    The root carries `data-left-px`, `data-px-per-in` and `data-length-in`, by which a tap becomes a place along the
    board. Fasteners whose place is not recorded are left out.
    """
    placed = [(each, position) for each in fasteners if (position := number(each, "position_in")) is not None]
    length_in = number(ledger, "length_in")
    drawn_in = max([length_in or _NOT_TOLD_IN, *(position for _, position in placed)])
    scale = (WIDTH_PX - 2 * _LEFT_PX) / drawn_in
    paper = Paper(scale, _LEFT_PX, _TOP_PX, standing=standing, hrefs=hrefs)
    dashes = "" if length_in else ' stroke-dasharray="6 4"'
    paper.raw(
        f'<rect x="{_LEFT_PX}" y="{_TOP_PX}" width="{(length_in or drawn_in) * scale:.2f}" height="{_BOARD_PX}" '
        f'fill="{WOOD}" stroke="{INK}" stroke-width="1.5"{dashes} data-piece="ledger"/>'
    )
    _scale_marks(paper, drawn_in)
    for each, position_in in placed:
        _fastener(paper, each, position_in, is_chosen=each["id"] == chosen)
    paper.label("left end", (_LEFT_PX + 26, 12), size=13, fill=SOFT)
    if length_in:
        paper.across(0, length_in, _TOP_PX + _BOARD_PX + 44)
    else:
        paper.label("length not recorded", (WIDTH_PX / 2, _TOP_PX + _BOARD_PX + 44), size=13, fill=SOFT)
    svg = paper.svg(f"Ledger {ledger['id']} with {len(placed)} fasteners, facing the house", "strip")
    data = f'data-left-px="{_LEFT_PX}" data-px-per-in="{scale:.5f}" data-length-in="{length_in or drawn_in:g}" '
    return svg.replace("<svg ", f"<svg {data}", 1)


def _scale_marks(paper: Paper, drawn_in: float) -> None:
    """A mark at every foot, with its number where there is room."""
    y = _TOP_PX + _BOARD_PX
    every = 1 if drawn_in <= 14 * 12 else 2
    for foot in range(int(drawn_in // 12) + 1):
        x = paper.x(foot * 12)
        paper.raw(f'<path d="M{x:.1f} {y}v6" stroke="{LINE}" stroke-width="1"/>')
        if foot % every == 0:
            paper.label(format_feet_inches(foot * 12), (x, y + 17), size=12, fill=SOFT)


def _fastener(paper: Paper, fastener: Mapping[str, Any], position_in: float, *, is_chosen: bool) -> None:
    key = fastener["id"]
    condition, kind, row = (word(fastener, fact) for fact in ("condition", "fastener", "row"))
    x = paper.x(position_in)
    y = _TOP_PX + _BOARD_PX * _HEIGHTS.get(row, 0.5)
    words = ", ".join(filter(None, (f"fastener {key} at {format_feet_inches(position_in)}", kind, row, condition)))
    with paper.part(key, words):
        if is_chosen:
            paper.raw(
                f'<rect x="{x - 13:.1f}" y="{_TOP_PX - 5}" width="26" height="{_BOARD_PX + 10}" fill="none" '
                f'stroke="{INK}" stroke-width="2" data-piece="chosen"/>'
            )
        paper.raw(_shape(kind, condition, x, y, _outline(paper, key)))
        width = min(44.0, max(paper.scale * 8, 22.0))  # where they stand close, the touch areas may not overlap
        paper.raw(
            f'<rect x="{x - width / 2:.1f}" y="{_TOP_PX - 8}" width="{width:.1f}" height="{_BOARD_PX + 16}" '
            f'fill="#ffffff" fill-opacity="0"/>'
        )
    if paper.standing.get(key) == "fails":
        # A wedge over the board: seen also by whoever does not tell the colours apart.
        paper.raw(f'<path d="M{x:.1f} {_TOP_PX - 3}l-5 -9h10z" fill="#84381a"/>')


def _outline(paper: Paper, key: str) -> str:
    """Cedar where it fails. Not dashed where it is open: here dashes say that the fastener is missing."""
    return paper.stroke(key, 1.6) if paper.standing.get(key) == "fails" else f'stroke="{INK}" stroke-width="1.6"'


def _shape(kind: str, condition: str, x: float, y: float, stroke: str) -> str:
    """Bolt: a hexagon with a circle in it; lag screw: a hexagon; wood screw: a circle; nail: a cross; not said: a dot.

    Missing is an empty dashed outline, loose is half filled, corroded is hatched, not seen is empty; good is filled.
    """
    if condition == "missing":
        stroke = f'stroke="{INK}" stroke-width="1.6" stroke-dasharray="2.5 2"'
    r = _SIZE_PX
    half, up = r / 2, r * 0.87
    hexagon = f"M{x - r:.1f} {y:.1f}l{half} {-up:.1f}h{r}l{half} {up:.1f}l{-half} {up:.1f}h{-r}z"
    fill = SHEET if condition in ("missing", "loose", "not seen", "corroded") else INK
    if kind == "nail":
        shape = f'<path d="M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10" fill="none" {stroke}/>'
    elif kind in ("bolt", "lag screw"):
        shape = f'<path d="{hexagon}" fill="{fill}" {stroke}/>'
        if kind == "bolt":
            inner = SHEET if fill == INK else INK
            shape += f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="none" stroke="{inner}" stroke-width="1.3"/>'
    else:
        radius = r - 1 if kind else 4
        shape = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" {stroke}/>'
    if condition == "loose":
        shape += f'<path d="M{x - r + 1:.1f} {y:.1f}a{r - 1} {r - 1} 0 0 0 {2 * (r - 1)} 0z" fill="{INK}"/>'
    if condition == "corroded":
        shape += f'<path d="M{x - 5:.1f} {y + 3:.1f}l8 -8m-5 11l9 -9" fill="none" stroke="{INK}" stroke-width="1.4"/>'
    return shape
