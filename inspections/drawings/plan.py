"""The deck seen from above, to scale, drawn from its deck file: house, ledger with each fastener, joists, beams, posts,
footings, guards and stairs, with dimension lines.

What is not recorded is not drawn; `Plan.missing` says what that is, and where a place had to be taken.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from engine.errors import EngineError
from engine.sections import find_size
from inspections.drawings.paper import INK, LINE, SHEET, SOFT, WOOD, Paper

WIDTH_PX = 720
_LEFT, _RIGHT, _TOP = 84, 96, 46  # room for dimension lines, and for the house above
_TALLEST_PX = 620
_SIDES = ("front", "left", "right")

Part = Mapping[str, Any]


@dataclass(frozen=True)
class Plan:
    """One drawing for each level, and what could not be drawn, in words."""

    drawings: tuple[str, ...]
    missing: tuple[str, ...]
    papers: tuple[Paper, ...] = ()
    levels: tuple[str, ...] = ()  # what each drawing is of: "level L1 (upper deck)"

    @property
    def numbered(self) -> set[int]:
        """The findings whose number stands on one of the drawings."""
        return {number for paper in self.papers for number in paper.numbered}

    @property
    def svg(self) -> str:
        return "".join(self.drawings)


def draw_plan(
    deck: Mapping[str, Any],
    *,
    standing: Mapping[str, str] | None = None,
    hrefs: Mapping[str, str] | None = None,
    findings: Mapping[str, Sequence[int]] | None = None,
    said: Callable[[str], str] = str,
) -> Plan:
    """Draw a deck file (`soundings deck 1`, as a mapping).

    `standing` says per part id how its gravest check stands ("fails", "cannot tell", "holds"); `hrefs` where a tap on
    the part leads; `findings` the numbers of the findings at it; `said` gives words in the language of the page. A
    value that is "unknown" or one of several counts as not recorded.
    """
    levels = deck.get("levels") or (
        [{"id": ""}] if any(deck.get(each) for each in ("ledgers", "beams", "joist_fields")) else []
    )
    drawings, missing, papers, names = [], [], [], []
    for number, level in enumerate(levels):
        sheet = {"standing": standing, "hrefs": hrefs, "findings": findings, "said": said}
        drawing = _Level(deck, level, is_first=number == 0, sheet=sheet)
        paper = drawing.draw()
        missing += drawing.missing
        if paper is not None:
            paper.mark_findings()
            papers.append(paper)
            called = f" ({level['name']})" if level.get("name") else ""
            names.append(f"level {level['id']}{called}" if level["id"] else "the deck")
            name = " ".join(filter(None, (level["id"], level.get("name", ""))))
            drawings.append(paper.svg(f"Plan of {name or 'the deck'}, to scale, the house above"))
    return Plan(tuple(drawings), tuple(dict.fromkeys(missing)), tuple(papers), tuple(names))


def number(part: Part, fact: str) -> float | None:
    """A recorded number of a part, or None."""
    value = part.get(fact)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def word(part: Part, fact: str) -> str:
    """A recorded word of a part; one of several counts as not recorded."""
    value = part.get(fact, "")
    return value if isinstance(value, str) else ""


def numbers(part: Part, fact: str) -> list[float]:
    value = part.get(fact)
    return [float(each) for each in value] if isinstance(value, list | tuple) else []


def _post_in(post: Part) -> tuple[float, float]:
    """Width and depth of a post; one whose size is not recorded is drawn as thin as a 4x4, and hollow."""
    try:
        size = find_size(str(post.get("size", "4x4")))
    except EngineError:
        size = find_size("4x4")
    return size.width_in, size.depth_in


class _Level:
    """One level on one sheet of paper."""

    def __init__(self, deck, level, *, is_first, sheet) -> None:
        self.deck, self.level, self.is_first, self.sheet = deck, level, is_first, sheet
        self.missing: list[str] = []
        self.ledgers, self.fields = self._mine("ledgers"), self._mine("joist_fields")
        self.beams, self.guards, self.stairs = self._mine("beams"), self._mine("guards"), self._mine("stairs")
        self.width_in = number(level, "width_in") or max(
            (length for part in [*self.ledgers, *self.beams] if (length := self._length_in(part))), default=None
        )
        reaches = [
            span + (number(each, "overhang_in") or 0) for each in self.fields if (span := number(each, "span_in"))
        ]
        self.depth_in = number(level, "depth_in") or max(reaches, default=None)

    def _mine(self, plural: str) -> list[Part]:
        level_id = self.level["id"]
        return [
            part for part in self.deck.get(plural, [])
            if part.get("level", level_id if self.is_first else None) == level_id
        ]  # fmt: skip

    def _name(self) -> str:
        return f"level {self.level['id']}" if self.level["id"] else "the deck"

    def draw(self) -> Paper | None:
        if self.width_in is None:
            self.missing.append(
                f"The width of {self._name()} along the house is not recorded, so there is no plan of it yet."
            )
            return None
        if self.depth_in is None:
            self.missing.append(f"The depth of {self._name()} is not recorded: only what lies at the house is drawn.")
        depth_in = self.depth_in or 24.0
        scale = min((WIDTH_PX - _LEFT - _RIGHT) / self.width_in, _TALLEST_PX / depth_in)
        self.paper = Paper(scale, _LEFT, _TOP, **self.sheet)
        self._house()
        if self.depth_in:
            self._outline(self.depth_in)
        for place, field in enumerate(self.fields):
            self._joists(field, place)
        for ledger in self.ledgers:
            self._ledger(ledger)
        for beam in self.beams:
            self._beam(beam)
        if self.depth_in:
            for guard in self.guards:
                self._guard(guard, self.depth_in)
            lowest_px = max([self.paper.y(self.depth_in), *(self._stair(each, self.depth_in) for each in self.stairs)])
            self.paper.along(0, self.depth_in, self.paper.x(self.width_in) + 58)
            self.paper.across(0, self.width_in, lowest_px + 40)
        else:
            self.paper.across(0, self.width_in, self.paper.y(depth_in))
        for patch in self.deck.get("patches", []):
            if patch.get("joist_field") in {each["id"] for each in self.fields}:
                self.missing.append(
                    f"Where {patch['id']} ({word(patch, 'what') or 'an extra load'}) stands is not recorded."
                )
        return self.paper

    def _house(self) -> None:
        x1, x2 = self.paper.x(0) - 40, self.paper.x(self.width_in) + 40
        y = self.paper.y(0)
        slants = "".join(f"M{x:.0f} {y - 14:.0f}l12 12" for x in range(int(x1), int(x2) - 11, 12))
        self.paper.raw(
            f'<path d="{slants}" stroke="{LINE}" stroke-width="1" fill="none"/>'
            f'<path d="M{x1:.1f} {y:.1f}H{x2:.1f}" stroke="{INK}" stroke-width="3" fill="none" data-piece="house"/>'
        )
        self.paper.label(self.paper.said("House"), ((x1 + x2) / 2, y - 26), size=14, fill=SOFT)

    def _outline(self, depth_in: float) -> None:
        with self.paper.part(self.level["id"] or "deck", f"{self._name()}"):
            more = f'fill="{WOOD}" stroke="{LINE}" stroke-width="1" data-piece="surface"'
            self.paper.box(0, 0, self.width_in, depth_in, more)

    def _joists(self, field: Part, place: int) -> None:
        span_in, spacing_in, count = (number(field, name) for name in ("span_in", "spacing_in", "count"))
        if span_in is None or (spacing_in is None and count is None):
            self.missing.append(f"The span and spacing of the joists {field['id']} are needed to draw them.")
            return
        share_in = self.width_in / len(self.fields)
        if len(self.fields) > 1:
            self.missing.append(
                "Where each field of joists lies along the house is not recorded: drawn from left to right."
            )
        left_in, right_in = place * share_in + 0.75, (place + 1) * share_in - 0.75
        step_in = spacing_in or (right_in - left_in) / max((count or 2) - 1, 1)
        places = []
        while left_in + len(places) * step_in < right_in - 1 and len(places) < 400:
            places.append(left_in + len(places) * step_in)
        reach_in = span_in + (number(field, "overhang_in") or 0)
        if self.depth_in and reach_in > self.depth_in + 6:
            self.missing.append(f"The joists {field['id']} reach farther than the depth that is recorded.")
        paper = self.paper
        with paper.part(field["id"], f"joists {field['id']}"):
            for x_in in [*places, right_in]:
                paper.line(x_in, 0, x_in, reach_in, paper.stroke(field["id"], 1) + ' data-piece="joist"')
            paper.tap_area(place * share_in, 0, share_in, reach_in)
        middle = paper.x((left_in + right_in) / 2)
        paper.part_label(field["id"], *((middle, paper.y(span_in * part)) for part in (0.5, 0.35, 0.65, 0.2)), size=16)
        if place == 0:
            paper.along(0, span_in, paper.x(0) - 44)

    def _ledger(self, ledger: Part) -> None:
        length_in = self._length_in(ledger)
        if length_in is None:
            self.missing.append(
                f"The length of the ledger {ledger['id']} is not recorded: drawn along the whole width."
            )
        left_in = max((self.width_in - (length_in or self.width_in)) / 2, 0)
        paper, key = self.paper, ledger["id"]
        with paper.part(key, f"ledger {key}"):
            more = f'fill="{SHEET}" {paper.stroke(key)} data-piece="ledger"'
            paper.box(left_in, 0, length_in or self.width_in, 1.5, more, least_px=8)
            paper.tap_area(left_in, 0, length_in or self.width_in, 1.5)
        for fastener in self.deck.get("fasteners", []):
            position_in = number(fastener, "position_in")
            if fastener.get("ledger") == key and position_in is not None:
                self._fastener(fastener, left_in + position_in)
        x = paper.x(self.width_in)
        paper.part_label(key, (x + 26, paper.y(0) + 10), (x - 24, paper.y(0) + 24), (paper.x(0) - 26, paper.y(0) + 10))

    def _fastener(self, fastener: Part, x_in: float) -> None:
        paper, key = self.paper, fastener["id"]
        is_missing = fastener.get("condition") == "missing"
        fill = SHEET if is_missing else INK
        with paper.part(key, f"fastener {key}{', missing' if is_missing else ''}"):
            dashes = ' stroke-dasharray="2 2"' if is_missing else ""
            paper.circle(x_in, 0.75, 0.25, f'fill="{fill}" stroke="{INK}" stroke-width="1.2"{dashes}', least_px=2.6)

    def _beam(self, beam: Part) -> None:
        paper, key = self.paper, beam["id"]
        y_in = self._beam_y_in(beam)
        if y_in is None:
            self.missing.append(
                f"Which joists the beam {key} carries, or their span, is not recorded: it is not drawn."
            )
            return
        length_in = self._length_in(beam)
        if length_in is None:
            self.missing.append(f"The spans of the beam {key} are not recorded: drawn along the whole width.")
        left_in = (self.width_in - (length_in or self.width_in)) / 2
        thick_in = 1.5 * (number(beam, "plies") or 2)
        with paper.part(key, f"beam {key}"):
            more = f'fill="{SHEET}" {paper.stroke(key)} data-piece="beam"'
            paper.box(left_in, y_in - thick_in / 2, length_in or self.width_in, thick_in, more, least_px=7)
            paper.tap_area(left_in, y_in - thick_in / 2, length_in or self.width_in, thick_in)
        self._posts(beam, left_in, y_in)
        y = paper.y(y_in)
        x1, x2 = paper.x(left_in), paper.x(left_in + (length_in or self.width_in))
        paper.part_label(key, (x2 + 22, y - 12), (x1 - 22, y - 12), ((x1 + x2) / 2 + 40, y - 16), (x2 + 22, y + 12))

    def _posts(self, beam: Part, left_in: float, y_in: float) -> None:
        paper = self.paper
        posts = [post for post in self.deck.get("posts", []) if post.get("beam") == beam["id"]]
        stations = list(accumulate([number(beam, "overhang_left_in") or 0, *numbers(beam, "spans_in")]))
        has_spans = bool(numbers(beam, "spans_in"))
        for place, post in enumerate(posts):
            position_in = number(post, "position_in")
            if position_in is None and has_spans and len(posts) == len(stations):
                position_in = stations[place]
            if position_in is None:
                self.missing.append(f"The place of the post {post['id']} along the beam {beam['id']} is not recorded.")
                continue
            x_in = left_in + position_in
            for footing in self.deck.get("footings", []):
                if footing.get("post") == post["id"]:
                    self._footing(footing, x_in, y_in)
            wide_in, deep_in = _post_in(post)
            key = post["id"]
            # A mark as small as a post is solid: dashes around it would only make it ragged. Its label says the rest.
            edge = paper.stroke(key) if paper.standing.get(key) == "fails" else f'stroke="{INK}" stroke-width="1.5"'
            with paper.part(key, f"post {key}"):
                more = f'fill="{INK if post.get("size") else SHEET}" {edge} data-piece="post"'
                paper.box(x_in - wide_in / 2, y_in - deep_in / 2, wide_in, deep_in, more, least_px=8)
                paper.tap_area(x_in, y_in, 0, 0)
            x, y = paper.x(x_in), paper.y(y_in)
            paper.part_label(post["id"], (x, y + 24), (x + 26, y + 20), (x - 26, y + 20), (x, y - 24), (x, y + 42))

    def _footing(self, footing: Part, x_in: float, y_in: float) -> None:
        width_in, key = number(footing, "width_in"), footing["id"]
        if width_in is None:
            self.missing.append(f"The width of the footing {key} is not recorded.")
            return
        paper = self.paper
        more = f'fill="none" {paper.stroke(key, 1.2)} data-piece="footing"'
        with paper.part(key, f"footing {key}"):
            if footing.get("shape") == "square":
                paper.box(x_in - width_in / 2, y_in - width_in / 2, width_in, width_in, more)
            else:
                paper.circle(x_in, y_in, width_in / 2, more)

    def _guard(self, guard: Part, depth_in: float) -> None:
        key = guard["id"]
        if guard.get("stair"):
            return  # it runs up a flight and has no edge of its own
        side = next((side for side in _SIDES if side in str(guard.get("name", "")).lower()), None)
        if side is None:
            self.missing.append(
                f"Along which edge the guard {key} runs (front, left or right) is not recorded: it is not drawn."
            )
            return
        off_in = 7 / self.paper.scale
        ends = {
            "front": (0, depth_in + off_in, self.width_in, depth_in + off_in),
            "left": (-off_in, 0, -off_in, depth_in),
            "right": (self.width_in + off_in, 0, self.width_in + off_in, depth_in),
        }[side]
        paper = self.paper
        is_there = guard.get("is_present") is not False
        with paper.part(key, f"guard {key}, {side}{'' if is_there else ': none there'}"):
            gaps = "" if is_there else ' stroke-dasharray="2 6"'
            paper.line(*ends, paper.stroke(key, 2.5) + gaps + ' data-piece="guard"')
            x, y, far_x, far_y = ends
            paper.tap_area(min(x, far_x), min(y, far_y), abs(far_x - x), abs(far_y - y))
        if side == "front":
            y = paper.y(depth_in) + 20
            places = [(paper.x(self.width_in * part), y) for part in (0.25, 0.4, 0.1, 0.6)]
        else:
            x = paper.x(ends[0]) + (22 if side == "right" else -22)
            places = [(x, paper.y(depth_in * part)) for part in (0.3, 0.2, 0.75, 0.9)]
        paper.part_label(key, *places)

    def _stair(self, stair: Part, depth_in: float) -> float:
        """Draw a flight in front of the deck; the pixel down to which it reaches."""
        key, width_in, treads = stair["id"], number(stair, "width_in"), numbers(stair, "treads_in")
        paper = self.paper
        if width_in is None or not treads:
            self.missing.append(f"The width and the treads of the stairs {key} are needed to draw them.")
            return paper.y(depth_in)
        self.missing.append(
            f"Where the stairs {key} meet the deck is not recorded: drawn at the right of the front edge."
        )
        place = [each["id"] for each in self.stairs].index(key)
        left_in = max(self.width_in - (place + 1) * (width_in + 12), 0)
        top_in = depth_in + 14 / paper.scale
        with paper.part(key, f"stairs {key}"):
            more = f'fill="{SHEET}" {paper.stroke(key)} data-piece="stair"'
            paper.box(left_in, top_in, width_in, sum(treads), more)
            for down_in in accumulate(treads[:-1]):
                edge = f'stroke="{INK}" stroke-width="0.8"'
                paper.line(left_in, top_in + down_in, left_in + width_in, top_in + down_in, edge)
            paper.tap_area(left_in, top_in, width_in, sum(treads))
        middle = paper.x(left_in + width_in / 2)
        bottom = paper.y(top_in + sum(treads))
        paper.part_label(key, (middle, (paper.y(top_in) + bottom) / 2), (middle, bottom + 14))
        return bottom

    def _beam_y_in(self, beam: Part) -> float | None:
        for field in self.fields:
            if field.get("beam") == beam["id"]:
                return number(field, "span_in")
            if field.get("inner_beam") == beam["id"]:
                return 0.0
        return None

    def _length_in(self, part: Part) -> float | None:
        """The length of a ledger, or of a beam from its spans and overhangs."""
        if (length_in := number(part, "length_in")) is not None:
            return length_in
        if spans := numbers(part, "spans_in"):
            return sum(spans) + sum(number(part, f"overhang_{side}_in") or 0 for side in ("left", "right"))
        return None
