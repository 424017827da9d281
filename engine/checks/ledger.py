"""Checks of the ledger's fasteners: three witnesses side by side (published spacing, tests behind it, NDS)."""

from __future__ import annotations

from functools import cache, lru_cache

from engine import tables
from engine.checks.common import edition_of, loads_of, lumber_of, note_source, rule_of, table_loads
from engine.checks.ledger_state import ledger_state
from engine.checks.load_path import ledger_joist_span_in
from engine.checks.registry import Result, at_least, check, yes_no
from engine.codes import Edition
from engine.comparison import Comparison
from engine.errors import NotPublished
from engine.facts import CannotJudge, DeckView, PartView
from engine.fasteners import Adjusted, Fastener, Geometry, corroded, geometry_factor
from engine.ledgers import (
    band_objection,
    capacity_by_tests,
    counts_as_attachment,
    fastener_by_nds,
    fastener_by_test,
    ledger_bending,
    ledger_fastener_value,
    ledger_load_lb_per_in,
    worst_gap,
)
from engine.loads import combination_step
from engine.lumber import adjusted_values, design_values, value_step
from engine.results import Method, Step, Verdict, verdict_of
from engine.sections import find_size
from engine.vocabulary import Link

APART = (
    "the published spacing rests on tests of whole ledger joints; the yield equations of the NDS leave out what those"
    " joints have in reserve, so an overload by the equations alone does not say that the published spacing fails"
)


WALL = "concrete or masonry wall"


def covered_band(ledger: PartView) -> str:
    """What the fasteners bite into. Raises CannotJudge where neither table nor equations cover it."""
    band = ledger.text("house_band")
    objection = band_objection(band)
    if objection is not None:
        reason, citation = objection
        raise CannotJudge(
            f"ledger on {band}: {reason} ({citation})",
            "have an engineer licensed for the place judge this attachment, or carry the deck on posts at the house",
        )
    return band


@check(each="fastener", id="ledger.fastener_state", link=Link.LEDGER, title="A fastener that counts",
       method=Method.PRESCRIPTIVE, citation="IRC R507.9.1.3, R507.8")  # fmt: skip
def fastener_state(fastener: PartView, deck: DeckView) -> Result:
    condition = fastener.text("condition")
    if condition == "not seen":
        raise CannotJudge("the fastener was not seen", f"uncover and look at {fastener.subject}")
    if condition == "missing":
        return yes_no(False, "IRC R507.9.1.3", "the fastener is missing")
    counts, reason = counts_as_attachment(fastener.text("fastener"), condition)
    return yes_no(counts, "IRC R507.9.1.3, R507.8", reason or f"{fastener.text('fastener')}, {condition}")


@check(each="fastener", id="ledger.fastener_nds", link=Link.LEDGER, title="Load on a fastener by the yield equations",
       twin="ledger.fastener_tested", wider=("ledger.spacing", "ledger"), why_apart=APART)  # fmt: skip
def fastener_nds(fastener: PartView, deck: DeckView) -> Result:
    ledger = fastener.part_named("ledger")
    state = ledger_state(ledger, deck)
    carried = state.strength_load_on(fastener)
    if not carried.is_working or _is_rated_anchor(fastener, ledger):
        return None
    band = covered_band(ledger)
    return fastener_by_nds(carried, nds_capacity(fastener, ledger, deck, band))


def _is_rated_anchor(fastener: PartView, ledger: PartView) -> bool:
    return ledger.text("house_band") == WALL and fastener.has("anchor_rated_lb")


@check(each="fastener", id="ledger.anchor", link=Link.LEDGER, title="Load on an anchor by its rating",
       citation="the maker's rating")  # fmt: skip
def anchor(fastener: PartView, deck: DeckView) -> Result:
    ledger = fastener.part_named("ledger")
    carried = ledger_state(ledger, deck).load_on(fastener)
    if not carried.is_working or not _is_rated_anchor(fastener, ledger):
        return None
    rated_lb = fastener.number("anchor_rated_lb")
    rating = Step("R", "R", {"R": rated_lb}, rated_lb, "lb", "the maker's rating")
    note = "allowable load as entered from the maker's document, for this wall and distance to its edges"
    return Comparison(carried.load_lb, rated_lb, "lb", "anchor", (*carried.steps, rating), (note,))


_made = lru_cache(maxsize=256)(Fastener)
_ledger_spacing = lru_cache(maxsize=1024)(Edition.ledger_spacing)


def nds_capacity(fastener: PartView, ledger: PartView, deck: DeckView, band: str) -> Adjusted:
    """Adjusted lateral value of one ledger fastener (lb), load across the grain of ledger and band."""
    gravity, band_in = _band_wood(band)
    lumber = lumber_of(ledger, deck)
    kind = fastener.text("fastener")
    length_in = fastener.number("length_in") if kind != "bolt" else None
    made = _made(kind, fastener.number("diameter_in"), length_in=length_in)
    loss_in = fastener.number("corrosion_loss_in") / 2  # recorded on the diameter, counted on the radius
    deck.run.assume(f"band behind {ledger.subject}: specific gravity {gravity:g} taken (common practice, not seen)")
    return ledger_fastener_value(
        corroded(made, loss_in) if loss_in else made,
        ledger_gravity=design_values(lumber).specific_gravity,
        band_gravity=gravity,
        ledger_thickness_in=lumber.ply_width_in,
        band_thickness_in=band_in,
        sheathing_in=ledger.number("sheathing_in"),
        wet=lumber.wet,
        geometry=ledger_geometry(fastener, ledger, lumber.depth_in),
        load_duration=loads_of(deck).strength.load_duration,
    )


