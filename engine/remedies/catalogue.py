"""The list of all repairs: which failing checks each answers, and the function that works it out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from importlib import import_module

from engine.deck import Part
from engine.records import dataclass
from engine.remedies.asking import Key
from engine.remedies.bench import Bench
from engine.remedies.model import Draft

_ROOMS = (
    "surface",
    "joist_strength",
    "joist_midspan",
    "joist_ends",
    "joist_overhang",
    "ledger_fasteners",
    "ledger_board",
    "house_line",
    "lateral",
    "beams",
    "beam_ends",
    "beam_seat",
    "plies",
    "posts",
    "footings",
    "guards",
    "guard_posts",
    "stairs",
    "stringers",
    "water",
)

Work = Callable[[Bench, Part, Sequence[Key]], Draft | None]


@dataclass(frozen=True)
class Repair:
    """A kind of repair: `owner` is the kind of part it is drawn up for, `answers` the checks that it is there for.

    With `of`, only checks of parts of that kind: soft wood is a question put to many. `settles` are checks that it
    makes superfluous where they cannot be told and nothing fails.
    """

    kind: str
    owner: str
    answers: tuple[str, ...]
    work: Work
    title: str
    of: str = ""
    settles: tuple[str, ...] = ()


_repairs: list[Repair] = []


def repair(
    *, kind: str, owner: str, answers: Sequence[str], title: str, of: str = "", settles: Sequence[str] = ()
) -> Callable[[Work], Work]:
    """Register a function `(bench, owner, failing keys) -> Draft | None` as a repair.

    It returns None where the repair is of no use here, and raises Needs where a fact is missing; `title` then names it.
    """

    def register(work: Work) -> Work:
        _repairs.append(Repair(kind, owner, tuple(answers), work, title, of, tuple(settles)))
        return work

    return register


@cache
def repairs() -> tuple[Repair, ...]:
    """All repairs, along the load path."""
    for room in _ROOMS:
        import_module(f"engine.remedies.{room}")
    order = {f"engine.remedies.{room}": place for place, room in enumerate(_ROOMS)}
    return tuple(sorted(_repairs, key=lambda each: order.get(each.work.__module__, len(_ROOMS))))
