"""Every printed step of every fixture deck gives its printed value, by its own formula and numbers."""

import re

import pytest

from engine.command_line.listing import step_line
from tests.engine.deck_files import NAMES, assessed
from tests.engine.derivations import assert_every_step_comes_out

VARIANTS = [
    {},
    {"basis": {"ground_snow_psf": 55}},
    {"basis": {"live_psf": 60, "is_wet": False}},
    {"J1": {"species": "redwood", "notch_depth_in": 1, "decay_depth_in": 0.25}},
    {"B1": {"runs": "spliced over posts", "seat": "bolted to the side of the post", "seat_bolts": 2,
            "seat_bolt_diameter_in": 0.625}},
    {"G1": {"attachment": "bolts through the rim only", "post_notch_in": 1}},
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_every_printed_step_gives_the_printed_value(name):
    for check in assessed(name).checks:
        if check.steps:
            assert_every_step_comes_out(check.steps)


@pytest.mark.parametrize("changes", VARIANTS)
def test_every_printed_step_comes_out_for_other_loads_and_woods(changes):
    for check in assessed(**changes).checks:
        if check.steps:
            assert_every_step_comes_out(check.steps)


@pytest.mark.parametrize("name", NAMES)
def test_the_printed_line_shows_formula_numbers_and_result(name):
    for check in assessed(name).checks:
        for step in check.steps:
            line = step_line(step)
            assert line.startswith(step.symbol)
            assert f"{step.value:.6g}" in line
            left = line.split("  [")[0].split(" = ")
            if len(left) > 2:  # symbol = formula = numbers = value: no name of an input is left among the numbers
                assert not set(re.findall(r"[A-Za-z_][\w']*", left[2])) & set(step.inputs), line