def ledger_geometry(fastener: PartView, ledger: PartView, depth_in: float) -> Geometry:
    """Geometry factor of a fastener in its ledger, from what was measured: it pushes the ledger up, to the top edge."""
    top_in, bottom_in = None, None
    row = fastener.text("row") if fastener.has("row") else ""
    if row == "upper" and ledger.has("upper_row_from_top_in"):
        top_in = ledger.number("upper_row_from_top_in")
        bottom_in = depth_in - top_in
    elif row == "lower" and ledger.has("lower_row_from_bottom_in"):
        bottom_in = ledger.number("lower_row_from_bottom_in")
        top_in = depth_in - bottom_in
    position_in = fastener.number("position_in")
    return geometry_factor(
        fastener.number("diameter_in"),
        direction="perpendicular",
        end_distance_in=max(0.0, min(position_in, ledger.number("length_in") - position_in)),
        edge_distance_in=top_in,
        unloaded_edge_distance_in=bottom_in,
    )


@cache
def _band_wood(band: str) -> tuple[float, float]:
    """Specific gravity and thickness (in) taken for a kind of house band."""
    row = next(row for row in tables.load("house_band_wood").rows if row["band"] == band)
    return float(str(row["specific_gravity"])), float(str(row["thickness_in"]))


@check(each="fastener", id="ledger.fastener_tested", link=Link.LEDGER, title="Load on a fastener by the tested joint",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def fastener_tested(fastener: PartView, deck: DeckView) -> Result:
    ledger = fastener.part_named("ledger")
    carried = ledger_state(ledger, deck).load_on(fastener)
    if not carried.is_working or _is_rated_anchor(fastener, ledger):
        return None
    _require_half_inch(fastener)
    if fastener.number("corrosion_loss_in") > 0:
        raise NotPublished("the tests behind the table had sound fasteners; this one has lost section to rust")
    band = covered_band(ledger)
    table_loads(deck)
    capacity = capacity_by_tests(fastener.text("fastener"), ledger.number("sheathing_in"), band)
    return fastener_by_test(carried, capacity)


def _require_half_inch(fastener: PartView) -> None:
    diameter_in = fastener.number("diameter_in")
    if abs(diameter_in - 0.5) > 0.01:
        raise NotPublished(f"the published spacing is for 1/2 in fasteners; this one measures {diameter_in:g} in")


@check(each="fastener", id="ledger.lag_reach", link=Link.LEDGER, title="Lag screws through the house band",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def lag_reach(fastener: PartView, deck: DeckView) -> Result:
    """The thread must bite in all of the band: the tip comes out behind it."""
    if fastener.text("fastener") != "lag screw" or fastener.text("condition") == "missing":
        return None
    ledger = fastener.part_named("ledger")
    if not fastener.is_recorded("length_in") or band_objection(ledger.text("house_band")) is not None:
        return None
    rule = rule_of(deck, "ledger.lag_tip_past_band")
    _, band_in = _band_wood(ledger.text("house_band"))
    ledger_in = find_size(ledger.text("size")).width_in
    needed_in = ledger_in + ledger.number("sheathing_in") + band_in + rule.value
    deck.run.assume(f"band behind {ledger.subject} taken as {band_in:g} in thick")
    return at_least(fastener.number("length_in"), needed_in, "in", rule.citation, "lag screw")


@check(each="ledger", id="ledger.spacing", link=Link.LEDGER, title="Widest gap between working fasteners",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def spacing(ledger: PartView, deck: DeckView) -> Result:
    state = ledger_state(ledger, deck)
    band = covered_band(ledger)
    live_psf, snow_psf = table_loads(deck)
    load_psf, kind = (snow_psf, "ground snow") if snow_psf > live_psf else (live_psf, "live")
    rows, rusted = [], []
    for fastener in state.working(ledger):
        _require_half_inch(fastener)
        rows.append(fastener.text("fastener"))
        if fastener.number("corrosion_loss_in") > 0:
            rusted.append(fastener.subject)
    allowed = [
        _ledger_spacing(
            edition_of(deck),
            row,
            band,
            ledger_joist_span_in(ledger),
            load_psf,
            ledger.number("sheathing_in"),
            load_kind=kind,
        )
        for row in dict.fromkeys(rows)
    ]
    strictest = min(allowed, key=lambda each: each.value)
    note_source(deck, strictest, "ledger spacing table")
    found = worst_gap(
        state.positions_in, ledger.number("length_in"), strictest.value, strictest.citation, sound=state.sound
    )
    if rusted and verdict_of(found.ratio) is Verdict.HOLDS:
        raise NotPublished("the published spacing is for whole fasteners; lost to rust: " + ", ".join(rusted))
    return found


@check(each="ledger", id="ledger.bending", link=Link.LEDGER, title="Ledger bending between its fasteners")
def bending(ledger: PartView, deck: DeckView) -> Result:
    state = ledger_state(ledger, deck)
    lumber = lumber_of(ledger, deck)
    combination = loads_of(deck).strength
    values = adjusted_values(lumber, combination.load_duration)
    line = ledger_load_lb_per_in(ledger_joist_span_in(ledger), combination.total_psf)
    found = ledger_bending(
        state.positions_in, ledger.number("length_in"), line.value, lumber.s_xx_in3, values.fb, sound=state.sound
    )
    total = combination_step(loads_of(deck), combination)
    return state.with_steps(found, total, line, lumber.s_step, value_step(values, "fb"))
