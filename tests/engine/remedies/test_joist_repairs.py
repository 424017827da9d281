"""Joists sistered, put closer, held up in the middle, hung anew, cut back."""

import pytest

from engine.assessment import assess
from engine.deck import Deck
from engine.remedies import remedies_for
from engine.remedies.joist_midspan import through_tributary_in
from engine.results import Verdict
from engine.statics import Line
from tests.engine.deck_files import changed, the
from tests.engine.remedies.proof import judged_anew, of_kind, remedies, still_fails

LONG = {"span_in": 180, "overhang_in": 0}


def test_one_joist_beside_each_carries_half_the_deck():
    found = of_kind(remedies(J1=LONG), "joist-sister")
    assert found.schedule[0].count == 12
    assert found.schedule[0].size == "2x10"
    bending = found.ratio_after / found.ratio_before
    assert bending == pytest.approx(0.5, abs=0.01), "the same wood at half the width of deck"


def test_the_fewest_joists_beside_each_are_taken():
    found = of_kind(remedies(J1=LONG | {"span_in": 180, "spacing_in": 24}), "joist-sister")
    new = found.schedule[0].count // 12
    assert still_fails(found, J1__spacing_in=24 / new), "one new joist fewer beside each does not do"


def test_a_notched_joist_is_not_counted_beside_the_new_one():
    found = of_kind(remedies(J1={"notch_depth_in": 3.0}), "joist-sister")
    after = found.deck_after.by_id["J1"].facts
    assert after["spacing_in"] == 16, "the new joist carries all of it"
    assert after["notch_depth_in"] == 0
    assert any("not counted" in words for words in found.assumptions)


def test_joists_side_by_side_hang_in_one_hanger_rated_for_both():
    found = of_kind(remedies(J1=LONG), "joist-sister")
    after = judged_anew(found)
    hanger = the(after, "joist.hanger")
    assert hanger.verdict is Verdict.HOLDS
    whole_lb = 50 / 144 * 16 * 180 / 2
    rated = found.deck_after.by_id["J1"].facts["hanger_rated_lb"]
    assert 2 * rated >= whole_lb
    assert f"{2 * rated:g} lb" in found.schedule[1].size


def test_new_joists_stand_between_the_old_ones():
    found = of_kind(remedies(J1=LONG), "joist-between")
    line = found.schedule[0]
    assert line.count == 11 and len(line.positions_in) == 11
    assert line.positions_in[:3] == (8.0, 24.0, 40.0)
    assert found.deck_after.by_id["J1"].facts["count"] == 23


def test_a_beam_in_the_middle_halves_the_span_and_stands_on_posts_that_hold():
    found = of_kind(remedies(J1=LONG), "joist-midspan-beam")
    fields = found.deck_after.of_kind("joist_field")
    assert [field.facts["span_in"] for field in fields] == [90, 90]
    new = {part.id for part in found.deck_after} - {part.id for part in assess(Deck.from_json(changed())).deck}
    after = judged_anew(found)
    for part_id in new:
        for check in after.about(part_id):
            assert check.verdict is not Verdict.FAILS, check
    kinds = {found.deck_after.by_id[part_id].kind.name for part_id in new}
    assert kinds == {"joist_field", "beam", "post", "footing"}


def test_the_new_beam_carries_what_joists_that_run_through_bring():
    """Against the three-moment statics of the engine: 1.25 of the half spans where they are equal."""
    assert through_tributary_in(90, 90) == pytest.approx(1.25 * 90)
    for inner, outer in ((60, 120), (90, 90), (40, 150)):
        solved = Line((inner, outer), 0.0, 0.0).solve([1.0, 1.0], 0.0, 0.0)
        assert through_tributary_in(inner, outer) == pytest.approx(solved.reactions_lb[1])


def test_the_span_behind_an_overhang_stays_four_times_as_long_as_the_overhang():
    found = remedies(J1={"span_in": 186, "overhang_in": 30})
    beam = of_kind(found, "joist-midspan-beam")
    outer = next(field for field in beam.deck_after.of_kind("joist_field") if field.id != "J1")
    assert outer.facts["overhang_in"] == 30
    assert outer.facts["span_in"] >= 4 * 30
    assert not [each for each in beam.makes_worse if each.check_id.startswith("joist.overhang")]


def test_empty_holes_of_a_hanger_are_filled_if_that_is_enough():
    found = remedies(J1={"hanger_fasteners_present": 0.25})
    assert of_kind(found, "hanger-fill").ratio_after == pytest.approx(50 / 144 * 16 * 104 / 2 / 980)
    weak = remedies(J1={"hanger_fasteners_present": 0.3, "hanger_rated_lb": 250})
    assert not [remedy for remedy in weak if remedy.kind == "hanger-fill"], "a full hanger of 250 lb is too weak"


def test_a_new_hanger_is_rated_for_the_joist_and_for_the_list():
    """R = 50 psf x 16 in x 104 in / 2 = 289 lb; DCA 6 Table 3C lists 600 lb for a 2x10: the list governs."""
    found = of_kind(remedies(J1={"hanger_rated_lb": 250}), "hanger-new")
    assert "600 lb" in found.schedule[0].size
    assert still_fails(found, J1__hanger_rated_lb=595.0) == {"joist.hanger_table"}
    heavy = of_kind(remedies(J1={"hanger_rated_lb": 250}, basis={"live_psf": 150}), "hanger-new")
    needed_lb = 160 / 144 * 16 * 104 / 2
    assert heavy.deck_after.by_id["J1"].facts["hanger_rated_lb"] == 5 * -(-needed_lb // 5)


def test_an_overhang_is_cut_back_to_the_longest_that_holds():
    found = of_kind(remedies(J1={"overhang_in": 40}), "overhang-cut")
    left = found.deck_after.by_id["J1"].facts["overhang_in"]
    assert left == 26, "a quarter of the span of 104 in"
    assert still_fails(found, J1__overhang_in=left + 0.5)
    assert found.deck_after.by_id["L1"].facts["depth_in"] == 128 - 14


def test_a_joist_that_bears_on_too_little_gets_a_ply_under_it():
    found = of_kind(remedies(J1={"bearing_in": 1.0}, B1={"plies": 2}), "joist-bearing-ply")
    assert found.deck_after.by_id["J1"].facts["bearing_in"] == 2.5
    assert found.deck_after.by_id["B1"].facts["plies"] == 3


def test_the_uplift_clip_is_rated_for_what_the_overhang_lifts():
    """IRC R507.8 and statics: live load on the overhang, dead load on all of it."""
    found = of_kind(remedies(J1={"overhang_in": 60, "span_in": 100}), "uplift-clips")
    lift_lb = 16 / 144 * (40 * 60**2 / 200 - 10 * (100 / 2 - 60**2 / 200))
    assert found.deck_after.by_id["J1"].facts["uplift_clip_rated_lb"] == 5 * -(-lift_lb // 5)


def test_joists_of_an_unknown_species_are_repaired_for_every_species_it_may_be():
    file = changed(J1={**LONG, "span_in": 175, "species": "unknown"})
    deck = Deck.from_json(file)
    found = [remedy for remedy in remedies_for(deck) if remedy.kind == "joist-sister" and remedy.is_proved]
    for remedy in found:
        for species in ("southern pine", "spruce-pine-fir"):
            known = assess(remedy.deck_after.with_fact("J1.species", species))
            assert the(known, "joist.bending").verdict is Verdict.HOLDS
        assert "species of what is there" in remedy.schedule[0].material
    assert found
