from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import OutOfRange
from engine.loads import Loads, combination_step
from tests.engine.derivations import assert_every_step_comes_out

PSF = st.floats(0, 200)


def test_people_alone_give_dead_and_live_with_no_increase() -> None:
    strength = Loads(live=40, dead=10).strength
    assert (strength.total_psf, strength.load_duration) == (50, 1.0)


def test_snow_and_people_together_are_taken_at_three_quarters() -> None:
    loads = Loads(live=40, dead=10, snow=50)
    assert loads.strength.name == "D + 0.75 L + 0.75 S"
    assert loads.strength.total_psf == pytest.approx(77.5)
    assert loads.strength.load_duration == 1.15
    assert loads.variable_psf == pytest.approx(67.5)


def test_a_load_of_shorter_duration_may_be_larger_and_still_not_govern() -> None:
    # 60 psf for two months asks for 60 / 1.15 = 52.2 psf of strength, 55 psf of people ask for 55
    loads = Loads(live=45, dead=10, snow=0)
    snowy = Loads(live=0, dead=10, snow=50)
    assert loads.strength.weight > snowy.strength.weight
    assert loads.total_psf < snowy.total_psf


def test_dead_load_alone_governs_a_deck_that_is_nearly_all_dead_load() -> None:
    assert Loads(live=2, dead=100).strength.name == "D"


@pytest.mark.parametrize("bad", [{"live": -1}, {"dead": float("nan")}, {"snow": float("inf")}, {"live": 0, "dead": 0}])
def test_loads_that_cannot_be_are_refused(bad: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        Loads(**bad)


@given(PSF, PSF, PSF)
def test_more_load_never_asks_for_less(live: float, dead: float, snow: float) -> None:
    loads, more = Loads(live, dead + 1, snow), Loads(live + 5, dead + 2, snow + 5)
    assert more.strength.weight >= loads.strength.weight
    assert more.total_psf >= loads.total_psf


@given(PSF, PSF, PSF)
def test_every_combination_prints_the_sum_it_takes(live: float, dead: float, snow: float) -> None:
    loads = Loads(live, dead + 1, snow)
    assert_every_step_comes_out(combination_step(loads, each) for each in loads.combinations)


def test_dead_load_does_not_come_and_go() -> None:
    assert Loads(live=0, dead=10).variable_psf == 0
    assert [each.name for each in Loads(live=0, dead=10).combinations] == ["D"]


def test_snow_and_people_act_together_only_where_both_are_there() -> None:
    """ASCE 7 2.4.1; without a word a deck carries 40 psf of people and weighs 10 psf."""
    assert [each.name for each in Loads().combinations] == ["D", "D + L"]
    assert [each.name for each in Loads(live=0, snow=30).combinations] == ["D", "D + S"]
    assert (Loads().live, Loads().dead, Loads().snow) == (40, 10, 0)
