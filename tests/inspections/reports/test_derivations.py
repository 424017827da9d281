"""The steps of a check as print shows them."""

from inspections.reports.checks import FrozenCheck
from inspections.reports.derivations import derivations_of
from tests.inspections.reports.test_answer import check


def step(symbol, value, **inputs):
    return {
        "symbol": symbol, "formula": " * ".join(inputs), "inputs": inputs, "value": value, "unit": "lb",
        "source": "NDS 12.3", "note": "",
    }  # fmt: skip


def test_steps_that_two_fasteners_of_one_kind_share_are_written_once():
    one, need, have = step("Z", 120.0, a=60.0, b=2.0), step("v_rule", 240.0, Z=120.0, n=2.0), step("v", 360.0, Z=120.0)
    plies = FrozenCheck(check(steps=[one, need, one, have]))
    assert plies.steps == [one, need, have]
    assert [each["symbol"] for each in derivations_of([plies], {})[0].steps] == ["Z", "v_rule", "v"]


def test_a_step_that_comes_again_with_other_values_is_written_again():
    one, other, need = step("Z", 120.0, a=60.0), step("Z", 90.0, a=45.0), step("v_rule", 240.0, Z=120.0)
    assert FrozenCheck(check(steps=[one, need, other])).steps == [one, need, other]
    assert FrozenCheck(check(steps=[one, other, one])).steps == [one, other, one]
