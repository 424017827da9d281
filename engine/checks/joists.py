"""Checks of a field of joists: what each joist carries, against wood and against the published tables."""

from __future__ import annotations

from functools import lru_cache

from engine import joists
from engine.bearing import bearing
from engine.checks.common import edition_of, holds_table, loads_of, lumber_of, note_source, rule_of, table_loads
from engine.checks.registry import Result, at_least, at_most, check
from engine.codes import Edition
from engine.comparison import Comparison
from engine.errors import require_positive
from engine.facts import DeckView, PartView
from engine.hangers import uplift_at_house, uplift_clip
from engine.lumber import Lumber
from engine.results import Method, Step
from engine.vocabulary import Link

APART = "the table groups species and takes the weakest of a group; the calculation takes the species recorded"


def joist_lumber(field: PartView, deck: DeckView) -> Lumber:
    """One joist of a field; three or more side by side share their load (NDS 4.3.9)."""
    if field.is_recorded("count"):
        repetitive = field.count("count") >= 3
    else:
        repetitive = True
        deck.run.assume(f"count of {field.subject} not recorded: three or more joists taken to share their load")
    return lumber_of(field, deck, repetitive=repetitive)


# One row may be asked for by many combinations of what is not known.
_joist_span = lru_cache(maxsize=4096)(Edition.joist_span)
_joist_overhang = lru_cache(maxsize=4096)(Edition.joist_overhang)


def spacing_in(field: PartView) -> float:
    """Spacing of the joists: the width of deck that one of them carries."""
    return field.number("spacing_in")


@check(each="joist_field", id="joist.bending", link=Link.JOISTS, title="Joists in bending",
       twin="joist.span_table", why_apart=APART)  # fmt: skip
def bending(field: PartView, deck: DeckView) -> Result:
    return joists.joist_bending(joist_lumber(field, deck), spacing_in(field), field.number("span_in"), loads_of(deck))


@check(each="joist_field", id="joist.shear", link=Link.JOISTS, title="Joists in shear",
       twin="joist.span_table", why_apart=APART)  # fmt: skip
def shear(field: PartView, deck: DeckView) -> Result:
    return joists.joist_shear(
        joist_lumber(field, deck), spacing_in(field), field.number("span_in"), loads_of(deck),
        field.number("overhang_in"),
    )  # fmt: skip


@check(each="joist_field", id="joist.shear_at_notch", link=Link.JOISTS, title="Joists in shear at their notch")
def shear_at_notch(field: PartView, deck: DeckView) -> Result:
    notch_depth_in = field.number("notch_depth_in")
    if not notch_depth_in:
        return None
    return joists.joist_shear(
        joist_lumber(field, deck), spacing_in(field), field.number("span_in"), loads_of(deck),
        field.number("overhang_in"), notch_depth_in,
    )  # fmt: skip


@check(each="joist_field", id="joist.notch_depth", link=Link.JOISTS, title="Depth of the notch at the joist end")
def notch_depth(field: PartView, deck: DeckView) -> Result:
    notch_depth_in = field.number("notch_depth_in")
    return joists.joist_notch_depth(joist_lumber(field, deck), notch_depth_in) if notch_depth_in else None


@check(each="joist_field", id="joist.live_deflection", link=Link.JOISTS, title="Bounce: deflection under live load",
       twin="joist.span_table", why_apart=APART)  # fmt: skip
def live_deflection(field: PartView, deck: DeckView) -> Result:
    return joists.joist_live_deflection(
        joist_lumber(field, deck), spacing_in(field), field.number("span_in"), loads_of(deck),
        rule_of(deck, "load.deflection_limit_main_span").value,
    )  # fmt: skip


@check(each="joist_field", id="joist.total_deflection", link=Link.JOISTS, title="Sag: deflection under all load")
def total_deflection(field: PartView, deck: DeckView) -> Result:
    return joists.joist_total_deflection(
        joist_lumber(field, deck), spacing_in(field), field.number("span_in"), loads_of(deck)
    )


@check(each="joist_field", id="joist.bearing_on_beam", link=Link.JOISTS, title="Joists bearing on the beam")
def bearing_on_beam(field: PartView, deck: DeckView) -> Result:
    if field.refers_to("beam") is None:
        return None
    span_in, overhang_in, bearing_in = (field.number(name) for name in ("span_in", "overhang_in", "bearing_in"))
    require_positive(bearing_in=bearing_in)
    line, reaction = beam_reaction_steps(spacing_in(field), span_in, overhang_in, loads_of(deck).total_psf)
    end_in = max(0.0, overhang_in - bearing_in / 2)
    found = bearing(joist_lumber(field, deck), reaction.value, bearing_in, end_in)
    return Comparison(
        found.demand, found.capacity, found.unit, found.governs, (line, reaction, *found.steps), found.assumptions,
        found.citation,
    )  # fmt: skip


def beam_reaction_steps(spacing: float, span_in: float, overhang_in: float, total_psf: float) -> tuple[Step, Step]:
    """What one joist brings to its beam, overhang and span full (lb), with its line load."""
    w = total_psf * spacing / 144
    reaction_lb = w * (span_in + overhang_in) ** 2 / (2 * span_in)
    inputs = {"w": w, "l": span_in, "a": overhang_in}
    return (
        Step("w", "q * s / 144", {"q": total_psf, "s": spacing}, w, "lb/in", "statics"),
        Step("R", "w * (l + a)**2 / (2 * l)", inputs, reaction_lb, "lb", "statics, overhang and span loaded"),
    )


