import pytest

from engine import Deck
from engine.remedies import remedies_for
from engine.results import Verdict
from tests.engine.deck_files import assessed, changed, the

EVERY = [f"F{number}" for number in range(1, 16)]


def test_a_missing_fastener_throws_its_share_on_its_neighbours():
    """Fasteners at 60, 72, 84 in: without the one at 72 its neighbours carry 18 in of ledger instead of 12."""
    whole, missing = assessed(), assessed(F7={"condition": "missing"})
    for neighbour in ("(F6)", "(F8)"):
        before = the(whole, "ledger.fastener_tested", neighbour)
        after = the(missing, "ledger.fastener_tested", neighbour)
        assert after.demand == pytest.approx(before.demand * 18 / 12)
    assert the(missing, "ledger.fastener_tested", "(F3)") == the(whole, "ledger.fastener_tested", "(F3)")
    assert not [check for check in missing.by_id("ledger.fastener_tested") if "(F7)" in check.subject]


def test_the_loads_on_all_fasteners_are_the_load_on_the_ledger():
    total_lb = sum(check.demand for check in assessed().by_id("ledger.fastener_tested"))
    assert total_lb == pytest.approx(50 / 144 * 104 / 2 * 168)


def test_the_three_witnesses_speak_side_by_side():
    assessment = assessed()
    assert the(assessment, "ledger.spacing").verdict is Verdict.HOLDS
    assert the(assessment, "ledger.fastener_tested", "(F5)").verdict is Verdict.HOLDS
    assert the(assessment, "ledger.fastener_nds", "(F5)").verdict is Verdict.FAILS


def test_a_lag_screw_in_a_thin_band_is_out_of_range_for_the_equations():
    """1-1/2 in of band is less than the 4D = 2 in that NDS 12.1.4.6 asks of a 1/2 in lag screw."""
    assessment = assessed(**{name: {"fastener": "lag screw", "length_in": 4} for name in EVERY})
    check = the(assessment, "ledger.fastener_nds", "(F5)")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "at least 2 in" in check.reason
    assert the(assessment, "ledger.fastener_tested", "(F5)").capacity == 385


@pytest.mark.parametrize(
    "band",
    [
        "engineered I-joist rim",
        "end of a floor truss",
        "masonry veneer",
        "concrete or masonry wall",
        "cantilevered floor",
    ],
)
def test_a_house_band_that_no_table_covers_cannot_be_told_with_the_reason(band):
    assessment = assessed(LD1={"house_band": band})
    for check_id in ("ledger.spacing", "ledger.fastener_nds", "ledger.fastener_tested"):
        for check in assessment.by_id(check_id):
            assert check.verdict is Verdict.CANNOT_TELL
            assert band in check.reason


def test_an_unknown_house_band_leaves_the_spacing_open_and_names_the_band():
    check = the(assessed(LD1={"house_band": "unknown"}), "ledger.spacing")
    assert check.verdict is Verdict.CANNOT_TELL
    assert check.depends_on == ("LD1.house_band",)


def test_the_widest_gap_counts_and_not_the_average():
    assert the(assessed(), "ledger.spacing").demand == 12
    assert the(assessed(F7={"condition": "loose"}), "ledger.spacing").demand == 24
    assert the(assessed(F7={"condition": "loose"}), "ledger.spacing").governs == "from 60 to 84 in"


def test_the_strictest_kind_of_fastener_sets_the_spacing_of_a_mixed_ledger():
    bolts = the(assessed(), "ledger.spacing").capacity
    mixed = the(assessed(F5={"fastener": "lag screw", "length_in": 4}), "ledger.spacing").capacity
    assert mixed < bolts


def test_a_fastener_that_was_not_seen_does_not_count_and_is_asked_for():
    assessment = assessed(F7={"condition": "not seen"})
    check = the(assessment, "ledger.fastener_state", "(F7)")
    assert check.verdict is Verdict.CANNOT_TELL
    assert the(assessment, "ledger.spacing").demand == 24


def test_a_thinner_fastener_is_not_in_the_table_and_rust_is_not_in_the_tests():
    thin = assessed(F5={"diameter_in": 0.375})
    assert the(thin, "ledger.spacing").verdict is Verdict.CANNOT_TELL
    rusty = assessed(F5={"condition": "corroded", "corrosion_loss_in": 0.1})
    assert the(rusty, "ledger.fastener_tested", "(F5)").verdict is Verdict.CANNOT_TELL
    assert the(rusty, "ledger.fastener_nds", "(F5)").ratio > the(assessed(), "ledger.fastener_nds", "(F5)").ratio


def test_rust_that_was_not_measured_is_asked_for():
    check = the(assessed(F5={"condition": "corroded", "corrosion_loss_in": ...}), "water.rust")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "measure the diameter left" in check.settles[0]


def test_a_level_on_a_ledger_without_a_ledger_is_asked_about():
    from engine import Deck, assess
    from tests.engine.deck_files import changed

    file = changed(J1={"ledger": ...})
    del file["ledgers"], file["fasteners"]
    assert the(assess(Deck.from_json(file)), "ledger.recorded").verdict is Verdict.CANNOT_TELL


