"""Check of sideways hold: the tension devices that tie the deck to the house floor."""

from __future__ import annotations

from dataclasses import replace

from engine.checks.common import rule_of
from engine.checks.registry import Result, check
from engine.facts import CannotJudge, DeckView, PartView
from engine.lateral_loads import DeviceSet, TensionDevice, devices_against_sway, lateral_devices, occupant_sway_lb
from engine.results import Method, Step, Verdict, verdict_of
from engine.vocabulary import Link


@check(each="level", id="lateral.devices", link=Link.LEDGER, title="Tension devices to the house floor",
       method=Method.PRESCRIPTIVE, citation="IRC R507.9.2")  # fmt: skip
def devices(level: PartView, deck: DeckView) -> Result:
    if level.text("stands") != "on a ledger":
        return None
    ties = level.parts("lateral_tie")
    if not ties:
        raise CannotJudge(
            "no tension device is recorded; the rule's figure is one accepted way, another design may serve",
            f"look for tension devices from {level.subject} to the house floor, inside and out",
        )
    return lateral_devices([_device(tie) for tie in ties], _accepted(deck))


@check(each="level", id="lateral.sway", link=Link.LEDGER, title="People swaying together, against the tension devices")
def sway(level: PartView, deck: DeckView) -> Result:
    """For information: it never fails, since no code asks for it; a shortfall is something to find out about."""
    ties = level.parts("lateral_tie")
    if level.text("stands") != "on a ledger" or not ties:
        return None
    found = devices_against_sway([_device(tie) for tie in ties], people_swaying(level))
    if verdict_of(found.ratio) is Verdict.HOLDS:
        return found
    raise CannotJudge(
        f"people who sway together may push with {found.demand:.0f} lb, by tests; the tension devices are rated for"
        f" {found.capacity:.0f} lb in all. No code asks for this comparison, and decks without devices have stood",
        where_crowds_gather(level),
    )


def people_swaying(level: PartView) -> Step:
    """The push (lb) of people who sway together all over a level."""
    wide_in, deep_in = level.number("width_in"), level.number("depth_in")
    push = occupant_sway_lb(wide_in * deep_in / 144)
    return replace(push, formula="p * b * d / 144", inputs={"p": push.inputs["p"], "b": wide_in, "d": deep_in})


def where_crowds_gather(level: PartView) -> str:
    """What would settle whether a level is held against such a push, for which no code names a figure."""
    return f"where crowds gather on {level.subject}, have an engineer licensed for the place judge its hold sideways"


def _device(tie: PartView) -> TensionDevice:
    condition = tie.text("condition")
    return TensionDevice(
        tie.number("rated_lb"),
        tie.number("from_end_in") if tie.has("from_end_in") else None,
        tie.text("end") if tie.has("end") else None,
        is_sound=condition == "good",
    )


def _accepted(deck: DeckView) -> list[DeviceSet]:
    sets = []
    for option in ("option1", "option2"):
        count, rated = rule_of(deck, f"lateral.{option}_devices"), rule_of(deck, f"lateral.{option}_capacity")
        near = rule_of(deck, "lateral.from_end").value if option == "option1" else None
        sets.append(DeviceSet(int(count.value), rated.value, near, count.citation))
    return sets
