from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import tables
from engine.codes import edition, editions
from engine.errors import NotPublished, OutOfRange


@dataclass(frozen=True)
class Amendment:
    key: str
    value: float
    unit: str
    citation: str


@dataclass(frozen=True)
class Confirmation:
    key: str


IRC_2021 = edition("IRC 2021")
DCA_6 = edition("DCA 6")


def test_an_edition_answers_with_value_citation_and_how_it_is_known() -> None:
    found = DCA_6.joist_span("Southern Pine", "2x10", 16)
    assert (found.value, found.unit, found.citation, found.confirmed) == (168, "in", "AWC DCA 6-2012 Table 2", "two")
    assert not found.note


@pytest.mark.parametrize("name", ["IRC 2021", "irc2021", "IRC-2021"])
def test_the_name_of_an_edition_may_be_spelt_freely(name: str) -> None:
    assert edition(name).name == "IRC 2021"


def test_an_edition_that_is_not_held_is_refused_with_those_that_are() -> None:
    with pytest.raises(OutOfRange, match="IRC 2024"):
        edition("IRC 1999")


def test_between_two_rows_the_stricter_one_answers_and_says_so() -> None:
    between = IRC_2021.joist_span("hem-fir", "2x8", 18)
    assert between.value == IRC_2021.joist_span("hem-fir", "2x8", 24).value
    assert "24 in spacing" in between.note
    lag = IRC_2021.ledger_spacing("lag screw", "2x lumber", 11 * 12)
    assert lag.value == 15  # the row for 12 ft
    assert "12 ft" in lag.note


@pytest.mark.parametrize(
    "ask",
    [
        lambda: IRC_2021.joist_span("hem-fir", "2x8", 25),
        lambda: IRC_2021.joist_span("hem-fir", "2x8", 16, snow=71),
        lambda: IRC_2021.joist_span("hem-fir", "2x8", 16, live=60),
        lambda: DCA_6.joist_span("hem-fir", "2x8", 16, snow=50),
        lambda: IRC_2021.ledger_spacing("bolt", "2x lumber", 18 * 12 + 1),
        lambda: IRC_2021.ledger_spacing("bolt", "2x lumber", 120, 40, 1.1),
        lambda: IRC_2021.ledger_spacing("bolt", "2x lumber", 120, 60, load_kind="live"),
        lambda: IRC_2021.beam_span("southern pine", "2x10", 2, 19 * 12),
        lambda: IRC_2021.joist_span_factor(120, 40),
        lambda: IRC_2021.post_height("southern pine", "4x4", 161),
        lambda: edition("IRC 2018").footing(100, 1400),
        lambda: DCA_6.footing(soil_psf=1000, beam_span_in=100, joist_span_in=100),
        lambda: DCA_6.post_height("redwood", "6x6", beam_span_in=217, joist_span_in=100),
        lambda: IRC_2021.joist_span("hem-fir", "2x8", float("nan")),
    ],
)
def test_past_the_end_of_a_table_there_is_no_number(ask) -> None:
    with pytest.raises(OutOfRange) as refusal:
        ask()
    assert refusal.value.accepted


@pytest.mark.parametrize(
    "ask",
    [
        lambda: IRC_2021.joist_span("hem-fir (north)", "2x8", 16),
        lambda: IRC_2021.joist_span("hem-fir", "2x4", 16),
        lambda: IRC_2021.joist_span("hem-fir", "2x8", 16, grade="No. 3"),
        lambda: IRC_2021.joist_overhang("hem-fir", "2x8", 16),
        lambda: IRC_2021.beam_span("redwood", "2x10", 2, 120),
        lambda: IRC_2021.post_height("hem-fir", "4x4", 100),
        lambda: IRC_2021.footing(100),
        lambda: edition("IRC 2018").joist_overhang("hem-fir", "2x8", 16),
        lambda: edition("IRC 2015").ledger_spacing("lag", "stone", 120),
        lambda: IRC_2021.ledger_spacing("nail", "2x lumber", 120),
        lambda: DCA_6.post_height("redwood", "4x4", beam_span_in=100, joist_span_in=100),
        lambda: DCA_6.post_height("redwood", "6x6"),
        lambda: DCA_6.decking_spacing("5/4"),
        lambda: IRC_2021.rule("no.such.rule"),
        lambda: IRC_2021.rule("fastener.zinc_standard"),
    ],
)
def test_a_case_that_the_edition_does_not_list_gets_no_number(ask) -> None:
    with pytest.raises(NotPublished):
        ask()