def test_a_ledger_of_2x6_is_too_shallow():
    assert the(assessed(LD1={"size": "2x6", "lower_row_from_bottom_in": 1}), "ledger.size").verdict is Verdict.FAILS


def test_edges_ends_and_stagger_are_judged_by_the_worst_of_them():
    assert the(assessed(LD1={"upper_row_from_top_in": 1.5}), "ledger.edges").governs == "upper row to top edge"
    assert the(assessed(F1={"condition": "missing"}), "ledger.ends").verdict is Verdict.FAILS
    check = the(assessed(F2={"row": "upper"}), "ledger.stagger")
    assert (check.verdict, check.reason) == (Verdict.FAILS, "neighbours at the same height: 3 and 12 in, 12 and 24 in")


def test_two_devices_of_1500_lb_near_the_ends_tie_the_deck_and_one_does_not():
    assert the(assessed(), "lateral.devices").verdict is Verdict.HOLDS
    assert the(assessed(T2={"condition": "missing"}), "lateral.devices").verdict is Verdict.FAILS
    assert the(assessed(T2={"from_end_in": 40}), "lateral.devices").verdict is Verdict.FAILS


def test_a_rated_anchor_in_a_wall_is_judged_by_its_rating_and_by_nothing_else():
    wall = {"LD1": {"house_band": "concrete or masonry wall"}}
    anchors = {name: {"anchor_rated_lb": 300} for name in EVERY}
    assessment = assessed(**wall, **anchors)
    check = the(assessment, "ledger.anchor", "(F5)")
    assert (check.demand, check.capacity) == (pytest.approx(50 / 144 * 52 * 12), 300)
    assert not assessment.by_id("ledger.fastener_nds")
    assert not assessment.by_id("ledger.fastener_tested")
    assert not assessed(**wall).by_id("ledger.anchor")


def test_a_fastener_too_near_the_top_edge_has_no_value_by_the_equations():
    """Loaded edge: 4D = 2 in for a 1/2 in bolt (NDS Table 12.5.1C)."""
    check = the(assessed(LD1={"upper_row_from_top_in": 1.75}), "ledger.fastener_nds", "(F5)")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "at least 2 in at the loaded edge" in check.reason
    assert the(assessed(LD1={"upper_row_from_top_in": 1.75}), "ledger.fastener_nds", "(F6)").ratio is not None


def test_a_fastener_near_the_ledgers_end_keeps_part_of_its_value():
    """End distance 1-1/2 in of the 4D = 2 in for the full value: three quarters (NDS Table 12.5.1A)."""
    whole, near = (the(assessed(F1={"position_in": p}), "ledger.fastener_nds", "(F1)").capacity for p in (2, 1.5))
    assert near == pytest.approx(0.75 * whole)


def test_people_who_sway_together_are_set_against_the_ties_and_never_fail_them():
    """12 psf of the deck's area, by tests (STRUCTURE, January 2014); two devices of 1500 lb."""
    check = the(assessed(), "lateral.sway")
    assert (check.verdict, check.capacity) == (Verdict.HOLDS, 3000)
    assert check.demand == pytest.approx(12 * 168 * 128 / 144)
    wide = the(assessed(L1={"width_in": 300, "depth_in": 180}), "lateral.sway")
    assert wide.verdict is Verdict.CANNOT_TELL
    assert "4500 lb" in wide.reason and "No code asks" in wide.reason


def test_bolts_of_a_ledger_need_washers_as_large_as_the_standard_ones():
    """NDS Table L6: a cut washer for a 1/2 in bolt is 1-3/8 in across."""
    assert the(assessed(LD1={"washer_in": 1.375}), "ledger.washers").verdict is Verdict.HOLDS
    assert the(assessed(LD1={"washer_in": 1.25}), "ledger.washers").verdict is Verdict.FAILS
    assert the(assessed(LD1={"washer_in": 0}), "ledger.washers").verdict is Verdict.FAILS
    assert not assessed().by_id("ledger.washers")


def test_the_tip_of_a_lag_screw_comes_out_behind_the_band():
    """Ledger 1.5, sheathing 0.5, band 1.5 and half an inch (IRC Table R507.9.1.3(1) note): 4 in."""
    for length_in, verdict in ((4.0, Verdict.HOLDS), (3.5, Verdict.FAILS)):
        lag = assessed(F5={"fastener": "lag screw", "length_in": length_in})
        check = the(lag, "ledger.lag_reach", "(F5)")
        assert (check.verdict, check.demand) == (verdict, 4.0)
    assert not assessed().by_id("ledger.lag_reach")


def test_lag_screws_that_are_too_short_are_replaced_by_a_new_pattern():
    short = {f"F{n}": {"fastener": "lag screw", "length_in": 3.0} for n in range(1, 16)}
    found = {each.kind: each for each in remedies_for(Deck.from_json(changed(**short)))}
    assert "ledger.lag_reach" in {each.check_id for each in found["ledger-refasten"].answers}
    assert found["ledger-refasten"].is_proved
