"""What the walk says beside the verdicts, in words: contradictions, parts that hang loose, what to measure next.

Drawn by the server's pages and by a tablet without signal alike: no Django in here. `where` says for a part's key the
address at which it is recorded.
"""

from collections.abc import Mapping
from typing import Any

from engine import what_would_settle
from engine.settling import Settler
from inspections.drawings.ledger_strip import draw_ledger
from inspections.survey import fit
from inspections.survey.record import PartLike, Record
from inspections.survey.verdicts import Verdicts
from inspections.survey.wording import STOP_OF_KIND

MOST_SETTLERS = 6  # what one keeps in mind between two walks around the deck


def address_of(walk: str, part: PartLike, key_of_ledger: str = "") -> str:
    """The place on the walk at which a part is recorded; `walk` is the address of the walk itself."""
    here = f"{walk}{STOP_OF_KIND[part.kind].slug}/"
    if part.kind == "fastener":
        return f"{here}?fastener={part.key}#fasteners-{key_of_ledger}"
    return f"{here}#part-{part.key}"


def addresses(record: Record, walk: str) -> dict[str, str]:
    """Part key -> where it is recorded, for the drawings."""
    return {part.key: address_of(walk, part, str(record.value(part, "ledger") or "")) for part in record.parts}


def contradictions(verdicts: Verdicts, where: Mapping[str, str]) -> list[tuple[str, str]]:
    """Words, and the address of the part at which each contradiction is put right."""
    return [(one.words, where.get(one.key, "")) for one in verdicts.contradictions]


def misfits(record: Record, where: Mapping[str, str]) -> list[tuple[str, str]]:
    """Words, and the address of the part at which to measure again."""
    return [(one.words, where.get(one.key, "")) for one in fit.misfits(record)]


def loose_parts(record: Record, where: Mapping[str, str]) -> list[tuple[PartLike, str, str]]:
    """Parts that are not judged yet because what they belong to was not said: the part, what to say, where."""
    return [
        (record.by_key[key], f"say which {fact.refers_to.replace('_', ' ')} it belongs to", where[key])
        for key, fact in record.loose.items()
    ]  # fmt: skip


def settlers(record: Record, verdicts: Verdicts, where: Mapping[str, str]) -> list[tuple[Settler, str, str]]:
    """The few facts that would settle most of what is open, each in words and with the place where it is recorded."""
    if verdicts.assessment is None:
        return []
    found = []
    for settler in what_would_settle(verdicts.assessment)[:MOST_SETTLERS]:
        key, _, fact = settler.path.partition(".")
        there = where[key].split("#")[0] + f"#fact-{key}-{fact}" if key in record.by_key else ""
        words = settler.words.replace(" of the basis", ", among the building rules of the property")
        found.append((settler, words, there))
    return found


def strip_of(
    record: Record,
    deck: Mapping[str, Any],
    ledger_key: str,
    standing: Mapping[str, str],
    where: Mapping[str, str],
    chosen: str = "",
) -> str:
    """SVG of one ledger of a deck file with its fasteners; `chosen` is the key of the one that is looked at."""
    board = next(each for each in deck["ledgers"] if each["id"] == ledger_key)
    mine = {part.key for part in record.of_kind("fastener") if record.value(part, "ledger") == ledger_key}
    fasteners = [each for each in deck.get("fasteners", []) if each["id"] in mine]
    hrefs = {key: address for key, address in where.items() if key in mine}
    return draw_ledger(board, fasteners, standing=standing, hrefs=hrefs, chosen=chosen)
