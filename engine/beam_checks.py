"""Whether a given beam holds: spans, overhangs, splices over posts, a uniform load from the joists.

A beam is continuous over its posts except where a splice lets it turn: there it is cut into separate runs. Live load is
put on and taken off span by span so that each effect is at its largest.
Source: NDS 2018 chapters 3 and 4; statics by the theorem of three moments.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from itertools import pairwise

from engine.bearing import bearing
from engine.comparison import Comparison
from engine.constants import constant
from engine.errors import OutOfRange, require_not_negative, require_positive
from engine.loads import Combination, Loads, combination_step
from engine.lumber import DesignValues, Lumber, adjusted_values, value_step
from engine.records import dataclass
from engine.results import Step
from engine.statics import Line, LineResult, Pattern, loading_patterns

BRACED = "the beam is held against rolling over by the joists"
PATTERN = "theorem of three moments; live load on the worst spans"


@dataclass(frozen=True)
class BeamLine:
    """A beam over its posts: spans from left to right, overhangs, and the posts (1 = second post) that carry a splice.

    A splice in any ply counts as a hinge. Raises OutOfRange for a splice that is not over an inner post.
    """

    spans_in: tuple[float, ...]
    left_overhang_in: float = 0.0
    right_overhang_in: float = 0.0
    splices: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        Line(self.spans_in, self.left_overhang_in, self.right_overhang_in)
        for splice in self.splices:
            if not 1 <= splice < len(self.spans_in):
                raise OutOfRange("splices", splice, f"an inner post, from 1 to {len(self.spans_in) - 1}")

    def told(self) -> str:
        """Spans, overhangs and splices, so that who redoes a derivation has them."""
        spans = " + ".join(f"{each:g}" for each in self.spans_in)
        ends = f", past the end posts {self.left_overhang_in:g} and {self.right_overhang_in:g}"
        cuts = f"; spliced over post {', '.join(str(each + 1) for each in self.splices)}" if self.splices else ""
        return f"spans {spans}{ends if self.left_overhang_in or self.right_overhang_in else ''} in{cuts}"

    def runs(self) -> tuple[tuple[int, Line], ...]:
        """The pieces between splices, each with the number of its first post."""
        edges = [0, *sorted(set(self.splices)), len(self.spans_in)]
        found = []
        for start, end in pairwise(edges):
            left_in = self.left_overhang_in if start == 0 else 0.0
            right_in = self.right_overhang_in if end == len(self.spans_in) else 0.0
            found.append((start, Line(self.spans_in[start:end], left_in, right_in)))
        return tuple(found)


@dataclass(frozen=True)
class BeamForces:
    """The largest effects over all ways of loading: by span and by post, from left to right.

    `hogging_in_lb` are positive numbers; `uplift_lb` is what a post must hold down, zero where it never lifts.
    """

    sagging_in_lb: tuple[float, ...]
    hogging_in_lb: tuple[float, ...]
    shear_lb: tuple[float, ...]
    reactions_lb: tuple[float, ...]
    uplift_lb: tuple[float, ...]


def joist_tributary_in(joist_span_in: float, joist_overhang_in: float = 0.0) -> float:
    """Width of deck (in) whose load comes down on the beam: joists from one side, their overhang full."""
    require_positive(joist_span_in=joist_span_in)
    require_not_negative(joist_overhang_in=joist_overhang_in)
    return (joist_span_in + joist_overhang_in) ** 2 / (2 * joist_span_in)


def beam_values(
    lumber: Lumber,
    load_duration: float = 1.0,
    *,
    ply_factor: float | None = None,
    size_factor_fb: float | None = None,
) -> DesignValues:
    """Adjusted values of a beam: repetitive only from three plies on. Source: NDS 4.3.9."""
    return adjusted_values(
        lumber, load_duration, members=lumber.plies, ply_factor=ply_factor, size_factor_fb=size_factor_fb
    )


@lru_cache(maxsize=2048)
def beam_forces(line: BeamLine, dead_lb_per_in: float, variable_lb_per_in: float) -> BeamForces:
    """Largest moments, shears and reactions under a constant load and one that comes and goes span by span."""
    require_not_negative(dead_lb_per_in=dead_lb_per_in, variable_lb_per_in=variable_lb_per_in)
    spans, posts = len(line.spans_in), len(line.spans_in) + 1
    sag, hog, shear = [0.0] * spans, [0.0] * posts, [0.0] * spans
    most, least = [0.0] * posts, [0.0] * posts
    for first, run in line.runs():
        results = [_solve(run, dead_lb_per_in, variable_lb_per_in, pattern) for pattern in _patterns_of(run)]
        for i in range(len(run.spans_in)):
            sag[first + i] = max(r.span_moments_in_lb[i] for r in results)
            shear[first + i] = max(max(abs(v) for v in r.shears_lb[i]) for r in results)
        for k in range(len(run.spans_in) + 1):
            hog[first + k] = max(hog[first + k], *(-r.support_moments_in_lb[k] for r in results))
            # At a splice the reactions of the two runs add; both may be at their largest together.
            most[first + k] += max(r.reactions_lb[k] for r in results)
            least[first + k] += min(r.reactions_lb[k] for r in results)
        shear[first] = max(shear[first], *(r.overhang_shears_lb[0] for r in results))
        last = first + len(run.spans_in) - 1
        shear[last] = max(shear[last], *(r.overhang_shears_lb[1] for r in results))
    uplift = tuple(max(0.0, -each) for each in least)
    return BeamForces(tuple(sag), tuple(hog), tuple(shear), tuple(most), uplift)


def _patterns_of(run: Line) -> tuple[Pattern, ...]:
    overhangs = run.left_overhang_in > 0 or run.right_overhang_in > 0
    return loading_patterns(len(run.spans_in), overhangs=overhangs)


def _solve(run: Line, dead: float, variable: float, pattern: Pattern) -> LineResult:
    def load(is_loaded: bool) -> float:
        return dead + variable if is_loaded else dead

    left, spans, right = pattern
    return run.solve([load(each) for each in spans], load(left), load(right))


def beam_reactions(
    line: BeamLine, tributary_in: float, loads: Loads, combination: Combination | None = None
) -> tuple[float, ...]:
    """Largest load (lb) on each post, from left to right, under the largest sum or the `combination` given."""
    total = combination or loads.largest
    width = tributary_in / 144
    return beam_forces(line, loads.dead * width, total.variable_psf * width).reactions_lb


def beam_bending(lumber: Lumber, line: BeamLine, tributary_in: float, loads: Loads) -> Comparison:
    """Compare the largest bending stress, in a span or over a post, with the adjusted bending value (psi)."""
    forces, values, load_steps, w = _governing(
        lumber, line, tributary_in, loads, lambda found: max(*found.sagging_in_lb, *found.hogging_in_lb)
    )
    places: dict[str, tuple[float, float]] = {}
    for i, moment in enumerate(forces.sagging_in_lb):
        places[f"bending in span {i + 1}"] = (moment, line.spans_in[i])
    for k, moment in enumerate(forces.hogging_in_lb):
        nearest_in = line.spans_in[min(k, len(line.spans_in) - 1)]
        places[f"bending over post {k + 1}"] = (moment, nearest_in)
    governs = max(places, key=lambda name: places[name][0])
    moment_in_lb, span_in = places[governs]
    coefficient = moment_in_lb / (w * span_in**2)
    stress_psi = moment_in_lb / lumber.s_xx_in3
    inputs = {"k": coefficient, "w": w, "l": span_in}
    steps = (
        *load_steps,
        Step("M", "k * w * l**2", inputs, moment_in_lb, "in-lb", PATTERN, line.told()),
        lumber.s_step,
        Step("fb", "M / S", {"M": moment_in_lb, "S": lumber.s_xx_in3}, stress_psi, "psi", "NDS 3.3.2"),
        value_step(values, "fb"),
    )
    return Comparison(stress_psi, values.fb, "psi", governs, steps, (BRACED, *values.assumptions), "NDS 3.3")


def beam_shear(lumber: Lumber, line: BeamLine, tributary_in: float, loads: Loads) -> Comparison:
    """Compare the largest shear beside a post with what the beam can take (lb); load near the post is not left out."""
    forces, values, load_steps, w = _governing(lumber, line, tributary_in, loads, lambda found: max(found.shear_lb))
    shear_lb = max(forces.shear_lb)
    span = forces.shear_lb.index(shear_lb)
    span_in = line.spans_in[span]
    capacity_lb = 2 / 3 * values.fv * lumber.area_in2
    inputs = {"k": shear_lb / (w * span_in), "w": w, "l": span_in}
    given = {"Fv": values.fv, "b": lumber.width_in, "d": lumber.depth_in}
    steps = (
        *load_steps,
        Step("V", "k * w * l", inputs, shear_lb, "lb", PATTERN, line.told()),
        value_step(values, "fv"),
        Step("Vr'", "2 / 3 * Fv * b * d", given, capacity_lb, "lb", "NDS 3.4.2"),
    )
    return Comparison(shear_lb, capacity_lb, "lb", f"shear, span {span + 1}", steps, values.assumptions, "NDS 3.4")


def beam_live_deflection(
    lumber: Lumber, line: BeamLine, tributary_in: float, loads: Loads, deflection: float = 360
) -> Comparison:
    """Compare the largest deflection of a span under the load that comes and goes with span/`deflection` (in)."""
    require_positive(tributary_in=tributary_in, deflection=deflection)
    values = beam_values(lumber)
    w = loads.variable_psf * tributary_in / 144
    bend_in, span = _worst_deflection(line, values.e, lumber.i_xx_in4, w)
    span_in = line.spans_in[span]
    limit_in = span_in / deflection
    stiffness = values.e * lumber.i_xx_in4
    coefficient = bend_in * stiffness / (w * span_in**4) if w else 0.0
    steps = (
        Step("w", "q * b / 144", {"q": loads.variable_psf, "b": tributary_in}, w, "lb/in", "statics"),
        value_step(values, "e"),
        lumber.i_step,
        _bend_step(line, coefficient, w, span_in, values.e, lumber.i_xx_in4, bend_in),
        Step("limit", "l / n", {"l": span_in, "n": deflection}, limit_in, "in", "IRC Table R301.7"),
    )
    governs = f"live deflection, span {span + 1}"
    return Comparison(bend_in, limit_in, "in", governs, steps, (), f"L/{deflection:g}, IRC Table R301.7")


def beam_total_deflection(
    lumber: Lumber, line: BeamLine, tributary_in: float, loads: Loads, deflection: float | None = None
) -> Comparison:
    """Compare the largest deflection of a span, with creep under the dead load, with span/240 (or span/`deflection`).

    Source: NDS 3.5.2 (creep 2.0 wet, 1.5 dry) and IBC Table 1604.3 for the limit, both from memory.
    """
    limit = constant("total_deflection_limit") if deflection is None else deflection
    require_positive(tributary_in=tributary_in, deflection=limit)
    values = beam_values(lumber)
    creep = constant("creep_wet" if lumber.wet else "creep_dry")
    width = tributary_in / 144
    lasting, passing = creep * loads.dead * width, loads.variable_psf * width
    bend_in, span = _worst_deflection(line, values.e, lumber.i_xx_in4, passing, lasting)
    span_in, w = line.spans_in[span], lasting + passing
    coefficient = bend_in * values.e * lumber.i_xx_in4 / (w * span_in**4) if w else 0.0
    limit_in = span_in / limit
    inputs = {"qL": loads.variable_psf, "k": creep, "D": loads.dead, "b": tributary_in}
    steps = (
        Step("w", "(qL + k * D) * b / 144", inputs, w, "lb/in", "NDS 3.5.2 (creep, from memory)"),
        value_step(values, "e"),
        lumber.i_step,
        _bend_step(line, coefficient, w, span_in, values.e, lumber.i_xx_in4, bend_in),
        Step("limit", "l / n", {"l": span_in, "n": limit}, limit_in, "in", "IBC Table 1604.3 (from memory)"),
    )
    governs = f"total deflection, span {span + 1}"
    return Comparison(bend_in, limit_in, "in", governs, steps, (), f"L/{limit:g}, IBC Table 1604.3")


def beam_tip_deflection(
    lumber: Lumber, line: BeamLine, tributary_in: float, loads: Loads, deflection: float = 360
) -> Comparison:
    """Compare how far the free end of an overhang goes down under the load that comes and goes with a limit (in).

    A cantilever counts twice its length against the limit of a span: 2 a / `deflection`. The load lies where it bends
    the end down most; that an end rises when the span beside it is loaded is not counted.

    Raises OutOfRange for a beam without an overhang. Source: statics; IRC Table R301.7 and its note on cantilevers (the
    note from memory; AWC DCA 6-2012 Table 2 note 3 has the same a/180 for joists).
    """
    require_positive(tributary_in=tributary_in, deflection=deflection)
    values = beam_values(lumber)
    w = loads.variable_psf * tributary_in / 144
    bend_in, overhang_in, end = _worst_tip(line, values.e, lumber.i_xx_in4, w)
    require_positive(overhang_in=overhang_in)
    limit_in = 2 * overhang_in / deflection
    coefficient = bend_in * values.e * lumber.i_xx_in4 / (w * overhang_in**4) if w else 0.0
    inputs = {"k": coefficient, "w": w, "a": overhang_in, "E": values.e, "I": lumber.i_xx_in4}
    limit_source = "IRC Table R301.7; a cantilever counts twice its length (from memory)"
    steps = (
        Step("w", "q * b / 144", {"q": loads.variable_psf, "b": tributary_in}, w, "lb/in", "statics"),
        value_step(values, "e"),
        lumber.i_step,
        Step("tip", "k * w * a**4 / (E * I)", inputs, bend_in, "in", PATTERN, line.told()),
        Step("limit", "2 * a / n", {"a": overhang_in, "n": deflection}, limit_in, "in", limit_source),
    )
    citation = f"a/{deflection / 2:g}, IRC Table R301.7"
    return Comparison(bend_in, limit_in, "in", f"free end, {end}", steps, (), citation)


def beam_bearing(
    lumber: Lumber,
    line: BeamLine,
    tributary_in: float,
    loads: Loads,
    bearing_length_in: float,
    post: int,
    seat_width_in: float | None = None,
) -> Comparison:
    """Compare the bearing stress of the beam on one post (counted from 0) with the value across the grain (psi).

    `bearing_length_in` is along the beam, `seat_width_in` across it: None where all plies bear. At a splice each half
    bears by itself; the whole load over the whole length gives the same stress only if both halves carry alike, so the
    larger share of the two runs is taken.
    """
    if not 0 <= post <= len(line.spans_in):
        raise OutOfRange("post", post, f"from 0 to {len(line.spans_in)}")
    if post in line.splices:
        shares = _run_reactions_at(line, tributary_in, loads, post)
        return bearing(lumber, max(shares), bearing_length_in / 2, 0.0, seat_width_in)
    reaction_lb = beam_reactions(line, tributary_in, loads)[post]
    ends = {0: line.left_overhang_in, len(line.spans_in): line.right_overhang_in}
    distance_in = ends.get(post, min(line.spans_in)) - bearing_length_in / 2
    return bearing(lumber, reaction_lb, bearing_length_in, max(0.0, distance_in), seat_width_in)


def _run_reactions_at(line: BeamLine, tributary_in: float, loads: Loads, post: int) -> list[float]:
    width, found = tributary_in / 144, []
    dead, variable = loads.dead * width, loads.largest.variable_psf * width
    for first, run in line.runs():
        if first <= post <= first + len(run.spans_in):
            results = [_solve(run, dead, variable, pattern) for pattern in _patterns_of(run)]
            found.append(max(r.reactions_lb[post - first] for r in results))
    return found


@lru_cache(maxsize=2048)
def _worst_deflection(
    line: BeamLine, e_psi: float, i_in4: float, passing: float, lasting: float = 0.0
) -> tuple[float, int]:
    """The deflection (in) that is largest against its span, and the number of that span.

    `passing` (lb/in) is put on the worst spans, `lasting` lies on all of them.
    """
    worst: tuple[float, float, int] = (-1.0, 0.0, 0)
    for first, run in line.runs():
        found = [_deflections(run, passing, lasting, pattern, e_psi, i_in4) for pattern in _patterns_of(run)]
        bends = [max(each) for each in zip(*found, strict=True)]
        for i, bend_in in enumerate(bends):
            worst = max(worst, (bend_in / run.spans_in[i], bend_in, first + i))
    return worst[1], worst[2]


@lru_cache(maxsize=2048)
def _worst_tip(line: BeamLine, e_psi: float, i_in4: float, w: float) -> tuple[float, float, str]:
    """The downward deflection (in) of a free end that is largest against its overhang, that overhang, and which end."""
    (_, first), (_, last) = line.runs()[0], line.runs()[-1]
    found = []
    for run, at, overhang_in, end in (
        (first, 0, line.left_overhang_in, "left"),
        (last, 1, line.right_overhang_in, "right"),
    ):
        bends = [_tips(run, w, pattern, e_psi, i_in4)[at] for pattern in _patterns_of(run)]
        found.append((max(0.0, *bends), overhang_in, end))
    return max(found, key=lambda each: each[0] / each[1] if each[1] else -1.0)


def _tips(run: Line, w: float, pattern: Pattern, e_psi: float, i_in4: float) -> tuple[float, float]:
    left, spans, right = pattern
    return run.tip_deflections([w * each for each in spans], e_psi, i_in4, w * left, w * right)


def _bend_step(
    line: BeamLine, coefficient: float, w: float, span_in: float, e_psi: float, i_in4: float, bend_in: float
) -> Step:
    inputs = {"k": coefficient, "w": w, "l": span_in, "E": e_psi, "I": i_in4}
    return Step("bend", "k * w * l**4 / (E * I)", inputs, bend_in, "in", PATTERN, line.told())


def _deflections(
    run: Line, passing: float, lasting: float, pattern: Pattern, e_psi: float, i_in4: float
) -> tuple[float, ...]:
    left, spans, right = pattern
    loads = [lasting + passing * each for each in spans]
    return run.deflections(loads, e_psi, i_in4, lasting + passing * left, lasting + passing * right)


def _governing(
    lumber: Lumber, line: BeamLine, tributary_in: float, loads: Loads, effect: Callable[[BeamForces], float]
) -> tuple[BeamForces, DesignValues, tuple[Step, ...], float]:
    """The combination with the largest effect over its load duration factor: its forces, values, steps, line load.

    The sums alone do not tell: where spans are loaded in turn, dead load and the load that comes and goes weigh
    differently in each effect.
    """
    require_positive(tributary_in=tributary_in)
    width = tributary_in / 144

    def forces_of(combination: Combination) -> BeamForces:
        return beam_forces(line, loads.dead * width, combination.variable_psf * width)

    governs = max(loads.combinations, key=lambda each: effect(forces_of(each)) / each.load_duration)
    w = governs.total_psf * width
    inputs = {"q": governs.total_psf, "b": tributary_in}
    steps = (combination_step(loads, governs), Step("w", "q * b / 144", inputs, w, "lb/in", "statics"))
    return forces_of(governs), beam_values(lumber, governs.load_duration), steps, w