def test_a_2015_or_2018_joist_may_overhang_a_quarter_up_to_the_column_for_it() -> None:
    code = edition("IRC 2018")
    assert code.joist_overhang("southern pine", "2x8", 16, 120).value == 30
    assert code.joist_overhang("southern pine", "2x8", 16, 130).value == 0  # the column ends at 121 in


def test_dca_6_overhangs_never_pass_a_quarter_of_the_actual_span() -> None:
    assert DCA_6.joist_overhang("southern pine", "2x10", 16).value == 41
    short = DCA_6.joist_overhang("southern pine", "2x10", 16, 100)
    assert short.value == 25
    assert "quarter" in short.note


def test_an_overhang_shorter_than_a_quarter_makes_the_2021_joist_span_shorter() -> None:
    full = IRC_2021.beam_span("southern pine", "2x10", 2, 144).value
    none = IRC_2021.beam_span("southern pine", "2x10", 2, 144, 0)
    assert none.value > full
    assert "0.66" in none.note


def test_sheathing_called_half_an_inch_is_within_the_older_limit() -> None:
    assert DCA_6.ledger_spacing("lag", "2x lumber", 120, 40, 0.5).value == 18
    with pytest.raises(OutOfRange):
        DCA_6.ledger_spacing("lag", "2x lumber", 120, 40, 0.625)


def test_a_bolt_across_a_wider_gap_takes_its_own_row() -> None:
    tight, wide = (IRC_2021.ledger_spacing("bolt", "2x lumber", 120, 40, gap).value for gap in (0.5, 0.75))
    assert (tight, wide) == (34, 29)


def test_a_local_amendment_goes_before_the_edition() -> None:
    local = edition("IRC 2021", [Amendment("load.deck_live_min", 60, "psf", "Town ordinance 12")])
    found = local.rule("load.deck_live_min")
    assert (found.value, found.citation, found.confirmed) == (60, "Town ordinance 12", "amendment")
    assert local.rule("guard.min_height").value == 36
    assert IRC_2021.rule("load.deck_live_min").value == 40


def test_a_confirmation_clears_from_memory() -> None:
    assert IRC_2021.rule("guard_post.min_size").confirmed == "memory"
    sure = edition("IRC 2021", confirmations=[Confirmation("guard_post.min_size"), Confirmation("post_heights")])
    assert sure.rule("guard_post.min_size").confirmed == "firm"
    assert sure.post_height("southern pine", "4x4", 60).confirmed == "firm"
    assert sure.rule("stringer.min_throat").confirmed == "memory"


def test_a_rule_of_another_guide_is_given_with_a_word_about_it() -> None:
    found = edition("IRC 2018").rule("guard_post.holddown_min_tension")
    assert not found.in_edition
    assert "DCA 6-2012" in found.note
    assert DCA_6.rule("guard_post.holddown_min_tension").in_edition


def test_2024_numbers_that_are_only_remembered_say_so() -> None:
    assert edition("IRC 2024").joist_span("southern pine", "2x10", 16).confirmed == "memory"


def test_every_data_file_says_where_it_is_from_and_how_each_row_is_known() -> None:
    for name in tables.names():
        table = tables.load(name)
        assert table.title and table.source and table.read and table.rows, name
        for row in table.rows:
            if "confirmed" in row:
                assert row["confirmed"] in ("two", "source", "memory", "practice", "calculation", ""), (name, row)


def test_every_table_that_an_edition_names_is_there() -> None:
    for row in tables.load("editions").rows:
        assert tables.load(str(row["table"])).rows


@given(
    st.sampled_from(editions()),
    st.sampled_from(["southern pine", "hem-fir", "redwood"]),
    st.sampled_from(["2x6", "2x8", "2x10", "2x12"]),
    st.floats(6, 23),
)
def test_a_wider_spacing_never_gets_a_longer_span(name: str, species: str, size: str, spacing_in: float) -> None:
    code = edition(name)
    assert code.joist_span(species, size, spacing_in + 1).value <= code.joist_span(species, size, spacing_in).value


@given(st.sampled_from(editions()), st.sampled_from(["lag", "bolt"]), st.floats(40, 215))
def test_longer_joists_never_get_fasteners_farther_apart(name: str, fastener: str, joist_in: float) -> None:
    code = edition(name)
    near = code.ledger_spacing(fastener, "2x lumber", joist_in).value
    assert code.ledger_spacing(fastener, "2x lumber", joist_in + 1).value <= near


