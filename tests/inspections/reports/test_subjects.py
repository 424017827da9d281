"""Many parts said in few words, so that nobody reads sixteen lines that say one thing."""

import pytest

from inspections.reports.subjects import alike_as_one, in_few_words, runs


def fastener(number):
    return f"fastener {number} of ledger LD1 (F{number})"


@pytest.mark.parametrize(
    ("subjects", "words"),
    [
        ([fastener(n) for n in (1, 10, 11, 2, 3, 9)], "fasteners F1 to F3, F9 to F11 of ledger LD1"),
        (["post P1", "post P2", "post P3"], "posts P1 to P3"),
        (["post P1", "post P3"], "posts P1, P3"),
        (["guard G1 (long side)", "guard G2"], "guards G2, G1 (long side)"),
        (["beam B1, span 1", "beam B1, span 2"], "beam B1, span 1, beam B1, span 2"),
        ([f"footing FT{n} (of the concrete, in)" for n in (1, 2, 3)], "footings FT1 to FT3 (of the concrete, in)"),
        (["the whole deck"], "the whole deck"),
        (["post P1", "post P1"], "post P1"),
    ],
)
def test_parts_of_a_kind_stand_together_and_runs_are_said_as_runs(subjects, words):
    assert in_few_words(subjects) == words


def test_two_that_follow_each_other_are_no_run():
    assert runs(["F1", "F2", "F4"]) == "F1, F2, F4"


def test_an_assumption_made_of_many_parts_is_said_once():
    texts = [f"corrosion loss of fastener F{n} not recorded: 0 in taken" for n in (1, 2, 3)]
    said = alike_as_one([*texts, "the ground is level", "decay of post P2 taken as none"])
    assert {said[text] for text in texts} == {"corrosion loss of fasteners F1 to F3 not recorded: 0 in taken"}
    assert said["the ground is level"] == "the ground is level"
    assert said["decay of post P2 taken as none"] == "decay of post P2 taken as none"
