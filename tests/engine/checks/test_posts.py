import pytest

from engine.results import Verdict
from tests.engine.deck_files import assessed, the


def test_a_slender_post_fails_its_slenderness_and_has_no_column_value():
    assessment = assessed(P2={"size": "4x4", "height_in": 180})
    assert the(assessment, "post.slenderness", "P2").ratio == pytest.approx(180 / 3.5 / 50)
    assert the(assessment, "post.compression", "P2").verdict is Verdict.CANNOT_TELL


def test_a_taller_post_carries_less():
    ratios = [the(assessed(P2={"height_in": h}), "post.compression", "P2").ratio for h in (60, 100, 140)]
    assert ratios == sorted(ratios)


def test_the_area_on_a_post_is_half_of_each_span_beside_it_and_all_of_an_overhang():
    """P1 of the sound deck: 12 in of overhang and half of 72 in, over 128**2 / 208 in of deck: 26.3 sq ft."""
    from engine import Deck
    from engine.checks.posts import post_area_sqft
    from engine.facts import explore
    from tests.engine.deck_files import changed

    found = next(iter(explore(Deck.from_json(changed()), lambda deck: post_area_sqft(deck.part("P1"), deck)))).result
    assert found == pytest.approx((12 + 36) * 128**2 / 208 / 144)


@pytest.mark.parametrize("base", ["in the ground", "set in concrete"])
def test_a_foot_that_cannot_be_seen_is_to_be_dug_free(base):
    check = the(assessed(P1={"base": base}), "post.foot", "P1")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "dig or probe" in check.settles[0]


def test_a_post_on_a_bare_block_fails():
    assert the(assessed(P1={"base": "on a bare block"}), "post.foot", "P1").verdict is Verdict.FAILS


def test_bracing_is_asked_of_free_standing_decks_and_by_the_guide_and_not_by_the_code():
    assert not assessed(P1={"is_braced": False}).by_id("post.bracing")
    free = assessed("free_standing_platform")
    assert the(free, "post.bracing", "P1").verdict is Verdict.HOLDS
    assert the(free, "post.bracing", "P4").verdict is Verdict.FAILS


def test_a_4x4_is_too_small_by_the_guide_and_not_by_the_code():
    assert not assessed(P1={"size": "4x4"}).by_id("post.size")
    assert the(assessed("free_standing_platform"), "post.size", "P1").verdict is Verdict.FAILS


def test_the_table_may_fail_a_post_that_the_calculation_passes_and_the_reason_is_given():
    """IRC 2018 Table R507.4 ends at 6 ft 9 in for a 4x4; axial load alone would let it stand taller."""
    assessment = assessed(basis={"edition": "IRC 2018"}, P2={"size": "4x4", "height_in": 90, "notch_depth_in": 0})
    assert the(assessment, "post.compression", "P2").verdict is Verdict.HOLDS
    assert the(assessment, "post.height_table", "P2").verdict is Verdict.FAILS
    (apart,) = [each for each in assessment.disagreements if each.calculation.subject == "post P2"]
    assert "stricter than axial load" in apart.why


def test_a_free_standing_deck_needs_braces_both_ways():
    """No house holds it: along the beam (recorded apart) and square to it, above 24 in."""
    name = "free_standing_platform"
    unseen = the(assessed(name), "post.bracing_across", "P1")
    assert (unseen.verdict, unseen.depends_on) == (Verdict.CANNOT_TELL, ("P1.is_braced_across",))
    for braced, verdict in ((True, Verdict.HOLDS), (False, Verdict.FAILS)):
        found = the(assessed(name, P1={"is_braced_across": braced}), "post.bracing_across", "P1")
        assert found.verdict is verdict
    low = assessed(name, **{f"P{n}": {"height_in": 24} for n in range(1, 7)})
    assert not low.by_id("post.bracing_across")
    assert not assessed(P1={"height_in": 60}).by_id("post.bracing_across")  # the ledger holds this deck


FREE = "free_standing_platform"
BOLTED = {
    "brace_size": "2x4", "brace_lies": "lapped on their sides", "brace_drop_in": 18, "brace_run_in": 18,
    "brace_fastener": "bolt", "brace_fasteners": 1, "brace_fastener_diameter_in": 0.5,
}  # fmt: skip