@check(each="joist_field", id="joist.bearing_length", link=Link.JOISTS, title="Length of bearing on the beam",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def bearing_length(field: PartView, deck: DeckView) -> Result:
    if field.refers_to("beam") is None:
        return None
    rule = rule_of(deck, "bearing.wood_or_metal")
    return at_least(field.number("bearing_in"), rule.value, "in", rule.citation, "bearing")


@check(each="joist_field", id="joist.span_table", link=Link.JOISTS, title="Joist span by the published table",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def span_table(field: PartView, deck: DeckView) -> Result:
    live_psf, snow_psf = table_loads(deck)
    found = _joist_span(
        edition_of(deck), field.text("species"), field.text("size"), spacing_in(field), live_psf, snow_psf,
        grade=field.text("grade"), with_overhang=field.number("overhang_in") > 0,
    )  # fmt: skip
    note_source(deck, found, "joist span table")
    return at_most(field.number("span_in"), found.value, "in", found.citation, "span")


@check(each="joist_field", id="joist.overhang_table", link=Link.JOISTS, title="Joist overhang by the published rule",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def overhang_table(field: PartView, deck: DeckView) -> Result:
    overhang_in = field.number("overhang_in")
    if not overhang_in or not holds_table(deck, "joist_overhang"):
        return None  # said once for the deck, by `overhang_table_held`
    live_psf, snow_psf = table_loads(deck)
    found = _joist_overhang(
        edition_of(deck), field.text("species"), field.text("size"), spacing_in(field), field.number("span_in"),
        live_psf, snow_psf, grade=field.text("grade"),
    )  # fmt: skip
    note_source(deck, found, "joist overhang table")
    return at_most(overhang_in, found.value, "in", found.citation, "overhang")


@check(each="joist_field", id="joist.overhang_quarter", link=Link.JOISTS, title="Joist overhang against its span",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def overhang_quarter(field: PartView, deck: DeckView) -> Result:
    overhang_in = field.number("overhang_in")
    if not overhang_in:
        return None
    rule = rule_of(deck, "joist.max_cantilever_ratio")
    limit_in = rule.value * field.number("span_in")
    return at_most(overhang_in, limit_in, "in", rule.citation, f"overhang past the beam ({rule.value:g} of the span)")


@check(each="joist_field", id="joist.bending_over_beam", link=Link.JOISTS, title="Joists bending over the beam",
       twin="joist.overhang_table", why_apart="the table limits the spring of the tip, this the stress")  # fmt: skip
def bending_over_beam(field: PartView, deck: DeckView) -> Result:
    overhang_in = field.number("overhang_in")
    if not overhang_in:
        return None
    return joists.joist_bending_over_support(
        joist_lumber(field, deck), spacing_in(field), overhang_in, loads_of(deck),
        rule_of(deck, "load.overhang_point_load").value,
    )  # fmt: skip


@check(each="joist_field", id="joist.tip_deflection", link=Link.JOISTS, title="Spring of the overhang's tip",
       twin="joist.overhang_table", why_apart=APART)  # fmt: skip
def tip_deflection(field: PartView, deck: DeckView) -> Result:
    overhang_in = field.number("overhang_in")
    if not overhang_in:
        return None
    return joists.joist_tip_deflection(
        joist_lumber(field, deck), field.number("span_in"), overhang_in, rule_of(deck, "load.overhang_point_load").value
    )


@check(each="joist_field", id="joist.lift_at_house", link=Link.JOISTS, title="Overhang lifting the house end",
       citation="statics")  # fmt: skip
def lift_at_house(field: PartView, deck: DeckView) -> Result:
    """The overhang full of people and the span empty: what lifts the house end against the weight that holds it."""
    overhang_in = field.number("overhang_in")
    if not overhang_in:
        return None
    span_in, loads = field.number("span_in"), loads_of(deck)
    if field.has("uplift_clip_rated_lb"):
        uplift = uplift_at_house(span_in, overhang_in, spacing_in(field), loads)
        return uplift_clip(uplift, field.number("uplift_clip_rated_lb"))
    apart_in = spacing_in(field)
    dead, full = loads.dead * apart_in / 144, loads.total_psf * apart_in / 144
    lines = (
        Step("wT", "q * s / 144", {"q": loads.total_psf, "s": apart_in}, full, "lb/in", "statics"),
        Step("wD", "D * s / 144", {"D": loads.dead, "s": apart_in}, dead, "lb/in", "statics"),
    )
    lift = Step("lift", "wT * a**2 / (2 * l)", {"wT": full, "a": overhang_in, "l": span_in},
                full * overhang_in**2 / (2 * span_in), "lb", "statics")  # fmt: skip
    held = Step("held", "wD * l / 2", {"wD": dead, "l": span_in}, dead * span_in / 2, "lb", "statics")
    note = "held down by the weight of the deck alone; hangers and clips are not counted"
    return Comparison(lift.value, held.value, "lb", "overhang loaded, span empty", (*lines, lift, held), (note,))
