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


# Results of an equation that is named beside them and not solved in a line: moments of a beam over several posts (its
# spans stand in the note), and the load at which a post bent by it just holds (the printed ratio of 1 proves it).
SOLVED = {("M", "k"), ("V", "k"), ("R", "k"), ("bend", "k"), ("tip", "k"), ("interaction", "P")}


def is_plain(number: float) -> bool:
    """A number as it is measured or stands in a table: to a sixteenth or a thousandth."""
    return any(abs(number * parts - round(number * parts)) < 1e-9 * max(1, abs(number * parts)) for parts in (16, 1000))


@pytest.mark.parametrize(
    ("name", "changes"), [*((name, {}) for name in NAMES), *(("sound_ledger_deck", each) for each in VARIANTS)]
)
def test_every_number_of_a_derivation_is_plain_or_was_worked_out_before(name, changes):
    """Who redoes a check by hand finds each number he puts in: given, from a table, or the result of a line above."""
    for check in assessed(name, **changes).checks:
        before: list[float] = []
        for step in check.steps:
            for symbol, value in step.inputs.items():
                known = is_plain(value) or any(value == pytest.approx(each, rel=1e-9) for each in before)
                assert known or (step.symbol, symbol) in SOLVED, f"{check.id}: {symbol} in {step_line(step)}"
            before.append(step.value)


def test_the_note_of_a_solved_moment_names_the_whole_beam():
    steps = [step for check in assessed().checks if check.id == "beam.bending" for step in check.steps]
    (moment,) = [step for step in steps if step.symbol == "M"]
    assert moment.note == "spans 72 + 72, past the end posts 12 and 12 in"


def test_the_bearing_length_of_a_lag_screw_is_worked_out_from_its_length():
    """1/2 x 5 in through 1.5 in into 2.5 in: the point is out, all of the 2.5 in bear; into 4 in: 5 - 1.5 - E / 2."""
    from engine.fasteners import Fastener, Part, driven_into, lateral

    lag, side = Fastener("lag screw", 0.5, length_in=5), Part(0.5, 1.5, 90)
    for thick_in, bears_in in ((2.5, 2.5), (4.0, 3.5 - lag.tip_in / 2)):
        found = lateral(lag, driven_into(lag, 0.5, 90, 1.5, thick_in), side)
        (step,) = [each for each in found.steps if each.symbol == "lm"]
        assert step.value == pytest.approx(bears_in)
        assert_every_step_comes_out(found.steps)
