"""The commands about a whole deck, the deck file's format, and the engine's sources."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from typing import Any

from engine.deck import Deck
from engine.errors import DeckFaults, Fault
from engine.plain import finite

_TAKES = {
    "assess": ["DECK.json"],
    "rating": ["DECK.json"],
    "reserve": ["DECK.json", "path of a fact"],
    "remedies": ["DECK.json"],
    "sources": ["DECK.json"],
}


def run(command: str, words: list[str]) -> int:
    """Run one of assess, rating, reserve, remedies, schema, sources. Raises DeckFaults for words it cannot use."""
    if "--help" in words or "-h" in words:
        from engine.command_line import main

        return main(["--help"])
    wants_json = "--json" in words
    rest = [word for word in words if word != "--json"]
    takes = _TAKES.get(command, [])
    is_short = len(rest) < len(takes) and command != "sources"  # which may be asked without a deck
    if is_short or len(rest) > len(takes) or any(word.startswith("--") for word in rest):
        accepted = " ".join([command, *takes, "[--json]"])
        raise DeckFaults([Fault("arguments", " ".join(rest), accepted)])
    if command == "schema":
        from engine.schema import deck_schema

        print(json.dumps(deck_schema(), indent=2))
        return 0
    if command == "sources":
        from engine.command_line.sources import sources

        return sources(wants_json, Deck.from_json(_read(rest[0])).basis.confirmations if rest else ())
    deck = Deck.from_json(_read(rest[0]))
    if command == "assess":
        return _assess(deck, wants_json)
    if command == "remedies":
        from engine.command_line.remedies import remedies

        return remedies(deck, wants_json)
    return _rating(deck, wants_json) if command == "rating" else _reserve(deck, rest[1], wants_json)


def _read(name: str) -> bytes:
    try:
        if name == "-":
            return sys.stdin.buffer.read()
        with open(name, "rb") as file:
            return file.read()
    except OSError as error:
        raise DeckFaults([Fault("file", name, f"a file that can be read ({error.strerror})")]) from error


def _assess(deck: Deck, wants_json: bool) -> int:
    from engine.assessment import assess
    from engine.settling import what_would_settle

    assessment = assess(deck)
    settlers = what_would_settle(assessment)
    if wants_json:
        print(json.dumps({**assessment.to_dict(), "would_settle": [asdict(each) for each in settlers]}, indent=1))
        return 0
    from engine.command_line.listing import assessment_lines

    print("\n".join(assessment_lines(assessment, settlers)))
    return 0


def _rating(deck: Deck, wants_json: bool) -> int:
    from engine.assessment import assess
    from engine.rating import load_rating

    rating = load_rating(assess(deck))
    if wants_json:
        print(json.dumps(finite(asdict(rating)), indent=1))
        return 0
    if rating.sets is None:
        print("No part could be rated.")
    else:
        print(f"{rating.live_psf:.1f} psf live load, set by {rating.sets.check_id} of {rating.sets.subject}")
    for part in rating.by_part:
        print(f"  {part.live_psf:8.1f} psf  {part.subject} ({part.check_id})")
    for guard in rating.guards:
        print(f"  {guard.push_lb:8.1f} lb   push at the top of {guard.subject} ({guard.check_id})")
    for words in rating.open_checks:
        print(f"  not judged: {words}")
    for words in (*rating.assumptions, rating.caution):
        print(words)
    return 0


def _reserve(deck: Deck, path: str, wants_json: bool) -> int:
    from engine.assessment import assess
    from engine.settling import reserve

    try:
        found = reserve(assess(deck), path)
    except KeyError as error:
        raise DeckFaults([Fault("path", path, "a recorded number, such as J1.span_in or basis.live_psf")]) from error
    if wants_json:
        print(json.dumps(finite([asdict(each) for each in found]), indent=1))
        return 0
    for each in found:
        ends: list[Any] = []
        if each.down_to is not None:
            ends.append(f"below {each.down_to:g}")
        if each.up_to is not None:
            ends.append(f"above {each.up_to:g}")
        print(f"{path} = {each.value:g}: {each.subject}, {each.check_id} {each.verdict}; changes {', '.join(ends)}")
    return 0
