"""Which fasteners of a ledger work, where they stand, and what each carries."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property, lru_cache

from engine.checks.common import loads_of
from engine.checks.load_path import ledger_joist_span_in
from engine.comparison import Comparison
from engine.errors import OutOfRange
from engine.facts import CannotJudge, DeckView, PartView
from engine.ledgers import FastenerLoad, counts_as_attachment, ledger_fastener_loads
from engine.loads import Combination, Loads
from engine.records import dataclass
from engine.results import Step


@dataclass(frozen=True)
class LedgerState:
    """The fasteners of one ledger in the order of the file: id, place, whether each works, what it carries."""

    ids: tuple[str, ...]
    positions_in: tuple[float, ...]
    sound: tuple[bool, ...]
    loads: tuple[FastenerLoad, ...]
    strength_loads: tuple[FastenerLoad, ...]

    def load_on(self, fastener: PartView) -> FastenerLoad:
        """What one fastener carries under the largest sum of loads: against a rating that knows no load duration."""
        return self.loads[self._place[fastener.id]]

    def strength_load_on(self, fastener: PartView) -> FastenerLoad:
        """What one fastener carries under the sum that governs strength, `Loads.strength` with its load duration."""
        return self.strength_loads[self._place[fastener.id]]

    @cached_property
    def _place(self) -> dict[str, int]:
        return {each: place for place, each in enumerate(self.ids)}

    def working(self, ledger: PartView) -> list[PartView]:
        """The fasteners that count."""
        return [ledger.whole.part(each) for each, works in zip(self.ids, self.sound, strict=True) if works]

    @property
    def working_positions_in(self) -> list[float]:
        return [position for position, works in zip(self.positions_in, self.sound, strict=True) if works]

    def with_steps(self, found: Comparison, *steps: Step) -> Comparison:
        """A comparison with steps put before its own."""
        return replace(found, steps=(*steps, *found.steps))


def ledger_state(ledger: PartView, deck: DeckView) -> LedgerState:
    """The state of a ledger's fasteners.

    Raises CannotJudge where none is recorded, or none is left that counts.
    """
    return deck.run.once(("ledger state", ledger.id), lambda: _state(ledger, deck))


def _state(ledger: PartView, deck: DeckView) -> LedgerState:
    fasteners = ledger.parts("fastener")
    if not fasteners:
        raise CannotJudge(
            f"no fastener of {ledger.subject} is recorded",
            f"measure where the fasteners of {ledger.subject} stand, and what they are",
        )
    sound = tuple(_counts(fastener) for fastener in fasteners)
    positions_in = tuple(fastener.number("position_in") for fastener in fasteners)
    if not any(sound):
        raise CannotJudge(
            f"none of the {len(fasteners)} fasteners recorded in {ledger.subject} counts as a ledger fastener",
            "fasten the ledger by a rule of the edition, or have an engineer licensed for the place judge it",
        )
    length_in = ledger.number("length_in")
    if max(positions_in) > length_in:  # the reader allows for half an inch of tape
        positions_in = tuple(min(position, length_in) for position in positions_in)
    span_in, loads = ledger_joist_span_in(ledger), loads_of(deck)
    largest, strength = (
        _loads(positions_in, length_in, span_in, loads, sound, each) for each in (loads.largest, loads.strength)
    )
    return LedgerState(tuple(fastener.id for fastener in fasteners), positions_in, sound, largest, strength)


def _counts(fastener: PartView) -> bool:
    condition = fastener.text("condition")
    if condition in ("missing", "loose", "not seen"):  # whatever kind it was
        return False
    return counts_as_attachment(fastener.text("fastener"), condition)[0]


@lru_cache(maxsize=512)
def _loads(
    positions_in: tuple[float, ...],
    length_in: float,
    joist_span_in: float,
    loads: Loads,
    sound: tuple[bool, ...],
    combination: Combination,
) -> tuple[FastenerLoad, ...]:
    try:
        return ledger_fastener_loads(
            positions_in, length_in, joist_span_in, loads, sound=sound, combination=combination
        )
    except OutOfRange as error:
        raise CannotJudge(str(error), "measure the places of the fasteners again") from error
