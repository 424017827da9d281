"""Checks of what attacks them all: soft wood, wet wood, flashing, rust, and metals in the wrong place."""

from __future__ import annotations

from engine.checks.registry import Result, check, yes_no
from engine.facts import CannotJudge, DeckView, PartView
from engine.results import Method
from engine.vocabulary import Link
from engine.water import flashing_objection, metal_objections, mixed_metals, moisture_reading

MADE_OF_WOOD = ("ledger", "joist_field", "beam", "post", "guard", "stair")


def decay(part: PartView, deck: DeckView) -> Result:
    """Soft wood by the probe; the strength checks take it off the section, this one says that it is there."""
    if not part.has("decay_depth_in"):
        return None
    depth_in = part.number("decay_depth_in")
    return yes_no(
        depth_in == 0,
        "probed on the day",
        f"soft to {depth_in:g} in" if depth_in else "no soft wood where it was probed",
    )


def moisture(part: PartView, deck: DeckView) -> Result:
    """What the meter says about decay: above 19 % wood stays wet enough to be watched."""
    if not part.has("moisture_percent"):
        return None
    reading = moisture_reading(part.number("moisture_percent"))
    return yes_no(not reading.is_wet_service, reading.citation, f"{reading.percent:g} %: {reading.meaning}")


for _kind in MADE_OF_WOOD:
    check(each=_kind, id="water.decay", link=Link.WATER, title="Soft wood", method=Method.PRESCRIPTIVE,
          citation="probed on the day")(decay)  # fmt: skip
    check(each=_kind, id="water.moisture", link=Link.WATER, title="Moisture of the wood", method=Method.PRESCRIPTIVE)(
        moisture
    )


@check(each="ledger", id="water.flashing", link=Link.WATER, title="Flashing over the ledger",
       method=Method.PRESCRIPTIVE, citation="IRC R507.9.1.3; R703.4")  # fmt: skip
def flashing(ledger: PartView, deck: DeckView) -> Result:
    state = ledger.text("flashing")
    if state == "cannot be seen":
        raise CannotJudge(
            "the flashing cannot be seen",
            f"take off a board at {ledger.subject}, or probe and measure moisture below it",
        )
    objection = flashing_objection(state)
    return yes_no(objection is None, "IRC R507.9.1.3; R703.4", objection or state)


@check(each="ledger", id="water.staining", link=Link.WATER, title="Water marks at the ledger",
       method=Method.PRESCRIPTIVE, citation="seen on the day")  # fmt: skip
def staining(ledger: PartView, deck: DeckView) -> Result:
    if not ledger.is_recorded("staining"):
        return None
    stained = ledger.flag("staining")
    return yes_no(not stained, "seen on the day", "water marks" if stained else "no water marks")


@check(each="fastener", id="water.metal", link=Link.WATER, title="Metal of a fastener in its place",
       method=Method.PRESCRIPTIVE, citation="IRC R317.3, Table R507.2.3")  # fmt: skip
def metal(fastener: PartView, deck: DeckView) -> Result:
    if not fastener.is_recorded("metal"):
        return None
    deck.run.assume("the ledger taken as treated lumber")
    found = metal_objections(
        fastener.text("metal"), is_treated_wood=True, is_near_salt_water=deck.basis.flag("is_near_salt_water")
    )
    for objection in found:
        if objection.confirmed == "memory":
            deck.run.rests_on_memory(f"{objection.reason} ({objection.citation})", "metal_rules")
    reason = "; ".join(f"{objection.reason} ({objection.citation})" for objection in found)
    return yes_no(not found, "IRC R317.3, Table R507.2.3", reason or fastener.text("metal"))


@check(each="ledger", id="water.mixed_metals", link=Link.WATER, title="One metal in one connection",
       method=Method.PRESCRIPTIVE)  # fmt: skip
def one_metal(ledger: PartView, deck: DeckView) -> Result:
    metals = {fastener.text("metal") for fastener in ledger.parts("fastener") if fastener.has("metal")}
    if len(metals) < 2:
        return None
    objection = mixed_metals(metals)
    if objection is None:
        return None
    return yes_no(False, objection.citation, objection.reason)


@check(each="fastener", id="water.rust", link=Link.WATER, title="Rust on a fastener", method=Method.PRESCRIPTIVE,
       citation="seen on the day")  # fmt: skip
def rust(fastener: PartView, deck: DeckView) -> Result:
    if fastener.text("condition") != "corroded":
        return None
    if not fastener.has("corrosion_loss_in"):
        raise CannotJudge(
            "corroded, and how much is left was not measured", f"measure the diameter left of {fastener.subject}"
        )
    return yes_no(False, "seen on the day", f"{fastener.number('corrosion_loss_in'):g} in of the diameter lost to rust")
