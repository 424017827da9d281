"""Working out again what a derivation prints: each step's formula with its inputs put in must give its value."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from engine.results import FORMULA_NAMES, Step


def assert_every_step_comes_out(steps: Iterable[Step]) -> None:
    """Fail for a step whose formula does not give its value, and for a derivation without steps."""
    steps = tuple(steps)
    assert steps
    for step in steps:
        found = eval(step.formula, {"__builtins__": {}}, {**FORMULA_NAMES, **step.inputs})
        assert found == pytest.approx(step.value, rel=1e-9, abs=1e-12), step
        assert step.source, step
