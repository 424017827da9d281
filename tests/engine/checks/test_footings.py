import math

import pytest

from engine.results import Verdict
from tests.engine.deck_files import assessed, the


def test_the_soil_carries_the_post_and_the_concrete():
    assessment = assessed()
    load_lb = the(assessment, "post.compression", "P2").demand
    check = the(assessment, "footing.bearing", "FT2")
    assert check.demand == pytest.approx(load_lb / (math.pi * 24**2 / 4) * 144 + 150 * 12 / 12)
    assert check.capacity == 2000


def test_a_footing_above_the_frost_line_fails():
    assert the(assessed(FT1={"depth_in": 29}), "footing.depth", "FT1").verdict is Verdict.FAILS
    assert the(assessed(FT1={"depth_in": 30}), "footing.depth", "FT1").verdict is Verdict.HOLDS


def test_a_place_without_a_frost_line_on_record_is_asked_for_it():
    check = the(assessed(basis={"frost_depth_in": ...}), "footing.depth", "FT1")
    assert check.depends_on == ("basis.frost_depth_in",)


def test_soil_that_nobody_tested_takes_the_presumptive_bearing_and_says_so():
    check = the(assessed(basis={"soil_psf": ...}), "footing.bearing", "FT2")
    assert check.capacity == 1500
    assert any("1500 psf taken" in words for words in check.assumptions)


def test_a_post_without_a_footing_on_record_is_to_be_dug_beside():
    from engine import Deck, assess
    from tests.engine.deck_files import changed

    file = changed()
    del file["footings"][0]
    check = the(assess(Deck.from_json(file)), "footing.recorded", "P1")
    assert check.verdict is Verdict.CANNOT_TELL


def test_an_edition_without_a_footing_table_says_so_once():
    assert len(assessed().by_id("footing.table_held")) == 1
    assert len(assessed(basis={"edition": "IRC 2018"}).by_id("footing.table")) == 3
