"""Local amendments and the firm's own confirmations, from the deck file to the verdict."""

import json

import pytest

from engine import Deck, assess, load_rating
from engine.codes.rules import NOT_READ, RuleLookups
from engine.command_line import main
from engine.deck import Basis
from engine.errors import DeckFaults
from engine.results import Verdict
from engine.tables import load
from tests.engine.deck_files import NAMES, assessed, changed, the

LIVE_60 = {"key": "load.deck_live_min", "value": 60, "unit": "psf", "citation": "Town ordinance 12"}


def amended(key, value, unit, **basis):
    return {"amendments": [{"key": key, "value": value, "unit": unit, "citation": "county rule 5.10"}], **basis}


def confirmed(*keys, **basis):
    return {"confirmations": [{"key": key, "by": "the office", "on": "2026-02-01"} for key in keys], **basis}


def faults_of(**basis):
    with pytest.raises(DeckFaults) as refusal:
        Deck.from_json(changed(basis=basis))
    return {fault.path: fault.accepted for fault in refusal.value.faults}


@pytest.mark.parametrize("recorded", [{}, {"live_psf": 40}, {"live_psf": "unknown"}])
def test_a_deck_is_judged_by_the_live_load_of_its_town(recorded):
    """(60 + 10) / (40 + 10) of the demand in bending: statics."""
    local = assessed(basis={"live_psf": ..., **recorded, "amendments": [LIVE_60]})
    bending = the(local, "joist.bending")
    assert bending.ratio == pytest.approx(the(assessed(), "joist.bending").ratio * 70 / 50)
    assert "live load 60 psf by local amendment (Town ordinance 12)" in bending.assumptions
    assert the(local, "joist.span_table").verdict is Verdict.CANNOT_TELL, "the tables end at 40 psf"


def test_a_recorded_live_load_above_that_of_the_town_stands():
    local = assessed(basis={"live_psf": 100, "amendments": [LIVE_60]})
    assert the(local, "joist.bending").ratio == pytest.approx(the(assessed(), "joist.bending").ratio * 110 / 50)


def test_live_loads_that_are_possible_are_brought_up_to_that_of_the_town():
    deck = Deck.from_json(changed(basis={"live_psf": {"one_of": [40, 100]}, "amendments": [LIVE_60]}))
    assert deck.basis.facts["live_psf"].values == (60, 100)
    assert Deck.from_json(deck.to_mapping()) == deck


def test_a_town_with_another_live_load_changes_no_rating():
    """What a deck may carry is a matter of the deck, not of what it is asked to carry."""
    assert load_rating(assessed(basis={"amendments": [LIVE_60]})).live_psf == pytest.approx(
        load_rating(assessed()).live_psf, rel=1e-3
    )


def test_snow_of_the_place_is_carried_where_it_is_more_than_people():
    """ASCE 7 ASD combination 4: 10 + 0.75 (40 + 70) psf at load duration 1.15 (NDS 2.3.2) over 10 + 40 psf at 1."""
    with_snow = assessed(basis={"ground_snow_psf": 70})
    assert the(with_snow, "joist.bending").ratio == pytest.approx(
        the(assessed(), "joist.bending").ratio * (10 + 0.75 * 110) / 50 / 1.15
    )


def test_a_footing_above_the_frost_line_of_the_place_fails():
    def depth(**basis):
        return assessed(basis=basis, FT1={"depth_in": 36}).by_id("footing.depth")[0]

    assert depth(frost_depth_in=30).verdict is Verdict.HOLDS
    assert depth(frost_depth_in=42).verdict is Verdict.FAILS
    assert depth(**amended("footing.min_depth", 48, "in", frost_depth_in=30)).demand == 48
    assert depth(frost_depth_in=...).verdict is Verdict.CANNOT_TELL


def test_a_least_post_size_of_the_county_is_asked_for_under_any_edition():
    assert not assessed(basis={"edition": "IRC 2021"}).by_id("post.size")
    for check in assessed(basis=amended("post.min_size_dca6", 7.5, "in")).by_id("post.size"):
        assert (check.verdict, check.demand, check.citation) == (Verdict.FAILS, 7.5, "county rule 5.10")


@pytest.mark.parametrize("key", ["beam_spans_irc_2021", "the row"])
def test_a_cell_from_memory_is_said_until_that_very_cell_or_its_table_is_confirmed(key):
    before = the(assessed(), "beam.span_table", "span 1")
    assert before.from_memory
    row = row_of("beam_spans_irc_2021", "plies 3, size 2x10", "joist_span_ft 10, live_psf 40", "Southern Pine")
    key = row if key == "the row" else key
    assert not the(assessed(basis=confirmed(key)), "beam.span_table", "span 1").from_memory
    other = f"beam_spans_irc_2021.{int(row.rpartition('.')[2]) + 1}"
    assert the(assessed(basis=confirmed(other)), "beam.span_table", "span 1").from_memory == before.from_memory


