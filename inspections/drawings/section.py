"""The deck cut through from the house outwards, to scale: one field of joists with what carries it.

The load path from the surface to the ground can be followed on it. What is not recorded is not drawn; `missing` says
what that is.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from engine.errors import EngineError
from engine.sections import Size, find_size
from engine.units import format_feet_inches
from inspections.drawings.paper import INK, LINE, SHEET, SOFT, WOOD, Paper
from inspections.drawings.plan import number

WIDTH_PX = 720
_LEFT, _RIGHT, _TOP = 70, 96, 30
_TALLEST_PX = 460
_DECKING_IN = {"1-1/4 in thick wood": 1.0, "2 in thick wood": 1.5}  # dressed (NDS Supplement, Table 1A)

Part = Mapping[str, Any]


@dataclass(frozen=True)
class Section:
    """The drawing (empty where too little is recorded), the parts it cuts, and what could not be drawn."""

    svg: str
    cuts: tuple[str, ...]
    missing: tuple[str, ...]
    numbered: frozenset[int] = frozenset()  # the findings whose number stands on it


def size_of(part: Part) -> Size | None:
    """The dressed size of a part, or None where none is recorded."""
    try:
        return find_size(part["size"]) if isinstance(part.get("size"), str) else None
    except EngineError:
        return None


def draw_section(
    deck: Mapping[str, Any],
    *,
    standing: Mapping[str, str] | None = None,
    hrefs: Mapping[str, str] | None = None,
    findings: Mapping[str, Sequence[int]] | None = None,
    said: Callable[[str], str] = str,
) -> Section:
    """Cut through the first field of joists of a deck file whose span and size are recorded.

    `standing`, `hrefs`, `findings` and `said` as for `draw_plan`.
    """
    fields = deck.get("joist_fields") or []
    field = next((each for each in fields if number(each, "span_in") and size_of(each)), None)
    if field is None:
        return Section("", (), ("A section is drawn once the span and the size of the joists are recorded.",))
    sheet = {"standing": standing, "hrefs": hrefs, "findings": findings, "said": said}
    return _Cut(deck, field, sheet).draw()


class _Cut:
    """The surface lies at height zero; what is below has a positive y."""

    def __init__(self, deck, field, sheet) -> None:
        self.field, self.sheet = field, sheet
        self.level = _one(deck, "levels", field.get("level")) or _only(deck, "levels") or {}
        self.ledger = _one(deck, "ledgers", field.get("ledger"))
        self.beam = _one(deck, "beams", field.get("beam"))
        self.post = _one(deck, "posts", self.beam["id"], by="beam") if self.beam else None
        self.footing = _one(deck, "footings", self.post["id"], by="post") if self.post else None
        guards = [each for each in deck.get("guards", []) if each.get("is_present") is True and not each.get("stair")]
        front = [each for each in guards if "front" in str(each.get("name", "")).lower()]
        self.guard = next(iter(front or guards), None)
        self.missing: list[str] = []
        self.cuts = [field["id"]]

        self.decking_in = _DECKING_IN.get(str(self.level.get("decking")), 1.0)
        self.joist_in = size_of(field).depth_in
        self.span_in = number(field, "span_in")
        self.reach_in = self.span_in + (number(field, "overhang_in") or 0)
        self.under_joists_in = self.decking_in + self.joist_in
        self.height_in = number(self.level, "height_in")

    def draw(self) -> Section:
        guard_in = number(self.guard, "height_in") if self.guard else None
        up_in = guard_in or 12.0
        down_in = self._lowest_in()
        scale = min((WIDTH_PX - _LEFT - _RIGHT) / (self.reach_in + 12), _TALLEST_PX / (up_in + down_in))
        self.paper = Paper(scale, _LEFT, _TOP + up_in * scale, **self.sheet)
        self._house(up_in, down_in)
        self._ground()
        self._deck()
        self._below()
        if guard_in is not None:
            self._guard(guard_in)
        elif self.guard:
            self.missing.append(f"The height of the guard {self.guard['id']} is not recorded.")
        bottom_px = self.paper.y(down_in) + 26
        self.paper.across(0, self.span_in, bottom_px)
        if self.reach_in > self.span_in:
            self.paper.across(self.span_in, self.reach_in, bottom_px)
        self.paper.mark_findings()
        svg = self.paper.svg(f"Section through {', '.join(self.cuts)}, to scale, the house on the left", "section")
        return Section(svg, tuple(self.cuts), tuple(self.missing), frozenset(self.paper.numbered))

    def _lowest_in(self) -> float:
        beam_in = size_of(self.beam).depth_in if self.beam and size_of(self.beam) else 0.0
        post_in = (number(self.post, "height_in") or 0.0) if self.post else 0.0
        foot_in = self.under_joists_in + beam_in + post_in
        ground_in = self.height_in if self.height_in is not None else foot_in
        depth_in = (number(self.footing, "depth_in") or 0.0) if self.footing else 0.0
        return max(foot_in, ground_in + depth_in, self.under_joists_in + 12) + 6

    def _house(self, up_in: float, down_in: float) -> None:
        paper = self.paper
        top, bottom = paper.y(-up_in), paper.y(down_in)
        slants = "".join(f"M{paper.x(0) - 14:.0f} {y + 12:.0f}l12 -12" for y in range(int(top), int(bottom) - 11, 12))
        paper.raw(
            f'<path d="{slants}" stroke="{LINE}" stroke-width="1" fill="none"/>'
            f'<path d="M{paper.x(0):.1f} {top:.1f}V{bottom:.1f}" stroke="{INK}" stroke-width="3" fill="none"/>'
        )
        paper.label(paper.said("House"), (paper.x(0) - 40, top + 10), size=14, fill=SOFT)

    def _ground(self) -> None:
        if self.height_in is None:
            self.missing.append("The height of the surface above the ground is not recorded: no ground is drawn.")
            return
        far_in = self.reach_in + 18 / self.paper.scale
        self.paper.line(
            0, self.height_in, far_in, self.height_in, f'stroke="{INK}" stroke-width="2" data-piece="ground"'
        )
        x_px = self.paper.x(self.reach_in) + 62
        self.paper.along(0, self.height_in, x_px)

    def _deck(self) -> None:
        paper, key = self.paper, self.field["id"]
        more = f'fill="{SHEET}" stroke="{INK}" stroke-width="1" data-piece="decking"'
        paper.box(0, 0, self.reach_in, self.decking_in, more, least_px=2)
        with paper.part(key, f"joists {key}"):
            more = f'fill="{WOOD}" {paper.stroke(key)} data-piece="joist"'
            paper.box(0, self.decking_in, self.reach_in, self.joist_in, more)
            paper.tap_area(0, self.decking_in, self.reach_in, self.joist_in)
        middle = paper.y(self.decking_in + self.joist_in / 2)
        paper.part_label(key, (paper.x(self.span_in / 2), middle), (paper.x(self.span_in / 2), middle - 26))
        if self.ledger and (size := size_of(self.ledger)):
            own = self.ledger["id"]
            self.cuts.append(own)
            with paper.part(own, f"ledger {own}"):
                more = f'fill="{SHEET}" {paper.stroke(own)} data-piece="ledger"'
                paper.box(0, self.decking_in, 1.5, size.depth_in, more, least_px=6)
                paper.tap_area(0, self.decking_in, 1.5, size.depth_in)
            y = paper.y(self.decking_in + size.depth_in)
            paper.part_label(own, (paper.x(0) + 34, y + 16), (paper.x(0) + 34, y + 34))
        elif self.ledger:
            self.missing.append(f"The size of the ledger {self.ledger['id']} is not recorded.")

    def _below(self) -> None:
        if self.beam is None:
            self.missing.append(f"Which beam carries the joists {self.field['id']} is not recorded.")
            return
        key, size = self.beam["id"], size_of(self.beam)
        if size is None:
            self.missing.append(f"The size of the beam {key} is not recorded, so nothing below it is drawn.")
            return
        wide_in = size.width_in * (number(self.beam, "plies") or 1)
        self.cuts.append(key)
        paper = self.paper
        with paper.part(key, f"beam {key}"):
            more = f'fill="{SHEET}" {paper.stroke(key)} data-piece="beam"'
            paper.box(self.span_in - wide_in / 2, self.under_joists_in, wide_in, size.depth_in, more, least_px=5)
            paper.tap_area(self.span_in, self.under_joists_in + size.depth_in / 2, 0, 0)
        x, y = paper.x(self.span_in), paper.y(self.under_joists_in + size.depth_in / 2)
        paper.part_label(key, (x + 34, y), (x - 34, y), (x + 44, y + 16))
        self._post(self.under_joists_in + size.depth_in)

    def _post(self, top_in: float) -> None:
        if self.post is None:
            return
        key, height_in = self.post["id"], number(self.post, "height_in")
        if height_in is None:
            self.missing.append(f"The height of the post {key} is not recorded.")
            return
        size = size_of(self.post)
        wide_in = size.width_in if size else 3.5
        if size is None:
            self.missing.append(f"The size of the post {key} is not recorded: drawn as thin as a 4x4.")
        self.cuts.append(key)
        paper = self.paper
        with paper.part(key, f"post {key}"):
            more = f'fill="{SHEET}" {paper.stroke(key)} data-piece="post"'
            paper.box(self.span_in - wide_in / 2, top_in, wide_in, height_in, more)
            paper.tap_area(self.span_in - wide_in / 2, top_in, wide_in, height_in)
        x, y = paper.x(self.span_in), paper.y(top_in + height_in / 2)
        paper.part_label(key, (x + 34, y), (x - 34, y), (x + 34, y + 20))
        words = format_feet_inches(height_in)
        if height_in * paper.scale > 60:
            paper.along(top_in, top_in + height_in, x - 46, words)
        self._footing(top_in + height_in)

    def _footing(self, top_in: float) -> None:
        if self.footing is None:
            return
        key, width_in, depth_in = self.footing["id"], number(self.footing, "width_in"), number(self.footing, "depth_in")
        if width_in is None or depth_in is None or self.height_in is None:
            self.missing.append(f"The width and depth of the footing {key}, and the ground, are needed to draw it.")
            return
        bottom_in = self.height_in + depth_in
        if bottom_in <= top_in:
            self.missing.append(f"The footing {key} would end above the foot of its post: check height and depth.")
            return
        thick_in = min(number(self.footing, "thickness_in") or bottom_in - top_in, bottom_in - top_in)
        self.cuts.append(key)
        paper = self.paper
        with paper.part(key, f"footing {key}"):
            more = f'fill="{SHEET}" {paper.stroke(key)} data-piece="footing"'
            paper.box(self.span_in - width_in / 2, bottom_in - thick_in, width_in, thick_in, more)
            if bottom_in - thick_in - top_in > 1:  # a pier stands on the footing that was measured
                pier = f'stroke="{SOFT}" stroke-width="1" stroke-dasharray="3 3"'
                for side in (-0.3, 0.3):
                    x_in = self.span_in + side * width_in
                    paper.line(x_in, top_in, x_in, bottom_in - thick_in, pier)
        x, y = paper.x(self.span_in), paper.y(bottom_in - thick_in / 2)
        paper.part_label(key, (x, y), (x + width_in * paper.scale / 2 + 30, y))

    def _guard(self, height_in: float) -> None:
        key = self.guard["id"]
        self.cuts.append(key)
        paper = self.paper
        with paper.part(key, f"guard {key}"):
            more = f'fill="{SHEET}" {paper.stroke(key)} data-piece="guard"'
            paper.box(self.reach_in - 3.5, -height_in, 3.5, height_in, more, least_px=4)
            paper.tap_area(self.reach_in - 3.5, -height_in, 3.5, height_in)
        x, y = paper.x(self.reach_in - 3.5), paper.y(-height_in / 2)
        paper.part_label(key, (x - 30, y), (x - 30, y - 20))
        paper.along(-height_in, 0, paper.x(self.reach_in) + 62)


def _one(deck: Mapping[str, Any], plural: str, wanted: object, by: str = "id") -> Part | None:
    return next((each for each in deck.get(plural, []) if wanted is not None and each.get(by) == wanted), None)


def _only(deck: Mapping[str, Any], plural: str) -> Part | None:
    parts = deck.get(plural, [])
    return parts[0] if len(parts) == 1 else None
