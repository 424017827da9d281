"""Joist hangers and what stands in for them: rated capacity as installed, ledger strips, uplift at the house."""

from __future__ import annotations

from engine.comparison import Comparison
from engine.errors import NotPublished, OutOfRange, require_between, require_not_negative, require_positive
from engine.fasteners import Adjusted
from engine.loads import Combination, Loads
from engine.results import Step
from engine.tables import load

RIGHT_FASTENERS = "as the maker lists"
PROPORTION = "capacity in proportion to the fasteners installed (common practice, no published source)"
AS_ENTERED = "allowable load as entered from the maker's document"


def joist_reaction(span_in: float, spacing_in: float, loads: Loads, combination: Combination | None = None) -> Step:
    """Reaction of a joist at its house end, lb, under the largest load over its span; an overhang would relieve it.

    With a `combination` under that one: where a load duration factor goes with what holds it.
    """
    require_positive(span_in=span_in, spacing_in=spacing_in)
    total_psf = loads.total_psf if combination is None else combination.total_psf
    value = total_psf / 144 * spacing_in * span_in / 2
    inputs = {"q": total_psf, "s": spacing_in, "l": span_in}
    return Step("R", "q / 144 * s * l / 2", inputs, value, "lb", "statics")


def hanger(
    reaction: Step, rated_lb: float, fraction_installed: float = 1.0, fasteners: str = RIGHT_FASTENERS
) -> Comparison:
    """Compare the joist's reaction with the hanger's rating, reduced to the share of its fasteners that are there, lb.

    Raises OutOfRange where the fasteners are not the ones its maker lists: then no rating holds.
    """
    require_positive(rated_lb=rated_lb)
    require_between(0, 1, fraction_installed=fraction_installed)
    if fasteners != RIGHT_FASTENERS:
        raise OutOfRange("fasteners", fasteners, f"{RIGHT_FASTENERS}; a hanger has no rating with any others")
    inputs = {"rated": rated_lb, "share": fraction_installed}
    left = Step("R_hanger", "rated * share", inputs, rated_lb * fraction_installed, "lb", "maker's rating")
    assumptions = (AS_ENTERED, PROPORTION) if fraction_installed < 1 else (AS_ENTERED,)
    governs = "hanger with fasteners missing" if fraction_installed < 1 else "hanger"
    return Comparison(reaction.value, left.value, "lb", governs, (reaction, left), assumptions, "IRC R507.6.2")


def hanger_rating_by_table(joist_size: str, rated_lb: float) -> Comparison:
    """Compare the rating with the least capacity that DCA 6 lists for a joist of this size, lb.

    Raises NotPublished for a size that is not in the table. The table was not read whole: see its data file.
    """
    require_positive(rated_lb=rated_lb)
    table = load("hanger_minimums")
    for row in table.rows:
        if row["joist"] == joist_size:
            least_lb = float(str(row["least_lb"]))
            step = Step("R_least", "R", {"R": least_lb}, least_lb, "lb", table.source, str(row["confirmed"]))
            return Comparison(least_lb, rated_lb, "lb", joist_size, (step,), (AS_ENTERED,), table.source)
    raise NotPublished(f"{table.source} lists no hanger for a {joist_size} joist")


def hanger_depth(hanger_depth_in: float, joist_depth_in: float, least_ratio: float, citation: str) -> Comparison:
    """Compare the depth of a hanger with the share of the joist's depth that it must have, in."""
    require_positive(hanger_depth_in=hanger_depth_in, joist_depth_in=joist_depth_in)
    require_between(0, 1, least_ratio=least_ratio)
    inputs = {"r": least_ratio, "d": joist_depth_in}
    least = Step("d_least", "r * d", inputs, least_ratio * joist_depth_in, "in", citation)
    return Comparison(least.value, hanger_depth_in, "in", "depth", (least,), (), citation)


def ledger_strip_nails(reaction: Step, capacity: Adjusted, nails_at_joist: int) -> Comparison:
    """Compare the joist's reaction with the nails that hold the strip to the ledger at that joist, lb."""
    if capacity.unit != "lb":
        raise OutOfRange("capacity", capacity.unit, "a lateral value in lb")
    if nails_at_joist < 1:
        raise OutOfRange("nails_at_joist", nails_at_joist, "one or more")
    inputs = {"Z": capacity.value, "n": float(nails_at_joist)}
    total = Step("R_strip", "Z * n", inputs, capacity.value * nails_at_joist, "lb", "NDS 12.3")
    steps = (reaction, *capacity.steps, total)
    return Comparison(reaction.value, total.value, "lb", "strip nails", steps, capacity.assumptions, "NDS 12.3")


def end_nails(reaction: Step, capacity: Adjusted, nails: int) -> Comparison:
    """Compare the joist's reaction with the nails that alone hold its end, driven aslant or into its end grain, lb."""
    if capacity.unit != "lb":
        raise OutOfRange("capacity", capacity.unit, "a lateral value in lb")
    inputs = {"Z": capacity.value, "n": float(nails)}
    total = Step("R_nails", "Z * n", inputs, capacity.value * nails, "lb", "NDS 12.3, 12.5")
    steps = (reaction, *capacity.steps, total)
    return Comparison(reaction.value, total.value, "lb", "nails", steps, capacity.assumptions, "NDS 12.3, 12.5")


def ledger_strip_bearing(
    reaction: Step, joist_width_in: float, strip_width_in: float, fc_perp_adjusted_psi: float
) -> Comparison:
    """Compare the bearing of a joist on a ledger strip with the bearing value across the grain, psi.

    `strip_width_in` is how far the strip stands out under the joist. Source: NDS 3.10.2.
    """
    require_positive(joist_width_in=joist_width_in, strip_width_in=strip_width_in)
    require_positive(fc_perp_adjusted_psi=fc_perp_adjusted_psi)
    value = reaction.value / (joist_width_in * strip_width_in)
    inputs = {"R": reaction.value, "b": joist_width_in, "lb": strip_width_in}
    stress = Step("fc_perp", "R / (b * lb)", inputs, value, "psi", "NDS 3.10.2")
    return Comparison(value, fc_perp_adjusted_psi, "psi", "bearing", (reaction, stress), (), "NDS 3.10.2")


def uplift_at_house(span_in: float, overhang_in: float, spacing_in: float, loads: Loads) -> Step:
    """Uplift of a joist at the house, lb, with the live load on its overhang only; zero where its weight holds it down.

    Source: statics; the arrangement of the load is IRC R507.8 (full live load on the cantilever).
    """
    require_positive(span_in=span_in, spacing_in=spacing_in)
    require_not_negative(overhang_in=overhang_in)
    strip = spacing_in / 144
    lift = loads.live * strip * overhang_in**2 / (2 * span_in)
    hold = loads.dead * strip * (span_in / 2 - overhang_in**2 / (2 * span_in))
    inputs = {"live": loads.live, "dead": loads.dead, "s": spacing_in, "l": span_in, "a": overhang_in}
    formula = "max(0, s / 144 * (live * a**2 / (2 * l) - dead * (l / 2 - a**2 / (2 * l))))"
    return Step("U", formula, inputs, max(0.0, lift - hold), "lb", "IRC R507.8; statics")


def uplift_clip(uplift: Step, rated_lb: float) -> Comparison:
    """Compare the uplift at the house with the allowable uplift of the connector, as its maker states it, lb."""
    require_not_negative(rated_lb=rated_lb)
    return Comparison(uplift.value, rated_lb, "lb", "uplift", (uplift,), (AS_ENTERED,), "IRC R507.8")