def test_a_brace_of_a_free_standing_deck_is_held_against_people_swaying():
    """12 psf on 10 by 12 ft over the three posts that are braced: 480 lb each; one 1/2 in bolt at an end takes less."""
    check = the(assessed(FREE), "post.brace_along", "P1")
    assert check.verdict is Verdict.CANNOT_TELL
    assert "480 lb" in check.reason
    assert "No code names the push" in check.reason
    small = the(assessed(FREE, L1={"width_in": 48, "depth_in": 48}), "post.brace_along", "P1")
    assert small.verdict is Verdict.HOLDS
    assert small.demand == pytest.approx(12 * 16 / 3)
    assert any("for information" in words for words in small.assumptions)


def test_what_is_missing_of_a_brace_is_asked_for():
    for fact in ("brace_size", "brace_lies", "brace_drop_in", "brace_fastener", "brace_fasteners"):
        check = the(assessed(FREE, P1={fact: ...}), "post.brace_along", "P1")
        assert check.depends_on == (f"P1.{fact}",)


def test_a_brace_that_nothing_holds_fails_and_one_cut_in_between_is_for_an_engineer():
    assert the(assessed(FREE, P1={"brace_fasteners": 0}), "post.brace_along", "P1").verdict is Verdict.FAILS
    check = the(assessed(FREE, P1={"brace_lies": "cut to fit between them"}), "post.brace_along", "P1")
    assert "engineer" in check.settles[0]


def test_a_brace_square_to_the_beam_is_fastened_to_a_joist():
    """A joist is half as thick as the beam of two plies; the share counts the posts that are braced that way."""
    small = {"width_in": 24, "depth_in": 24}
    across = the(assessed(FREE, L1=small, P1={"is_braced_across": True}), "post.brace_across", "P1")
    along = the(assessed(FREE, L1=small), "post.brace_along", "P1")
    assert across.demand == pytest.approx(3 * along.demand)
    assert any("like those along" in words for words in across.assumptions)
    fails = assessed(FREE, L1=small, P1={"is_braced_across": True}, J1={"beam": ..., "inner_beam": ...})
    assert the(fails, "post.brace_across", "P1").verdict is Verdict.CANNOT_TELL


def test_no_brace_is_asked_of_low_posts_or_of_a_deck_that_the_house_holds():
    assert not assessed(P1={"is_braced": True, **BOLTED}).by_id("post.brace_along")
    low = assessed(FREE, **{f"P{n}": {"height_in": 24} for n in range(1, 7)})
    assert not low.by_id("post.brace_along")
    assert [each.subject for each in assessed(FREE).by_id("post.brace_along")] == ["post P1", "post P2", "post P3"]


NOTCHED = {"size": "6x6", "height_in": 120, "notch_depth_in": 3}


def test_a_beam_in_a_notch_stands_beside_the_middle_of_the_post_and_bends_it():
    """6x6 notched 3 in: the middle of the seat is (5.5 - 3) / 2 = 1.25 in off the axis of the post (NDS 15.4)."""
    from engine.lumber import Lumber
    from engine.posts import post_capacity

    check = the(assessed(P2={**NOTCHED, "species": "hem-fir", "is_incised": True}), "post.compression", "P2")
    post = Lumber("hem-fir", "No. 2", "6x6", wet=True, incised=True)
    by_hand = post_capacity(post, 120, notch_depth_in=3, on_the_notch=True, eccentricity_in=1.25)
    assert check.governs == by_hand.governs == "eccentric seat"
    assert check.capacity == pytest.approx(by_hand.load_lb)
    (off,) = [step for step in check.steps if step.symbol == "e"]
    assert (off.formula, off.value) == ("(d - n) / 2", 1.25)


def test_a_beam_on_top_of_a_notched_post_presses_on_the_middle_of_what_is_left():
    check = the(assessed(B1={"seat": "on top of the post"}, P2=NOTCHED), "post.compression", "P2")
    assert next(step.value for step in check.steps if step.symbol == "e") == 1.5


def test_a_post_without_a_notch_under_a_beam_on_top_of_it_is_pressed_in_its_middle():
    check = the(
        assessed(B1={"seat": "on top of the post"}, P2={**NOTCHED, "notch_depth_in": 0}), "post.compression", "P2"
    )
    assert not [step for step in check.steps if step.symbol in ("e", "interaction")]


def test_a_beam_let_into_the_side_of_a_post_stands_nearer_to_its_middle():
    """6x6 with three 2x10 bolted to its side: 5 in off the axis; let in by 1.5 in, 3.5 in."""
    off = [
        next(step.value for step in the(assessed(B1={"seat": "bolted to the side of the post", "seat_bolts": 2,
             "seat_bolt_diameter_in": 0.5}, P2={**NOTCHED, "notch_depth_in": n}), "post.compression", "P2").steps
             if step.symbol == "e")
        for n in (0, 1.5)
    ]  # fmt: skip
    assert off == [5.0, 3.5]
