"""What a remedy is: a repair as a schedule that a contractor can build from, and the proof that it is enough."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, field
from typing import Any

from engine.caution import CAUTION
from engine.deck import Deck
from engine.plain import finite
from engine.records import dataclass
from engine.remedies.changes import Change

CONTRACTOR = "contractor"
ENGINEER = "licensed engineer"
OWNER = "owner"

PRACTICE = "common practice, no published source"


@dataclass(frozen=True)
class Line:
    """One line of a repair schedule. `positions_in` are along the member, measured as `along` says.

    `count` is None where the number is not known from the record; `pattern` then says how it is found.
    """

    what: str
    size: str = ""
    count: int | None = None
    pattern: str = ""
    positions_in: tuple[float, ...] = ()
    along: str = ""
    edges: str = ""
    material: str = ""


@dataclass(frozen=True)
class Mark:
    """Where a drawing shows something new: on which part, how far along it (in), in which row."""

    part_id: str
    what: str
    position_in: float | None = None
    row: str = ""


@dataclass(frozen=True)
class Draft:
    """A repair as its room proposes it, before the engine was asked again.

    Where `is_proved` is False the engine cannot judge the change, and `cautions` say why.
    """

    kind: str
    title: str
    change: Change
    schedule: tuple[Line, ...]
    citation: str
    marks: tuple[Mark, ...] = ()
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    who: str = CONTRACTOR
    is_proved: bool = True
    inherits: Mapping[str, str] = field(default_factory=dict)  # new part -> the old part whose faults it has too


@dataclass(frozen=True)
class Answered:
    """A failing check that a remedy is about."""

    check_id: str
    subject: str


@dataclass(frozen=True)
class Remedy:
    """The smallest repair of its kind that makes a failing check hold.

    `check_id` and `subject` name the worst of the checks in `answers`, which failed before; `also_clears` failed too
    and no longer does. `ratio_after` is None where the question no longer arises or has no number. `makes_worse` names
    checks that fail only with this remedy, `opens` those that can then no longer be told. `needs` says what must be
    found out before the repair can be drawn up; then there is no schedule and `deck_after` is the deck as it was.
    `is_proved` tells whether the engine was asked again about the deck with the repair in it and found it to hold.
    """

    id: str
    kind: str
    check_id: str
    subject: str
    title: str
    answers: tuple[Answered, ...]
    schedule: tuple[Line, ...]
    drawing: tuple[Mark, ...]
    change: Change
    deck_after: Deck = field(repr=False)
    ratio_before: float | None
    ratio_after: float | None
    is_proved: bool
    citation: str
    also_clears: tuple[Answered, ...] = ()
    makes_worse: tuple[Answered, ...] = ()
    opens: tuple[Answered, ...] = ()
    assumptions: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    who: str = CONTRACTOR
    cautions: tuple[str, ...] = ()
    caution: str = CAUTION

    def clears(self, check_id: str, subject: str) -> bool:
        """Whether this remedy puts a certain failing check right."""
        return self.is_proved and Answered(check_id, subject) in (*self.answers, *self.also_clears)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for JSON; the deck with the repair is given as the change that leads to it."""
        named = {
            name: getattr(self, name) for name in self.__dataclass_fields__ if name not in ("change", "deck_after")
        }
        found = finite({name: _plain(value) for name, value in named.items()})
        assert isinstance(found, dict)
        return {**found, "change": self.change.to_dict()}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return asdict(value) if isinstance(value, (Line, Mark, Answered)) else value
