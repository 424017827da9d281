"""How much of what the demo's reports say is said in Spanish: every sentence of ours, as its page asks for it."""

import json
import re
from functools import cache
from itertools import cycle

import pytest

from engine import Deck, assess
from inspections.demo.decks import DECKS
from inspections.demo.story import HARBOR, HILLS, SHORE
from inspections.findings.remedies import remedies_of_deck
from inspections.reports.digest import Digest
from inspections.reports.snapshot import witnesses
from inspections.spanish import in_spanish

LEAST = 0.97  # a new check may come before its words; it then stands in English, marked as such
BASIS = ("edition", "ground_snow_psf", "frost_depth_in", "soil_psf", "is_near_salt_water")


def digest_of(name, county):
    """The digest of a demo deck as it would stand in a county, without what its inspector wrote."""
    basis = {"live_psf": 40, **{key: county[key] for key in BASIS if key in county}}
    deck = Deck.from_json(json.dumps({"format": "soundings deck 1", "basis": basis, **DECKS[name]()}))
    nothing = dict.fromkeys(("firm", "client", "property", "basis", "visit", "inspector", "cautions", "tables"))
    file = deck.to_mapping()
    return Digest(
        {
            **nothing, "parts": [], "findings": [], "photos": [], "deck": file, "assessment": assess(deck).to_dict(),
            "witnesses": witnesses(), "remedies": remedies_of_deck(file),
        }
    )  # fmt: skip


def sentences(digest):
    for check in digest.checks:
        yield from (check.title, check.subject, check.standing, check.words, check.method_words, check.numbers)
        yield from (
            check.governs,
            check.reason,
            check.why_apart,
            *check.settles,
            *check.assumptions,
            *check.from_memory,
        )
    for standing in digest.standings:
        yield from (standing.name, standing.words)
    for point in digest.open_points:
        yield from (point.what, point.where, point.why, *point.settles)
    yield from (group.where for group in [*digest.uncovered_groups, *digest.disputed_groups])
    yield from digest.assumptions
    for group in digest.repair_groups:
        yield group.about
        for option in group.options:
            yield from (option.title, option.who, option.proof, *option.cautions, *option.assumptions)
            for line in option.lines:
                yield from (line.what, line.size, line.count, line.pattern)


@cache
def all_sentences():
    digests = (digest_of(name, county) for name, county in zip(DECKS, cycle((HARBOR, HILLS, SHORE)), strict=False))
    found = {words for digest in digests for words in sentences(digest)}
    return {words for words in found if words and any(sign.isalpha() for sign in words)}


def test_nearly_every_sentence_of_the_demos_reports_is_known():
    found = all_sentences()
    unknown = sorted(words for words in found if in_spanish(words) is None)
    share = 1 - len(unknown) / len(found)
    print(f"{len(found) - len(unknown)} of {len(found)} sentences, {share:.1%}")
    assert len(found) > 2000 and share >= LEAST, unknown


def test_no_number_is_lost_or_changed_on_the_way():
    changed = {}
    for english in all_sentences():
        spanish = in_spanish(english)
        if spanish and sorted(re.findall(r"\d+", english)) != sorted(re.findall(r"\d+", spanish)):
            changed[english] = spanish
    assert changed == {}


def test_no_sentence_is_left_half_in_english():
    """Names that people gave stand in brackets, and sources after them; both stay as they are."""
    halves = {}
    for english in all_sentences():
        spanish = re.sub(r"\([^()]*\)", "", in_spanish(english) or "")
        if re.search(r"\b(the|of|and|with|from|each|below|above)\b", spanish):
            halves[english] = spanish
    assert halves == {}


@pytest.mark.parametrize(
    ("english", "expected"),
    [
        (
            "decay depth of joist field J2 (under the tub) not recorded: 0 in taken (no soft wood was recorded)",
            "profundidad de la pudrición de viguetas J2 (under the tub) no registrado: se tomó 0 in"
            " (no se registró madera blanda)",
        ),
        (
            "Replace 3 fasteners by half-inch lag screws in ledger LD1",
            "Cambiar 3 sujetadores por tirafondos de media pulgada en larguero LD1",
        ),
        ("fasteners F1 to F5, F9 of ledger LD1", "sujetadores F1 a F5, F9 del larguero LD1"),
        ("2x12, cut, hem-fir, No. 2 or better", "2x12, cortada, hem-fir, No. 2 o mejor"),
    ],
)
def test_assumptions_and_lines_of_a_schedule_are_said_whole(english, expected):
    assert in_spanish(english) == expected
