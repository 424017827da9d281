"""Tension devices that tie the deck to the house floor: the fewest that make up an accepted set."""

from __future__ import annotations

from collections.abc import Sequence

from engine.deck import Part, Value
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.catalogue import repair
from engine.remedies.changes import Change, NewPart, new_id
from engine.remedies.model import Draft, Line, Mark
from engine.remedies.sizes import inches, several

ENDS = ("left", "right")


@repair(kind="ties-two", owner="level", answers=("lateral.devices",), title="A tension device near each end")
def near_the_ends(bench: Bench, level: Part, keys: Sequence[Key]) -> Draft | None:
    """Devices of the two-device set, near the ends; what is there and strong enough is counted."""
    rated_lb = bench.rule("lateral.option1_capacity").value
    from_end_in = bench.rule("lateral.from_end").value
    for ends in (("left",), ("right",), ENDS):
        change = _added(bench, level, rated_lb, [(end, from_end_in / 2) for end in ends])
        if bench.clears(change, keys):
            line = Line(
                "hold-down tension device",
                f"allowable tension at least {rated_lb:g} lb",
                len(ends),
                "at the " + " and the ".join(f"{end} end" for end in ends) + f", within {inches(from_end_in)} of it,"
                " from a"
                " deck joist to a floor joist of the house",
                tuple(from_end_in / 2 for _ in ends),
                "from the named end of the ledger",
                material="G185 galvanized or stainless",
            )
            return _draft(bench, level, "ties-two", change, line, len(ends))
    return None


@repair(kind="ties-four", owner="level", answers=("lateral.devices",), title="Smaller tension devices along the ledger")
def along_the_ledger(bench: Bench, level: Part, keys: Sequence[Key]) -> Draft | None:
    """Devices of the four-device set, spread along the ledger."""
    rated_lb, most = bench.rule("lateral.option2_capacity").value, int(bench.rule("lateral.option2_devices").value)
    ledgers = bench.of_level(level.id, "ledger")
    length_in = bench.number(ledgers[0].id, "length_in") if ledgers else bench.number(level.id, "width_in")
    for count in range(1, most + 1):
        places_in = [length_in * (number + 0.5) / count for number in range(count)]
        nearer = [("left", x) if x <= length_in / 2 else ("right", length_in - x) for x in places_in]
        change = _added(bench, level, rated_lb, nearer)
        if bench.clears(change, keys):
            line = Line(
                "tension tie",
                f"allowable tension at least {rated_lb:g} lb",
                count,
                "evenly along the ledger, clear of those that are there, from a deck joist to the house framing",
                tuple(places_in),
                "from the left end of the ledger, facing the house",
                material="G185 galvanized or stainless",
            )
            return _draft(bench, level, "ties-four", change, line, count)
    return None


def _added(bench: Bench, level: Part, rated_lb: float, places: Sequence[tuple[str, float]]) -> Change:
    added: list[NewPart] = []
    for end, from_end_in in places:
        tie_id = new_id(bench.deck, f"{level.id}T", *(each.id for each in added))
        facts: dict[str, Value] = {
            "level": level.id,
            "rated_lb": rated_lb,
            "from_end_in": from_end_in,
            "end": end,
            "condition": "good",
        }
        added.append(NewPart("lateral_tie", tie_id, facts))
    return Change(added=tuple(added))


def _draft(bench: Bench, level: Part, kind: str, change: Change, line: Line, count: int) -> Draft:
    return Draft(
        kind,
        f"Tie {level.subject} to the house floor with {several(count, 'more tension device')}",
        change,
        (line,),
        bench.rule("lateral.option1_devices").citation,
        tuple(Mark(new.id, "new tie") for new in change.added),
        (),
        (
            "the figure of the rule is one accepted way; another design may serve",
            "the rating counts only with the maker's fasteners in solid house framing",
        ),
    )