def test_a_refusal_names_what_was_asked_in_the_unit_it_was_asked_in() -> None:
    with pytest.raises(OutOfRange) as refusal:
        IRC_2021.ledger_spacing("bolt", "2x lumber", 217)
    assert refusal.value.value == pytest.approx(217)
    assert "216" in refusal.value.accepted
    with pytest.raises(OutOfRange) as refusal:
        DCA_6.post_height("redwood", "6x6", beam_span_in=100, joist_span_in=220)
    assert refusal.value.value == pytest.approx(220)
    assert "216" in refusal.value.accepted


def test_40_psf_is_the_edge_of_the_live_and_snow_rows() -> None:
    code = IRC_2021
    live = code.joist_span("hem-fir", "2x8", 16).value
    assert code.joist_span("hem-fir", "2x8", 16, live=40, snow=40).value == live
    snowy = code.joist_span("hem-fir", "2x8", 16, snow=40.5)
    assert snowy.value == code.joist_span("hem-fir", "2x8", 16, snow=50).value
    assert "50 psf ground snow" in snowy.note
    with pytest.raises(OutOfRange):
        code.joist_span("hem-fir", "2x8", 16, live=40.5)
    with pytest.raises(OutOfRange):
        DCA_6.footing(live=40.5, beam_span_in=100, joist_span_in=100)


def test_ledger_rows_above_40_psf_are_snow_and_never_people() -> None:
    code = IRC_2021
    assert code.ledger_spacing("lag", "2x lumber", 144, 40.5).value == 14  # the row for 50 psf snow
    assert code.ledger_spacing("lag", "2x lumber", 144, 30).value == 15
    with pytest.raises(OutOfRange):
        code.ledger_spacing("lag", "2x lumber", 144, 40.5, load_kind="live")


def test_the_ends_of_the_overhang_columns_are_within_them() -> None:
    code = edition("IRC 2018")
    assert code.joist_overhang("southern pine", "2x8", 16, 121).value == 121 / 4
    assert code.joist_overhang("southern pine", "2x8", 16, 121.1).value == 0
    assert DCA_6.joist_overhang("southern pine", "2x10", 16, 168).value == 41


def test_an_exact_row_has_no_word_about_a_stricter_one() -> None:
    exact = DCA_6.footing(beam_span_in=120, joist_span_in=168)
    between = DCA_6.footing(beam_span_in=119, joist_span_in=150)
    assert not exact.note
    assert "10 ft beam" in between.note and "14 ft joists" in between.note
    assert exact.square_in == between.square_in
    irc = edition("IRC 2018")
    assert not irc.footing(60, 2000).note
    assert "80 sq ft" in irc.footing(61, 2400).note and "soil 2000" in irc.footing(61, 2400).note


def test_a_post_that_the_table_does_not_permit_is_0_and_says_what_that_means() -> None:
    found = DCA_6.post_height("spruce-pine-fir", "6x6", beam_span_in=216, joist_span_in=216)
    assert found.value == 0
    assert "not permit" in found.note
    assert "not permit" not in DCA_6.post_height("redwood", "6x6", beam_span_in=72, joist_span_in=120).note


def test_a_3x_beam_stands_in_the_row_of_two_2x() -> None:
    code = edition("IRC 2018")
    assert code.beam_span("hem-fir", "3x10", 1, 120).value == code.beam_span("hem-fir", "2x10", 2, 120).value
    with pytest.raises(NotPublished):
        code.beam_span("hem-fir", "3x10", 2, 120)
    with pytest.raises(NotPublished):
        code.beam_span("hem-fir", "2x10", 1, 120)


@pytest.mark.parametrize("name", ["IRC 2015", "IRC 2018", "IRC 2021", "IRC 2024"])
def test_a_band_of_engineered_wood_is_answered_by_the_guide_and_said_to_be(name) -> None:
    """DCA 6-2012 Table 5: 1/2 in bolts into a 1-1/8 in engineered band, joists of 10 ft: 16 in on centre."""
    found = edition(name).ledger_spacing("bolt", "1-1/8 in engineered wood", 120)
    assert (found.value, found.citation, found.in_edition) == (16, "AWC DCA 6-2012 Table 5", False)
    assert f"{name} holds no row" in found.note


def test_the_guide_answers_for_its_own_bands_and_not_beyond_its_own_loads() -> None:
    assert DCA_6.ledger_spacing("bolt", "1 in engineered wood", 120).in_edition
    with pytest.raises(OutOfRange):
        edition("IRC 2021").ledger_spacing("bolt", "1 in engineered wood", 120, 60)
