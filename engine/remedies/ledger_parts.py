"""The fasteners of a ledger as a repair sees them: what stays, what is replaced, what is no longer counted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from engine import tables
from engine.deck import Part, Value
from engine.errors import NotPublished
from engine.ledgers import band_objection
from engine.records import dataclass
from engine.remedies.asking import Asking, Key
from engine.remedies.bench import Bench, Needs
from engine.remedies.changes import Change, NewPart, new_id
from engine.remedies.ledger_pattern import Ends, Place
from engine.remedies.sizes import inches, one, round_up
from engine.results import Verdict
from engine.sections import find_size

ZINC, STAINLESS = "hot-dip galvanized steel", "stainless steel 316"
DIAMETER_IN = "ledger.fastener_diameter"
OF_THE_LEDGER = ("ledger.spacing", "ledger.ends", "ledger.stagger", "ledger.bending", "water.mixed_metals")
OF_EACH = ("ledger.fastener_tested", "ledger.fastener_nds", "ledger.fastener_state", "water.rust", "water.metal")
OF_THE_JOINT = (*OF_THE_LEDGER, *OF_EACH)


@dataclass(frozen=True)
class Joint:
    """The fasteners of one ledger, sorted: `kept` work, `bad` are replaced or left, `idle` never count."""

    kept: tuple[Part, ...]
    bad: tuple[Part, ...]
    idle: tuple[Part, ...]


def joint_of(bench: Bench, ledger: Part) -> Joint:
    """Sort the fasteners of a ledger. Raises Needs where kind or place of one is not known, NotPublished for a band
    that no fastener of the published table holds in.
    """
    require_covered_band(bench, ledger)
    kept, bad, idle = [], [], []
    length_in, ends = bench.number(ledger.id, "length_in"), ends_of(bench)
    for fastener in bench.referring(ledger.id, "fastener"):
        condition, kind = bench.text(fastener.id, "condition"), bench.text(fastener.id, "fastener")
        position_in = bench.number(fastener.id, "position_in")
        if condition == "not seen":
            continue  # it is neither counted on nor condemned
        if kind not in ("bolt", "lag screw") or not ends.least_in <= position_in <= length_in - ends.least_in:
            idle.append(fastener)
        elif condition != "good" or _metal_fails(bench, fastener):
            bad.append(fastener)
        else:
            kept.append(fastener)
    return Joint(tuple(kept), tuple(bad), tuple(idle))


def _metal_fails(bench: Bench, fastener: Part) -> bool:
    check = bench.now.check("water.metal", fastener.id)
    return check is not None and check.verdict is Verdict.FAILS


def require_covered_band(bench: Bench, ledger: Part) -> None:
    """Raise NotPublished for a house band that no fastener of the published table holds in; Needs where not known."""
    objection = band_objection(bench.text(ledger.id, "house_band"))
    if objection is not None:
        raise NotPublished(f"{ledger.subject}: {objection[0]} ({objection[1]})")


def ends_of(bench: Bench) -> Ends:
    """How far the outermost fasteners stand from the ledger's ends, by the adopted edition."""
    return Ends(bench.rule("ledger.end_min").value, bench.rule("ledger.end_max").value)


def place_of(bench: Bench, fastener: Part) -> Place:
    row = bench.recorded(fastener.id, "row")
    return Place(bench.number(fastener.id, "position_in"), str(row or ""), False)


def rows_are_known(bench: Bench, fasteners: tuple[Part, ...]) -> bool:
    return all(bench.recorded(fastener.id, "row") is not None for fastener in fasteners)


def band_in(bench: Bench, ledger: Part) -> float:
    """Thickness of the house band that the fasteners go through, in. Raises Needs for a band that no table covers."""
    band = bench.text(ledger.id, "house_band")
    for row in tables.load("house_band_wood").rows:
        if row["band"] == band:
            return float(str(row["thickness_in"]))
    raise Needs(f"what the ledger {ledger.id} could be fastened to: {band} is not covered by the published table")


def length_in(bench: Bench, ledger: Part, kind: str) -> float:
    """Length to buy, in: through everything with room for washers and nut, or the lag's tip past the band."""
    through_in = find_size(bench.text(ledger.id, "size")).width_in + bench.number(ledger.id, "sheathing_in")
    through_in += band_in(bench, ledger)
    past_in = one("bolt_past_wood") if kind == "bolt" else bench.rule("ledger.lag_tip_past_band").value
    return round_up(through_in + past_in, one("bolt_length_step"))


def metal_for(bench: Bench, kept: tuple[Part, ...]) -> str:
    """The metal of new fasteners: stainless near salt water or beside stainless ones, else hot-dip galvanized."""
    there = {str(bench.recorded(fastener.id, "metal") or "") for fastener in kept}
    stainless = next((metal for metal in there if metal.startswith("stainless")), "")
    if stainless:
        return stainless
    return STAINLESS if bench.value("basis", "is_near_salt_water") else ZINC


def facts_of(bench: Bench, ledger: Part, kind: str, metal: str) -> dict[str, Value]:
    """The facts of one new fastener, apart from its place."""
    return {
        "fastener": kind,
        "diameter_in": bench.rule(DIAMETER_IN).value,
        "length_in": length_in(bench, ledger, kind),
        "condition": "good",
        "corrosion_loss_in": 0.0,
        "metal": metal,
    }


def put_in(bench: Bench, ledger: Part, places: tuple[Place, ...], facts: Mapping[str, Value]) -> Change:
    """The change that puts new fasteners at the new ones of these places."""
    added: list[NewPart] = []
    stem = new_id(bench.deck, f"{ledger.id}F")
    while any(part_id.startswith(stem) for part_id in bench.deck.by_id):
        stem = new_id(bench.deck, stem)
    for number, place in enumerate([place for place in places if place.is_new], start=1):
        where: dict[str, Value] = {"ledger": ledger.id, "position_in": place.position_in}
        if place.row:
            where["row"] = place.row
        added.append(NewPart("fastener", f"{stem}{number}", {**where, **facts}))
    return Change(added=tuple(added))


def joint_holds(asked: Asking, ledger_id: str, keys: Sequence[Key]) -> bool:
    """Whether the failing checks are cleared and no fastener, old or new, nor the ledger between them fails."""
    if any(asked.fails(Key(each, ledger_id)) for each in OF_THE_LEDGER):  # one glance tells most of what is too few
        return False
    fasteners = asked.deck.referring.get((ledger_id, "fastener", "ledger"), ())
    if any(asked.fails(Key(each, part.id)) for part in fasteners for each in OF_EACH):
        return False
    return all(asked.clears(key) for key in keys)


def old_holes(bench: Bench, places: Sequence[Place], old: Sequence[Part]) -> tuple[str, ...]:
    """A caution for new places that come too near the hole of a fastener that is not counted any more; else nothing."""
    clear_in = one("hole_clearance")
    holes = [bench.number(part.id, "position_in") for part in old]
    near = [
        place.position_in
        for place in places
        if place.is_new and any(abs(place.position_in - hole) < clear_in for hole in holes)
    ]
    if not near:
        return ()
    where = ", ".join(inches(place_in) for place_in in near)
    return (
        f"at {where} an old hole is less than {inches(clear_in)} away: use that hole if it is sound and in the right"
        f" row, else keep {inches(clear_in)} from it (common practice, no published source)",
    )
