import contextlib
import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import Basis, Deck
from engine.deck import UNKNOWN, OneOf
from engine.errors import DeckFaults
from engine.vocabulary import BASIS_FACTS, BY_NAME, KINDS
from tests.engine.deck_files import NAMES, changed, deck_file


def faults_of(source):
    with pytest.raises(DeckFaults) as refusal:
        Deck.from_json(source)
    lines = [str(fault) for fault in refusal.value.faults]
    assert all("\n" not in line for line in lines)
    return {fault.path: fault for fault in refusal.value.faults}


@pytest.mark.parametrize("name", NAMES)
def test_a_deck_survives_writing_and_reading(name):
    deck = Deck.from_json(deck_file(name))
    assert Deck.from_json(deck.to_json()) == deck
    assert Deck.from_json(deck.to_json().encode()) == deck
    assert Deck.from_json(deck.to_mapping()) == deck


def test_every_fixture_deck_keeps_each_fact_it_was_given():
    file = deck_file("deck_of_unknown_species")
    deck = Deck.from_json(file)
    assert deck.by_id["J1"].facts["species"] is UNKNOWN
    assert deck.basis.facts["edition"] == OneOf(("IRC 2018", "IRC 2021"))
    assert deck.to_mapping()["joist_fields"] == file["joist_fields"]


@pytest.mark.parametrize(
    ("owner", "fact", "value", "path", "says"),
    [
        ("J1", "spacing_in", "16", "joist_fields[0].spacing_in", "a number from 4 to 48 in"),
        ("J1", "spacing_in", True, "joist_fields[0].spacing_in", "a number from 4 to 48 in"),
        ("J1", "spacing_in", None, "joist_fields[0].spacing_in", "a number from 4 to 48 in"),
        ("J1", "spacing_in", [16], "joist_fields[0].spacing_in", "a number from 4 to 48 in"),
        ("J1", "span_in", 4800, "joist_fields[0].span_in", "from 12 to 480 in"),
        ("J1", "span_in", -1, "joist_fields[0].span_in", "from 12 to 480 in"),
        ("J1", "span_in", 0, "joist_fields[0].span_in", "from 12 to 480 in"),
        ("J1", "span_in", float("nan"), "joist_fields[0].span_in", "from 12 to 480 in"),
        ("J1", "span_in", float("inf"), "joist_fields[0].span_in", "from 12 to 480 in"),
        ("J1", "span_in", 10**400, "joist_fields[0].span_in", "from 12 to 480 in"),
        ("J1", "count", 3.5, "joist_fields[0].count", "a whole number from 1 to 400"),
        ("J1", "count", 0, "joist_fields[0].count", "a whole number from 1 to 400"),
        ("J1", "species", "Southern Pine", "joist_fields[0].species", "did you mean southern pine?"),
        ("J1", "species", "balsa", "joist_fields[0].species", "one of southern pine, douglas fir-larch"),
        ("J1", "size", "2x11", "joist_fields[0].size", "2x6, 2x8, 2x10, 2x12"),
        ("J1", "is_incised", "yes", "joist_fields[0].is_incised", "true or false"),
        ("J1", "is_incised", 1, "joist_fields[0].is_incised", "true or false"),
        ("J1", "grade", {"one_of": []}, "joist_fields[0].grade", "one_of"),
        ("J1", "grade", {"any_of": ["No. 1"]}, "joist_fields[0].grade", "one_of"),
        ("J1", "grade", {"one_of": ["No. 1", "No. 9"]}, "joist_fields[0].grade.one_of[1]", "one of Select Structural"),
        ("J1", "spacin_in", 16, "joist_fields[0].spacin_in", "did you mean spacing_in?"),
        ("J1", "ledger", "LD9", "joist_fields[0].ledger", "the id of a ledger (LD1)"),
        ("J1", "ledger", "B1", "joist_fields[0].ledger", "not of a beam"),
        ("J1", "ledger", "unknown", "joist_fields[0].ledger", "the id of a ledger"),
        ("P2", "beam", "B9", "posts[1].beam", "the id of a beam (B1)"),
        ("P2", "position_in", 400, "posts[1].position_in", "from 0 to 168 in, the length of beam B1"),
        ("F3", "position_in", 200, "fasteners[2].position_in", "from 0 to 168 in, the length of ledger LD1"),
        ("F3", "position_in", -1, "fasteners[2].position_in", "from 0 to 1200 in"),
        ("B1", "plies", ..., "beams[0].plies", "needed: a whole number from 1 to 4"),
        ("B1", "spans_in", [], "beams[0].spans_in", "a list of 1 to 60 numbers"),
        ("B1", "spans_in", [72, "72"], "beams[0].spans_in", "each from 6 to 480 in"),
        ("B1", "spans_in", 72, "beams[0].spans_in", "a list"),
        ("F2", "id", "F1", "fasteners[1].id", "fasteners[0] has this one"),
        ("F2", "id", "basis", "fasteners[1].id", "letters, digits"),
        ("F2", "id", "a b", "fasteners[1].id", "letters, digits"),
        ("F2", "id", 7, "fasteners[1].id", "letters, digits"),
        ("G1", "name", "a\nb", "guards[0].name", "plain text on one line"),
        ("basis", "edition", "IRC 1999", "basis.edition", "IRC 2015, IRC 2018"),
        ("basis", "edition", ..., "basis.edition", "needed: one of IRC 2015"),
        ("basis", "live_psf", 5, "basis.live_psf", "from 10 to 250 psf"),
        ("basis", "amendments", [{"key": "guard.min_height"}], "basis.amendments[0].value", "a finite number"),
        ("basis", "amendments", {}, "basis.amendments", "a list of objects"),
        ("basis", "confirmations", [{"key": "", "by": "a", "on": "b"}], "basis.confirmations[0].key", "not empty"),
    ],
)
def test_a_fault_names_its_path_and_what_is_accepted(owner, fact, value, path, says):
    fault = faults_of(changed(**{owner: {fact: value}}))[path]
    assert says in fault.accepted