def row_of(table, *words):
    """The key of the one row that `sources` prints with these words."""
    from engine import tables
    from engine.command_line.sources import _row

    (number,) = [
        number
        for number, row in enumerate(tables.load(table).rows, start=1)
        if all(word in _row(row) for word in words)
    ]
    return f"{table}.{number}"


def test_an_edition_that_is_taken_to_print_the_same_numbers_stays_from_memory_until_that_is_confirmed():
    """IRC 2024 is answered from the table of IRC 2021: seeing the 2021 page says nothing about the 2024 page."""
    use = row_of("editions", "edition IRC 2024, question joist_span, ")
    for keys, is_open in (((), True), (["joist_spans_irc_2021"], True), ([use], False)):
        check = the(assessed(basis=confirmed(*keys, edition="IRC 2024")), "joist.span_table")
        assert bool(check.from_memory) is is_open, keys


def test_design_values_from_memory_are_said_until_confirmed():
    timber = {"size": "8x8", "species": "hem-fir"}
    before = assessed(P1=timber).about("P1")
    assert any("design values" in words for check in before for words in check.from_memory)
    after = assessed(P1=timber, basis=confirmed("lumber_timbers")).about("P1")
    assert not any("design values" in words for check in after for words in check.from_memory)


@pytest.mark.parametrize(
    ("change", "path", "says"),
    [
        ({"key": "guard.min_hight"}, "key", "a rule that is a number"),
        ({"key": "fastener.connector_zinc", "unit": "-"}, "key", "a rule that is a number"),
        ({"key": "joist_spans_irc_2021"}, "key", "a rule that is a number"),
        ({"unit": "ft"}, "unit", "in, the unit of guard.min_height"),
        ({"unit": ""}, "unit", "in, the unit of guard.min_height"),
        ({"value": -1}, "value", "from 0 to 100000"),
        ({"key": "load.deck_live_min", "unit": "psf", "value": 5}, "value", "from 10 to 250"),
        ({"citation": ""}, "citation", "text, not empty"),
    ],
)
def test_an_amendment_that_would_have_no_effect_is_refused(change, path, says):
    good = {"key": "guard.min_height", "value": 42, "unit": "in", "citation": "county rule 5.10"}
    assert says in faults_of(amendments=[{**good, **change}])[f"basis.amendments[0].{path}"]


def test_two_amendments_of_one_rule_are_refused():
    assert faults_of(amendments=[LIVE_60, {**LIVE_60, "value": 50}]) == {"basis.amendments": "each key once"}


@pytest.mark.parametrize(
    "key", ["joist_spans_irc_2022", "post_heights.0", "post_heights.999", "../rules", "rules", "rules.3", "guard", "é"]
)
def test_a_confirmation_of_what_is_not_there_is_refused(key):
    accepted = faults_of(**confirmed(key))["basis.confirmations[0].key"]
    assert "a rule, a table or a row" in accepted


def test_a_basis_made_in_python_follows_the_same_rules():
    assert Basis.of("IRC 2021", amendments=[LIVE_60]).facts["live_psf"] == 60
    with pytest.raises(DeckFaults):
        Basis.of("IRC 2021", amendments=[{**LIVE_60, "unit": "kPa"}])


def test_sources_lists_what_is_from_memory_with_its_key_and_what_the_firm_has_confirmed(capsys, tmp_path):
    def listed(*words):
        assert main(["sources", "--json", *words]) == 0
        return {entry["name"]: entry for entry in json.loads(capsys.readouterr().out)}

    file = tmp_path / "deck.json"
    row = row_of("post_heights", "confirmed memory", "size 4x4", "IRC 2021", "tributary_area_sqft 20,", "live_psf 40",
                 "species_group Southern Pine")  # fmt: skip
    file.write_text(json.dumps(changed(basis=confirmed(row, "guard_post.min_size", "joist_spans_irc_2021"))))
    before, after = listed(), listed(str(file))
    assert row in before["post_heights"]["keys"]
    assert row not in after["post_heights"]["keys"]
    assert len(after["post_heights"]["from_memory"]) == len(before["post_heights"]["from_memory"]) - 1
    assert before["joist_spans_irc_2021"]["from_memory"] and not after["joist_spans_irc_2021"]["from_memory"]
    assert after["post_heights"]["confirmed"] == [{"key": row, "by": "the office", "on": "2026-02-01"}]
    assert "guard_post.min_size" in before["rules"]["keys"]
    assert "guard_post.min_size" not in after["rules"]["keys"]
    assert main(["sources", str(file)]) == 0
    assert f"confirmed: {row} by the office on 2026-02-01" in capsys.readouterr().out
    assert main(["sources", str(file), "more"]) == 2


