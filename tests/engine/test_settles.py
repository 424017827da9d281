import pytest

from engine import reserve, what_would_settle
from engine.results import Verdict
from tests.engine.deck_files import assessed, the


def test_the_fact_that_settles_most_checks_comes_first():
    assessment = assessed(J1={"species": "unknown", "span_in": 165}, B1={"bearing_in": ...})
    ranked = what_would_settle(assessment)
    assert ranked[0].path == "B1.bearing_in"
    assert ranked[0].settles == 4  # the rule about its length, and the stress on each of three posts
    assert ranked[0].words == "bearing of beam B1"
    assert [each.settles for each in ranked] == sorted((each.settles for each in ranked), reverse=True)


def test_finding_out_what_is_said_to_settle_does_settle():
    open_before = [
        check.id for check in assessed(B1={"bearing_in": ...}).checks if check.verdict is Verdict.CANNOT_TELL
    ]
    open_after = [check.id for check in assessed().checks if check.verdict is Verdict.CANNOT_TELL]
    assert len(open_before) - len(open_after) == 4


def test_a_species_that_decides_is_named_and_whichever_it_is_the_check_is_settled():
    assessment = assessed(J1={"species": "unknown", "is_incised": True, "span_in": 165})
    open_checks = [check for check in assessment.checks if check.depends_on == ("J1.species",)]
    assert open_checks
    (settler,) = [each for each in what_would_settle(assessment) if each.path == "J1.species"]
    assert settler.settles == len(open_checks)
    for species in ("southern pine", "douglas fir-larch", "hem-fir", "spruce-pine-fir"):
        known = assessed(J1={"species": species, "is_incised": True, "span_in": 165})
        for check in open_checks:
            assert the(known, check.id, check.subject).verdict is not Verdict.CANNOT_TELL


def test_two_facts_that_decide_only_together_touch_and_settle_nothing_alone():
    assessment = assessed(
        J1={"species": "unknown", "is_incised": True, "spacing_in": {"one_of": [12, 16]}, "span_in": 165}
    )
    check = the(assessment, "joist.bending")
    assert check.depends_on == ("J1.species", "J1.spacing_in")
    ranked = {each.path: each for each in what_would_settle(assessment)}
    assert "joist.bending" in ranked["J1.species"].check_ids
    assert ranked["J1.species"].settles < ranked["J1.species"].touches


def test_by_hand_the_fact_that_decides_alone_comes_before_one_that_only_has_a_part():
    """Southern pine No. 2, 2x10 at 16 in: Fb 800 x 1.15 = 920 psi carries M = w l**2 / 8 over 104 in at 38 %, over
    200 in at 141 %. At 12 in spacing 200 in stands at 106 %, too: the span decides alone, the spacing nothing."""
    either_span = {"one_of": [104, 200]}
    assessment = assessed(J1={"span_in": either_span, "spacing_in": {"one_of": [12, 16]}})
    check = the(assessment, "joist.bending")
    assert (check.verdict, check.depends_on) == (Verdict.CANNOT_TELL, ("J1.span_in",))
    assert what_would_settle(assessment)[0].path == "J1.span_in"


def test_by_hand_a_frost_line_settles_one_check_for_each_footing_that_hangs_on_it():
    """Three footings 36 in deep: with the frost line unknown none of the three depths can be told, and nothing else."""
    assessment = assessed(basis={"frost_depth_in": {"one_of": [36, 60]}})
    (settler,) = what_would_settle(assessment)
    assert (settler.path, settler.settles, settler.touches) == ("basis.frost_depth_in", 3, 3)
    assert settler.check_ids == ("footing.depth",)


def test_by_hand_a_measurement_that_all_checks_of_a_part_wait_for_comes_before_one_of_a_single_check():
    """A guard without a recorded height, and a ball that may be 3 in or 6 in through its infill (4 in is allowed)."""
    assessment = assessed(G1={"height_in": ..., "largest_opening_in": {"one_of": [3, 6]}})
    ranked = {each.path: each for each in what_would_settle(assessment)}
    assert ranked["G1.largest_opening_in"].check_ids == ("guard.opening",)
    assert ranked["G1.largest_opening_in"].settles == 1
    assert next(iter(ranked)) == "G1.height_in"
    assert ranked["G1.height_in"].settles > 1


def test_nothing_is_asked_of_a_deck_whose_facts_are_all_known():
    assert what_would_settle(assessed()) == ()


def test_the_reserve_of_a_span_ends_where_the_check_flips():
    reserves = {(each.check_id, each.subject): each for each in reserve(assessed(), "J1.span_in")}
    bending = reserves[("joist.bending", "joist field J1")]
    assert bending.verdict is Verdict.HOLDS
    assert bending.down_to is None
    for span_in, verdict in ((bending.up_to - 0.01, Verdict.HOLDS), (bending.up_to + 0.01, Verdict.FAILS)):
        assert the(assessed(J1={"span_in": span_in}), "joist.bending").verdict is verdict


def test_the_reserve_of_bending_is_where_statics_put_it():
    """M = w l**2 / 8 and a constant section: the span may grow by the root of capacity over demand."""
    check = the(assessed(), "joist.bending")
    (found,) = [each for each in reserve(assessed(), "J1.span_in") if each.check_id == "joist.bending"]
    assert found.up_to == pytest.approx(104 / check.ratio**0.5, rel=1e-4)


def test_the_reserve_of_one_span_of_several_and_of_a_load():
    found = reserve(assessed(), "B1.spans_in[1]")
    assert "beam.span_table" in {each.check_id for each in found}
    load = {each.check_id: each for each in reserve(assessed(), "basis.live_psf")}
    assert load["joist.span_table"].up_to == pytest.approx(40, abs=0.01)


def test_the_nearest_flip_comes_first():
    found = reserve(assessed(), "J1.span_in")
    distances = [min(abs(each.value - end) for end in (each.down_to, each.up_to) if end is not None) for each in found]
    assert distances == sorted(distances)


@pytest.mark.parametrize(
    "path",
    ["J1.species", "J9.span_in", "J1.spam_in", "J1.name", "B1.spans_in", "B1.spans_in[7]", "basis.edition", "", "J1"],
)
def test_the_reserve_of_what_is_no_recorded_number_is_refused(path):
    with pytest.raises(KeyError):
        reserve(assessed(), path)