def test_all_faults_are_told_at_once():
    file = changed(J1={"spacing_in": "16", "size": "2x11"}, P1={"beam": "B7"}, basis={"live_psf": 0})
    # References are looked at once the parts by themselves are good: a missing part may be one that could not be read.
    assert set(faults_of(file)) == {"joist_fields[0].spacing_in", "joist_fields[0].size", "basis.live_psf"}
    file = changed(P1={"beam": "B7"}, F1={"ledger": "L1"})
    assert set(faults_of(file)) == {"posts[0].beam", "fasteners[0].ledger"}


@pytest.mark.parametrize(
    "source",
    [
        "", "nonsense", "[]", "null", "7", '"text"', "{", '{"format": "soundings deck 1"', b"\xff\xfe", b"", 7, None,
        [], "[" * 100_000, '{"a":' * 100_000, '{"format": 1' + "0" * 5000 + "}", '{"format": NaN}', "\ud800",
        "{}",
        '{"format": "soundings deck 1", "format": "soundings deck 1"}', '{"format": "soundings deck 2", "basis": {}}',
    ],
)  # fmt: skip
def test_what_is_no_deck_file_is_refused_and_nothing_else_is_raised(source):
    assert faults_of(source)


@pytest.mark.parametrize("value", [{}, [], 7, "x" * 10_000, "\ud800", {"one_of": 7}, {1: 2}, [[]], float("-inf"), None])
def test_no_value_anywhere_ends_in_anything_but_a_deck_or_faults(value):
    for owner in ("format", "name", "basis", "levels", "beams", "beam"):
        file = deck_file()
        file[owner] = value
        try:
            Deck.from_json(file)
        except DeckFaults as refusal:
            for fault in refusal.faults:
                assert len(str(fault)) < 1500
    for kind in KINDS:
        for fact in ("id", "name", *kind.index):
            file = {
                "format": "soundings deck 1",
                "basis": {"edition": "IRC 2021"},
                kind.plural: [{"id": "A", fact: value}],
            }
            try:
                Deck.from_json(file)
            except DeckFaults as refusal:
                str(refusal).encode("utf-8")


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
        max_leaves=12,
    ),
    st.sampled_from(["levels", "beams", "basis", "ledgers", "patches"]),
)
def test_any_json_in_place_of_a_list_is_a_deck_or_faults(value, key):
    file = deck_file()
    file[key] = value
    with contextlib.suppress(DeckFaults):
        Deck.from_json(json.dumps(file))


