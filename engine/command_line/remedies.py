"""`python -m engine remedies`: what to do about each failing check of a deck, as text or JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator

from engine.deck import Deck
from engine.remedies import Line, Remedy, remedies_for


def remedies(deck: Deck, wants_json: bool) -> int:
    """Print the remedies of a deck; the exit code."""
    found = remedies_for(deck)
    if wants_json:
        print(json.dumps([remedy.to_dict() for remedy in found], indent=1))
        return 0
    if not found:
        print("Nothing fails that a repair would answer.")
    for remedy in found:
        print("\n".join(_lines(remedy)))
        print()
    if found:
        print(found[0].caution)
    return 0


def _lines(remedy: Remedy) -> Iterator[str]:
    yield f"{remedy.title}  ({remedy.id}; work for: {remedy.who})"
    answers = ", ".join(dict.fromkeys(f"{each.check_id} of {each.subject}" for each in remedy.answers))
    yield f"    for: {answers}"
    if remedy.ratio_before is not None:
        after = "no longer asked" if remedy.ratio_after is None else f"{remedy.ratio_after:.0%}"
        yield f"    {remedy.check_id}: {remedy.ratio_before:.0%} before" + (
            f", {after} after" if remedy.is_proved else ""
        )
    if not remedy.is_proved:
        yield "    not proved: the deck was not judged again with this in it"
    for line in remedy.schedule:
        yield f"    - {_line(line)}"
    for words in remedy.needs:
        yield f"    needed first: {words}"
    if remedy.also_clears:
        yield "    also clears: " + ", ".join(f"{each.check_id} of {each.subject}" for each in remedy.also_clears)
    for words in remedy.assumptions:
        yield f"    taken: {words}"
    for words in remedy.cautions:
        yield f"    take care: {words}"
    yield f"    by: {remedy.citation}"


def _line(line: Line) -> str:
    count = "" if line.count is None else f"{line.count} x "
    words = [f"{count}{line.what}", line.size, line.pattern]
    if line.positions_in:
        words.append("at " + ", ".join(f"{place:g}" for place in line.positions_in) + f" in {line.along}")
    words += [line.edges, line.material]
    return "; ".join(word for word in words if word)