def test_every_key_that_sources_prints_is_one_that_may_be_confirmed():
    from engine import tables
    from engine.codes.keys import can_be_confirmed
    from engine.command_line.sources import _entry

    keys = [key for name in tables.names() for key in _entry(tables.load(name), ())["keys"]]
    assert len(keys) > 300
    assert all(map(can_be_confirmed, keys))
    assess(Deck.from_json(changed(basis=confirmed(*keys))))


def everything_sources_lists(capsys):
    """The keys that `python -m engine sources` prints beside what rests on memory."""
    assert main(["sources", "--json"]) == 0
    return [key for entry in json.loads(capsys.readouterr().out) for key in entry["keys"]]


@pytest.mark.parametrize("name", NAMES)
def test_a_firm_that_has_confirmed_all_that_sources_lists_reads_nothing_more_from_memory(capsys, name):
    washers = {"LD1": {"washer_in": 1.375}} if name == "sound_ledger_deck" else {}
    facts = {**washers, "basis": confirmed(*everything_sources_lists(capsys))}
    assert any(check.from_memory for check in assessed(name, **washers).checks)
    assert {words for check in assessed(name, **facts).checks for words in check.from_memory} == set()


@pytest.mark.parametrize(
    ("check_id", "key"),
    [
        ("joist.house_end", "joist.end_support"),
        ("joist.hanger_table", "hanger_minimums"),
        ("joist.hanger_table", "hanger_minimums.3"),
        ("footing.thickness", "footing.spread"),
        ("post.foot", "post.foot_held"),
        ("stringer.top", "stringer.top_held"),
        ("beam.tip_deflection", "beam.cantilever_counts_twice"),
        ("ledger.washers", "cut_washers.2"),
    ],
)
def test_a_statement_from_memory_is_said_until_the_firm_has_confirmed_it(check_id, key):
    facts = {"LD1": {"washer_in": 1.375}, "B1": {"overhang_left_in": 12}}
    before = assessed(**facts).by_id(check_id)
    assert before and all(check.from_memory for check in before)
    after = assessed(**facts, basis=confirmed(key)).by_id(check_id)
    assert [check.ratio for check in after] == [check.ratio for check in before]
    assert not any(len(check.from_memory) == len(old.from_memory) for check, old in zip(after, before, strict=True))


def test_an_amendment_that_no_check_reads_is_said_to_change_nothing(capsys, tmp_path):
    facts = amended("guard.top_as_handrail_max", 36, "in")
    local = assessed(basis=facts)
    (words,) = local.amendments_not_read
    assert words.startswith("guard.top_as_handrail_max = 36 in (county rule 5.10): no check reads this rule")
    assert local.to_dict()["amendments_not_read"] == [words]
    assert assessed(basis=amended("guard.min_height", 42, "in")).amendments_not_read == ()
    assert assessed(basis={"amendments": [LIVE_60]}).amendments_not_read == ()
    file = tmp_path / "deck.json"
    file.write_text(json.dumps(changed(basis=facts)), "utf-8")
    assert main(["assess", str(file)]) == 0
    assert words in capsys.readouterr().out


def test_of_every_rule_it_is_known_whether_a_check_reads_it(monkeypatch):
    """The fixture decks, and what only stairs with guards, strips, balusters and DCA 6 ask for."""
    read = set()
    look_up = RuleLookups.rule
    monkeypatch.setattr(RuleLookups, "rule", lambda edition, key: read.add(key) or look_up(edition, key))
    for code in ("IRC 2021", "DCA 6-2012"):
        for name in NAMES:
            assessed(name, basis={"edition": code})
        assessed(
            basis={"edition": code},
            G1={
                "stair": "S1", "bottom_gap_in": 3, "baluster_size": "2x2", "baluster_length_in": 30,
                "baluster_spacing_in": 5,
            },
            J1={"house_end": "ledger strip", "strip_width_in": 1.5, "house_nails": 3, "notch_depth_in": 1},
            S1={"stringer": "solid", "headroom_in": 80, "tread_size": "2x6"},
        )  # fmt: skip
        assessed(basis={"edition": code}, J1={"house_end": "joist hanger", "hanger_depth_in": 6})
    numbers = {str(row["key"]) for row in load("rules").rows if isinstance(row["value"], (int, float))}
    assert read & NOT_READ == set()
    assert numbers - read - NOT_READ - {"load.deck_live_min"} == set()
    assert numbers >= NOT_READ
