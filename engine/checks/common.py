"""What many checks need of a deck: its loads, the adopted rules, the wood of a part."""

from __future__ import annotations

from functools import lru_cache

from engine import tables
from engine.codes import Edition, Published, edition
from engine.codes.base import questions
from engine.deck import LIVE_LOAD_RULE
from engine.facts import CannotJudge, DeckView, PartView
from engine.loads import Loads
from engine.lumber import Lumber, design_values
from engine.sections import find_size
from engine.water import moisture_reading, residual_section

# Treaters incise the species that take up little preservative; these are treated, or used, without.
NOT_INCISED = ("southern pine", "redwood", "western cedars")


def loads_of(deck: DeckView) -> Loads:
    """The uniform loads of the deck (psf) from its basis."""
    return deck.run.once("loads", lambda: _loads(deck))


def _loads(deck: DeckView) -> Loads:
    basis = deck.basis
    snow_psf = basis.number("ground_snow_psf")
    if snow_psf:
        deck.run.assume(
            f"the ground snow load of {snow_psf:g} psf taken on the deck in full, as the prescriptive tables take it"
        )
    live_psf = basis.number("live_psf")
    for local in deck.run.deck.basis.amendments:
        if local.key == LIVE_LOAD_RULE and live_psf == local.value:
            deck.run.assume(f"live load {live_psf:g} psf by local amendment ({local.citation})")
    return Loads(live=live_psf, dead=basis.number("dead_psf"), snow=snow_psf)


def is_wet(part: PartView, deck: DeckView) -> bool:
    """Whether the wood of a part is wet in service: by the basis, or by the meter reading at this part."""
    return deck.run.once(("wet", part.id), lambda: _is_wet(part, deck))


def _is_wet(part: PartView, deck: DeckView) -> bool:
    if part.has_fact("moisture_percent") and part.has("moisture_percent"):
        reading = moisture_reading(part.number("moisture_percent"))
        if reading.is_wet_service:
            deck.run.assume(f"{part.subject} measured {reading.percent:g} % moist: wet service ({reading.citation})")
            return True
    return deck.basis.flag("is_wet")


def is_incised(part: PartView, deck: DeckView, species: str) -> bool:
    """Whether the treatment cut the surface of the wood; where nobody wrote it down, the custom for the species."""
    if part.has_fact("is_incised") and (part.is_recorded("is_incised") or species not in NOT_INCISED):
        return part.flag("is_incised")
    incised = species not in NOT_INCISED
    custom = "incised" if incised else "not incised"
    deck.run.assume(f"wood of {part.subject}: {species} taken as {custom} (common practice, no published source)")
    return incised


def lumber_of(
    part: PartView, deck: DeckView, *, plies: int = 1, repetitive: bool = False, size: str = "size"
) -> Lumber:
    """The member that a part is made of: species, grade and size, wet or dry, incised or not.

    Soft wood found by a probe is taken off all four faces along the whole member, on the safe side.
    """
    key = ("lumber", part.id, plies, repetitive, size)
    return deck.run.once(key, lambda: _lumber(part, deck, plies, repetitive, size))


_made = lru_cache(maxsize=1024)(Lumber)


def _lumber(part: PartView, deck: DeckView, plies: int, repetitive: bool, size: str) -> Lumber:
    species = part.text("species")
    made = find_size(part.text(size))
    decay_depth_in = part.number("decay_depth_in")
    width_in, depth_in = None, None
    if decay_depth_in:
        left = residual_section(plies * made.width_in, made.depth_in, decay_depth_in)
        width_in, depth_in = left.width_in / plies, left.depth_in
        for words in left.assumptions:
            deck.run.assume(f"{part.subject}: {words}")
        deck.run.assume(
            f"{part.subject}: {left.width_in:g} x {left.depth_in:g} in left behind {decay_depth_in:g} in of soft wood"
        )
    lumber = _made(
        species=species,
        grade=part.text("grade"),
        size=made.name,
        plies=plies,
        wet=is_wet(part, deck),
        incised=is_incised(part, deck, species),
        repetitive=repetitive,
        measured_width_in=width_in,
        measured_depth_in=depth_in,
    )
    values = design_values(lumber)  # raises where the tables have no such wood
    if values.confirmed == "memory":
        deck.run.rests_on_memory(f"design values of {lumber.name} ({values.source})", *values.keys)
    return lumber


def edition_of(deck: DeckView) -> Edition:
    """The adopted edition with the local amendments and the firm's confirmations."""
    return deck.run.once("edition", lambda: _edition(deck))


def _edition(deck: DeckView) -> Edition:
    basis = deck.run.deck.basis
    return edition(deck.basis.text("edition"), basis.amendments, basis.confirmations)


def holds_table(deck: DeckView, question: str) -> bool:
    """Whether a table of the adopted edition that answers `question` is held at all."""
    return (edition_of(deck).name, question) in questions()


def note_source(deck: DeckView, found: Published, what: str) -> Published:
    """List on the check how a published value is known: from memory, taken from a stricter row or another guide."""
    if found.confirmed == "memory":
        deck.run.rests_on_memory(f"{what} ({found.citation})")
    if found.note:
        deck.run.assume(f"{what}: {found.note}")
    return found


CUT_WASHER = "a standard cut washer under each head and nut (NDS 12.1.3.3, Table L6)"


def rests_on_row(deck: DeckView, words: str, table: str, column: str, value: object) -> None:
    """List a row of a table on the check as from memory, unless the firm has confirmed the row or the whole table."""
    keys = [tables.row_key(table, row) for row in tables.load(table).rows if row[column] == value]
    deck.run.rests_on_memory(words, table, *keys)


def rule_of(deck: DeckView, key: str) -> Published:
    """A rule of the adopted edition. Raises NotPublished."""
    return deck.run.once(("rule", key), lambda: _rule(deck, key))


def _rule(deck: DeckView, key: str) -> Published:
    found = edition_of(deck).rule(key)
    if found.confirmed == "memory":
        deck.run.rests_on_memory(f"{key} = {found.value:g} {found.unit} ({found.citation})")
    if not found.in_edition:
        deck.run.assume(f"{key}: {found.note}")
    return found


def table_loads(deck: DeckView) -> tuple[float, float]:
    """Live load and ground snow load (psf) with which to enter a published table.

    Raises CannotJudge where the deck's own dead load is above the 10 psf that is in every table.
    """
    return deck.run.once("table loads", lambda: _table_loads(deck))


def _table_loads(deck: DeckView) -> tuple[float, float]:
    dead_psf = deck.basis.number("dead_psf")
    in_tables_psf = rule_of(deck, "load.deck_dead_assumed").value
    if dead_psf > in_tables_psf:
        raise CannotJudge(
            f"the published tables rest on a dead load of {in_tables_psf:g} psf; this deck weighs {dead_psf:g} psf",
            "judge by the calculation beside this check",
        )
    return deck.basis.number("live_psf"), deck.basis.number("ground_snow_psf")
