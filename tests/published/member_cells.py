"""Worked examples of members: AWC Structural Wood Design Examples, HUD Residential Structural Design Guide, a textbook.

Each printed number is one cell. The tolerance is half a unit of the last printed digit, a little more where the stored
copy is rounded from metric. The deck joists of DCA 6 among the examples are in `joist_cells`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import cos, radians

from engine.bearing import bearing
from engine.joists import joist_bending, joist_reactions, joist_shear, max_joist_span
from engine.loads import Loads
from engine.lumber import Lumber, adjusted_values
from engine.posts import post_capacity, post_compression
from engine.stability import (
    Stability,
    beam_effective_length_in,
    beam_stability,
    column_stability,
    combined_bending_ratio,
)
from engine.statics import simple_span_deflection
from tests.published.cells import Cell, PublishedTable, read

Answers = dict[str, Callable[[], float]]

# Printed numbers that answer a question the engine does not ask.
NOT_ASKED = {"fv (load within d ignored)": "the engine takes the full reaction, which is on the safe side"}
METRIC = {"FcE1", "FcE2"}


def dry(species: str, grade: str, size: str, *, repetitive: bool = False) -> Lumber:
    return Lumber(species, grade, size, wet=False, repetitive=repetitive)


def lateral(lumber: Lumber, length_in: float, loading: str, load_duration: float = 1.0) -> Stability:
    values = adjusted_values(lumber, load_duration)
    le_in = beam_effective_length_in(length_in, lumber.depth_in, loading)
    return beam_stability(le_in, lumber.width_in, lumber.depth_in, values.fb, values.e_min)


def unbraced_beam() -> Answers:
    beam = dry("douglas fir-larch", "Select Structural", "4x16")
    held = lateral(beam, 240, "centre point")
    return {
        "S": lambda: beam.s_xx_in3,
        "A": lambda: beam.area_in2,
        "I": lambda: beam.i_xx_in4,
        "le": lambda: beam_effective_length_in(240, beam.depth_in, "centre point"),
        "RB": lambda: held.steps[0].value,
        "FbE": lambda: held.critical_psi,
        "CL": lambda: held.factor,
        "Fb'": lambda: adjusted_values(beam, beam_stability=held.factor).fb,
    }


def bottom_chord(load_duration: float) -> Answers:
    chord = dry("hem-fir", "No.2", "2x8")
    held = lateral(chord, 144, "uniform", load_duration)
    return {
        "CL": lambda: held.factor,
        "Fb' (Fb**)": lambda: adjusted_values(chord, load_duration, beam_stability=held.factor).fb,
        "Ft'": lambda: adjusted_values(chord, load_duration).ft,
    }


@dataclass(frozen=True)
class _StudForces:
    """Axial load and the two midspan loads (lb) of the beam-column example, for one load duration."""

    axial_lb: float
    strong_lb: float
    weak_lb: float


FORCES = {1.6: _StudForces(900, 120, 150), 1.15: _StudForces(900, 0, 150), 0.9: _StudForces(300, 0, 50)}


def beam_column(load_duration: float) -> Answers:
    stud, length_in = dry("southern pine", "No.2", "2x4"), 36.0
    values = adjusted_values(stud, load_duration)
    flat = adjusted_values(stud, load_duration, flat_use=True)
    weak = column_stability(length_in / stud.width_in, values.fc, values.e_min)
    strong = column_stability(length_in / stud.depth_in, values.fc, values.e_min)
    held = lateral(stud, length_in, "centre point", load_duration)
    fb1 = adjusted_values(stud, load_duration, beam_stability=held.factor).fb
    forces = FORCES[load_duration]

    def stress(load_lb: float, modulus_in3: float) -> float:
        return load_lb * length_in / 4 / modulus_in3

    def interaction() -> float:
        return combined_bending_ratio(
            forces.axial_lb / stud.area_in2,
            values.fc * weak.factor,
            (stress(forces.strong_lb, stud.s_xx_in3), fb1, strong.critical_psi),
            (stress(forces.weak_lb, stud.s_yy_in3), flat.fb, weak.critical_psi),
            held.critical_psi,
        )

    combination = {1.6: "D+S+W", 1.15: "D+S", 0.9: "D"}[load_duration]
    return {
        "Fc*": lambda: values.fc,
        "CP": lambda: weak.factor,
        "Fc'": lambda: post_capacity(stud, length_in, load_duration).load_lb / stud.area_in2,
        "Fb2' (Cfu 1.1)": lambda: flat.fb,
        "le": lambda: beam_effective_length_in(length_in, stud.depth_in, "centre point"),
        "RB": lambda: held.steps[0].value,
        "CL1": lambda: held.factor,
        "Fb1'": lambda: fb1,
        "FcE1": lambda: strong.critical_psi,
        "FcE2": lambda: weak.critical_psi,
        "fc": lambda: forces.axial_lb / stud.area_in2,
        "fb1": lambda: stress(FORCES[1.6].strong_lb, stud.s_xx_in3),
        "fb2": lambda: stress(FORCES[1.6].weak_lb, stud.s_yy_in3),
        f"interaction {combination} (CD {load_duration:g})": interaction,
    }


def house_joist() -> Answers:
    joist = dry("hem-fir", "No.1", "2x8", repetitive=True)
    spans = max_joist_span(joist, 16, Loads(live=30, dead=10))
    stiff = max_joist_span(joist, 16, Loads(live=40, dead=0))
    return {
        "Fb'": lambda: adjusted_values(joist).fb,
        "S": lambda: joist.s_xx_in3,
        "I": lambda: joist.i_xx_in4,
        "bending span": lambda: spans.candidates["bending"] / 12,
        "deflection span L/360, L only": lambda: spans.candidates["live deflection"] / 12,
        "span at 40 psf, L/360 (vibration rule)": lambda: stiff.candidates["live deflection"] / 12,
    }


def sloping_rafter() -> Answers:
    rafter, span_in = dry("douglas fir-larch", "No.2", "2x8", repetitive=True), 14.4 * 12
    across = cos(radians(33.7))  # what acts across the rafter
    loads = Loads(live=0, dead=10 * across, snow=20 * across)
    w = loads.total_psf * 16 / 144
    stiffness = adjusted_values(rafter).e, rafter.i_xx_in4
    return {
        "fb/Fb'": lambda: joist_bending(rafter, 16, span_in, loads).ratio,
        "deflection D+S": lambda: simple_span_deflection(w, span_in, *stiffness),
    }


def built_up_column() -> Answers:
    column = Lumber("douglas fir-larch", "No.1", "2x6", plies=3, wet=False)
    values = adjusted_values(column, members=1)
    return {
        "CP": lambda: post_capacity(column, 144).column_stability,
        "without Kf": lambda: column_stability(144 / 4.5, values.fc, values.e_min).factor,
    }


def braced_rafter() -> Answers:
    rafter = dry("douglas fir-larch", "No.2", "2x10", repetitive=True)
    loads, span_in = Loads(live=0, dead=15, snow=30), 156.0
    bent = joist_bending(rafter, 16, span_in, loads)
    stiffness = adjusted_values(rafter).e, rafter.i_xx_in4
    moment = {step.symbol: step.value for step in bent.steps}
    reaction_lb = joist_reactions(16, span_in, loads)[0]
    loose = lateral_unlisted(rafter, span_in)
    return {
        "M": lambda: moment["M"],
        "fb": lambda: bent.demand,
        "Fb'": lambda: bent.capacity,
        "fv (full reaction)": lambda: 1.5 * joist_shear(rafter, 16, span_in, loads).demand / rafter.area_in2,
        "fc_perp, 3.5 in bearing": lambda: bearing(rafter, reaction_lb, 3.5).demand,
        "deflection S alone": lambda: simple_span_deflection(30 * 16 / 144, span_in, *stiffness),
        "deflection D+S": lambda: simple_span_deflection(45 * 16 / 144, span_in, *stiffness),
        "CL": lambda: loose,
    }


def lateral_unlisted(lumber: Lumber, length_in: float) -> float:
    """CL with the effective length of a loading that the table does not list, as that example prints it."""
    return lateral(lumber, length_in, "other", 1.15).factor


def short_post() -> Answers:
    post = dry("douglas fir-larch", "No.1", "6x6")
    capacity = post_capacity(post, 120)
    values = adjusted_values(post)
    return {
        "FcE": lambda: column_stability(capacity.slenderness, values.fc, values.e_min).critical_psi,
        "CP": lambda: capacity.column_stability,
        "Fc'": lambda: capacity.load_lb / post.area_in2,
        "fc": lambda: 15000 / post.area_in2,
        "ratio": lambda: post_compression(post, 120, 15000).ratio,
    }


def _answers(row: dict[str, str]) -> Answers:
    reference, inputs = row["reference"], row["inputs"]
    duration = re.search(r"CD ([\d.]+)", row["quantity"]) or re.search(r"CD ([\d.]+)", inputs)
    cd = float(duration[1]) if duration else 1.6
    if "E1.2a" in reference:
        return unbraced_beam()
    if "E1.6" in reference:
        return bottom_chord(cd)
    if "E1.8" in reference:
        return beam_column(cd)
    if "Example 5.1" in reference:
        return house_joist()
    if "HUD" in reference:
        return sloping_rafter()
    if "built-up" in row["member"]:
        answers = built_up_column()
        return {"CP": answers["without Kf"]} if "without Kf" in inputs else answers
    return short_post() if row["member"] == "post" else braced_rafter()


def _tolerance(published: str, quantity: str) -> float:
    if quantity in METRIC:
        return 0.006 * float(published)  # the copy is rounded from metric
    decimals = len(published.partition(".")[2])
    # Half a unit of the last digit; the worked examples carry rounded values from line to line, so one whole unit.
    return float(10**-decimals) * (1.0 if decimals < 4 else 0.5)


def _tables() -> list[PublishedTable]:
    table = PublishedTable("Worked examples of members", "recomputed")
    for row in read("member_examples"):
        if row["reference"].startswith("AWC DCA 6") or row["quantity"] in NOT_ASKED:
            continue
        answer = _answers(row)[row["quantity"]]
        place = f"{row['reference'][:34]}, {row['inputs'][-7:]}: {row['quantity']}"
        tolerance = _tolerance(row["published"], row["quantity"])
        table.cells.append(Cell(place, float(row["published"]), answer, tolerance))
    return [table]


TABLES = _tables()
