"""Calculation and published rule about one part: which failing answer is disputed by the other, and which is not."""

import json

import pytest

from engine import Deck, assess
from engine.results import Verdict
from engine.vocabulary import Link
from tests.engine.deck_files import NAMES, assessed, changed, the

BAND = {"LD1": {"house_band": "1 in engineered wood"}}


def test_a_fastener_that_the_tested_joint_clears_is_disputed():
    assessment = assessed()
    check = the(assessment, "ledger.fastener_nds", "(F5)")
    assert check.verdict is Verdict.FAILS
    assert assessment.is_disputed(check)
    assert not assessment.is_disputed(the(assessment, "ledger.fastener_tested", "(F5)"))


def test_into_an_engineered_band_the_spacing_of_the_whole_ledger_speaks_for_its_fasteners():
    """DCA 6-2012 Table 5: joists of 104 in on 1 in of engineered wood ask for 14 in; the bolts stand 12 in apart."""
    assessment = assessed(**BAND)
    spacing, bolt = the(assessment, "ledger.spacing"), the(assessment, "ledger.fastener_nds", "(F5)")
    assert (spacing.verdict, spacing.capacity) == (Verdict.HOLDS, 14)
    assert any("IRC 2021 holds no row" in words for words in spacing.assumptions)
    assert the(assessment, "ledger.fastener_tested", "(F5)").verdict is Verdict.CANNOT_TELL
    assert bolt.verdict is Verdict.FAILS
    assert assessment.is_disputed(bolt)
    apart = [each for each in assessment.disagreements if each.calculation == bolt]
    assert [each.published.id for each in apart] == ["ledger.spacing"]


def test_a_spacing_that_fails_clears_no_fastener():
    assessment = assessed(**BAND, F7={"condition": "missing"})
    assert the(assessment, "ledger.spacing").verdict is Verdict.FAILS
    for check in assessment.by_id("ledger.fastener_nds"):
        assert not assessment.is_disputed(check)


@pytest.mark.parametrize("band", ["1 in engineered wood", "2x lumber"])
def test_the_spacing_clears_no_fastener_that_has_lost_section_to_rust(band):
    assessment = assessed(LD1={"house_band": band}, F5={"condition": "corroded", "corrosion_loss_in": 0.1})
    spacing, bolt = the(assessment, "ledger.spacing"), the(assessment, "ledger.fastener_nds", "(F5)")
    assert spacing.verdict is Verdict.CANNOT_TELL
    assert "rust" in spacing.reason
    assert bolt.verdict is Verdict.FAILS
    assert not assessment.is_disputed(bolt)


def test_a_gap_that_is_too_wide_fails_whatever_rust_there_is():
    rusty = assessed(F5={"condition": "corroded", "corrosion_loss_in": 0.1}, F9={"condition": "missing"},
                     F10={"condition": "missing"}, F11={"condition": "missing"})  # fmt: skip
    assert the(rusty, "ledger.spacing").verdict is Verdict.FAILS


def test_a_beam_is_cleared_only_by_the_table_at_every_one_of_its_spans():
    """A beam that fails by calculation in one span is not cleared by the other span that the table passes."""
    file = changed(B1={"spans_in": [72, 190]}, P3={"position_in": 274})
    assessment = assess(Deck.from_json(file))
    spans = [check.verdict for check in assessment.by_id("beam.span_table")]
    assert spans == [Verdict.HOLDS, Verdict.FAILS]
    assert the(assessment, "beam.bending").verdict is Verdict.FAILS
    assert not assessment.is_disputed(the(assessment, "beam.bending"))


def test_a_table_that_fails_is_disputed_only_where_every_calculation_holds():
    tall = assessed(basis={"edition": "IRC 2018"}, P2={"size": "4x4", "height_in": 90, "notch_depth_in": 0})
    assert tall.is_disputed(the(tall, "post.height_table", "P2"))
    long = assessed(J1={"span_in": 200})  # bending fails, shear holds
    assert the(long, "joist.shear").verdict is Verdict.HOLDS
    assert not long.is_disputed(the(long, "joist.span_table"))


def test_tests_of_outward_pushes_clear_no_inward_pull():
    weak = assessed(G1={"height_in": 36, "hold_down_rated_lb": 900})
    assert the(weak, "guard.tested").verdict is Verdict.HOLDS
    assert weak.is_disputed(the(weak, "guard.pull_outward"))
    assert not weak.is_disputed(the(weak, "guard.pull_inward"))


@pytest.mark.parametrize("name", NAMES)
def test_plain_data_says_of_every_check_whether_it_is_disputed(name):
    assessment = assessed(name)
    told = json.loads(json.dumps(assessment.to_dict()))["checks"]
    assert [each["disputed"] for each in told] == [assessment.is_disputed(check) for check in assessment.checks]
    assert all(each["verdict"] == "fails" for each in told if each["disputed"])


def test_the_gravest_of_some_checks_is_what_fails_outright_before_what_is_disputed_before_what_is_open():
    assessment = assessed(LD1={"flashing": "cannot be seen"}, F5={"condition": "missing"})
    ledger = assessment.for_link(Link.LEDGER)
    outright = [check for check in ledger if check.verdict is Verdict.FAILS and not assessment.is_disputed(check)]
    gravest = assessment.gravest(ledger)
    assert gravest in outright
    calm = [check for check in ledger if check not in outright]
    assert assessment.is_disputed(assessment.gravest(calm))
    assert assessment.gravest(()) is None
