import pytest

from engine import Deck, assess
from engine.results import Verdict
from tests.engine.deck_files import assessed, changed, the


def test_boards_have_a_joist_spacing_and_composite_ones_ask_their_maker():
    assert the(assessed(J1={"spacing_in": 16}), "surface.decking_span").verdict is Verdict.HOLDS
    assert the(assessed(J1={"spacing_in": 19.2}), "surface.decking_span").verdict is Verdict.FAILS
    check = the(assessed(L1={"decking": "composite"}), "surface.decking_span")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "maker" in check.reason


def test_boards_laid_diagonally_need_closer_joists():
    straight = the(assessed(), "surface.decking_span").capacity
    assert the(assessed(L1={"decking_direction": "diagonal"}), "surface.decking_span").capacity < straight


def test_soft_boards_fail():
    assert the(assessed(L1={"surface_condition": "some soft boards"}), "surface.condition").verdict is Verdict.FAILS


def test_a_hot_tub_loads_the_joists_and_what_is_below_them_goes_to_an_engineer():
    file = changed()
    file["patches"] = [{"id": "H1", "joist_field": "J1", "what": "hot tub", "load_psf": 100, "area_sqft": 49}]
    assessment = assess(Deck.from_json(file))
    plain = the(assessment, "joist.bending")
    assert the(assessment, "patch.joist_bending").ratio == pytest.approx(plain.ratio * 110 / 50)
    check = the(assessment, "patch.below")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "4900 lb" in check.reason


@pytest.mark.parametrize(
    ("flashing", "verdict"),
    [
        ("lapped behind the wall covering", Verdict.HOLDS),
        ("present, not lapped", Verdict.FAILS),
        ("none", Verdict.FAILS),
        ("cannot be seen", Verdict.CANNOT_TELL),
    ],
)
def test_flashing_counts_only_where_it_is_lapped_and_seen(flashing, verdict):
    assert the(assessed(LD1={"flashing": flashing}), "water.flashing").verdict is verdict


def test_wood_that_nobody_probed_is_not_called_free_of_decay():
    assert not [check for check in assessed(B1={"decay_depth_in": ...}).about("B1") if check.id == "water.decay"]
    assert the(assessed(B1={"decay_depth_in": 0.5}), "water.decay", "beam B1").reason == "soft to 0.5 in"


def test_a_reading_above_19_percent_is_wet():
    assert the(assessed(LD1={"moisture_percent": 19}), "water.moisture", "ledger").verdict is Verdict.HOLDS
    assert the(assessed(LD1={"moisture_percent": 20}), "water.moisture", "ledger").verdict is Verdict.FAILS


def test_plated_steel_in_treated_wood_and_galvanized_steel_by_the_sea_do_not_suit():
    assert the(assessed(F1={"metal": "electroplated steel"}), "water.metal").verdict is Verdict.FAILS
    galvanized = {"F1": {"metal": "hot-dip galvanized steel"}}
    assert the(assessed(**galvanized), "water.metal").verdict is Verdict.HOLDS
    assert the(assessed(**galvanized, basis={"is_near_salt_water": True}), "water.metal").verdict is Verdict.FAILS


def test_galvanized_and_stainless_do_not_belong_in_one_ledger():
    mixed = assessed(F1={"metal": "hot-dip galvanized steel"}, F2={"metal": "stainless steel 316"})
    assert the(mixed, "water.mixed_metals").verdict is Verdict.FAILS
    assert not assessed(F1={"metal": "stainless steel 316"}, F2={"metal": "stainless steel 316"}).by_id(
        "water.mixed_metals"
    )


def test_rust_that_was_measured_is_told():
    check = the(assessed(F5={"condition": "corroded", "corrosion_loss_in": 0.1}), "water.rust")
    assert (check.verdict, check.reason) == (Verdict.FAILS, "0.1 in of the diameter lost to rust")


def test_composite_boards_span_what_their_maker_rates_them_for():
    rated = {"decking": "composite", "decking_rated_span_in": 16}
    check = the(assessed(L1=rated), "surface.decking_span")
    assert (check.verdict, check.capacity, check.citation) == (Verdict.HOLDS, 16, "the maker's span rating")
    assert the(assessed(L1={**rated, "decking_rated_span_in": 12}), "surface.decking_span").verdict is Verdict.FAILS
    unrated = the(assessed(L1={"decking": "composite"}), "surface.decking_span")
    assert unrated.depends_on == ("L1.decking_rated_span_in",)


def test_a_thick_board_of_known_wood_is_bent_between_its_joists():
    """2x6 flat, southern pine No. 2: 50 psf on 5.5 in over 16 in; Fb 1000 x Cfu 1.15 (NDS-S Table 4B)."""
    boards = {"decking": "2 in thick wood", "decking_species": "southern pine"}
    bending = the(assessed(L1=boards), "surface.board_bending")
    assert bending.demand == pytest.approx(50 * 5.5 / 144 * 16**2 / 8 / (5.5 * 1.5**2 / 6))
    assert bending.capacity == pytest.approx(1000 * 1.15)
    bent = the(assessed(L1=boards), "surface.board_deflection")
    stiffness = 1_400_000 * 0.9 * 5.5 * 1.5**3 / 12
    assert bent.demand == pytest.approx(5 * 40 * 5.5 / 144 * 16**4 / (384 * stiffness))
    assert not assessed(L1={"decking_species": "southern pine"}).by_id("surface.board_bending")  # 5/4 has no values


def test_diagonal_boards_span_farther_than_their_joists_stand_apart():
    boards = {"decking": "2 in thick wood", "decking_species": "redwood"}
    straight = the(assessed(L1=boards), "surface.board_bending")
    diagonal = the(assessed(L1={**boards, "decking_direction": "diagonal"}), "surface.board_bending")
    assert diagonal.ratio == pytest.approx(2 * straight.ratio)