def test_a_file_of_too_many_parts_is_refused_before_it_is_read():
    file = deck_file()
    file["fasteners"] = [{"id": f"X{n}", "ledger": "LD1", "position_in": 1} for n in range(6000)]
    assert "at most 2000 parts" in faults_of(file)["fasteners"].accepted
    assert "characters" in str(faults_of(" " * 9_000_000)["deck"])


def test_a_book_of_faults_is_cut_short():
    file = deck_file()
    file["fasteners"] = [{"id": f"X{n}", "ledger": "LD1", "position_in": "one"} for n in range(1500)]
    assert len(faults_of(file)) <= 200


def test_whole_numbers_may_come_as_floats_from_a_browser():
    assert Deck.from_json(changed(J1={"count": 12.0})).by_id["J1"].facts["count"] == 12


def test_one_of_the_same_value_twice_is_one_value():
    deck = Deck.from_json(changed(J1={"grade": {"one_of": ["No. 1", "No. 1"]}}))
    assert deck.by_id["J1"].facts["grade"] == OneOf(("No. 1",))


def test_a_basis_in_python_is_checked_like_one_in_a_file():
    assert Basis.of("IRC 2021", live_psf=60).facts == {"edition": "IRC 2021", "live_psf": 60.0}
    with pytest.raises(DeckFaults, match=r"basis\.live_psf"):
        Basis.of("IRC 2021", live_psf=-60)


def test_amendments_and_confirmations_survive_writing_and_reading():
    file = changed(
        basis={
            "amendments": [{"key": "load.deck_live_min", "value": 60, "unit": "psf", "citation": "county 5.10"}],
            "confirmations": [{"key": "joist_spans_irc_2021", "by": "the office", "on": "2024-02-01"}],
        }
    )
    deck = Deck.from_json(file)
    assert deck.basis.amendments[0].value == 60
    assert Deck.from_json(deck.to_json()) == deck


def test_references_cannot_run_in_a_circle():
    """Each kind refers only to kinds that do not lead back to it, so no deck can hold a cycle."""

    def leads_to(kind, seen):
        assert kind not in seen, "the vocabulary lets parts refer in a circle"
        for name in BY_NAME[kind].references:
            leads_to(BY_NAME[kind].index[name].refers_to, (*seen, kind))

    for kind in KINDS:
        leads_to(kind.name, ())


def test_the_vocabulary_hangs_together():
    for facts in [BASIS_FACTS, *(kind.facts for kind in KINDS)]:
        assert len({fact.name for fact in facts}) == len(facts)
        for fact in facts:
            if fact.kind == "choice":
                assert fact.choices
                assert set(fact.candidates) <= set(fact.choices)
                assert fact.default is None or fact.default in fact.choices
            if fact.kind in ("length", "number", "count", "lengths"):
                assert fact.low < fact.high
                assert fact.default is None or fact.low <= fact.default <= fact.high
            assert fact.default is None or fact.default_why


def test_asking_what_if_leaves_the_deck_as_it_was():
    deck = Deck.from_json(deck_file())
    before = copy.deepcopy(deck.to_mapping())
    other = deck.with_fact("J1.span_in", 150.0).with_fact("basis.live_psf", 60.0)
    assert deck.to_mapping() == before
    assert other.by_id["J1"].facts["span_in"] == 150
    assert other.basis.facts["live_psf"] == 60
    with pytest.raises(KeyError):
        deck.with_fact("J9.span_in", 150.0)
    with pytest.raises(KeyError):
        deck.with_fact("J1.spam_in", 150.0)
