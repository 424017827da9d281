"""Beams, posts and footings: the next size up, one more ply, one more post; and never one more than needed."""

from itertools import pairwise

import pytest

from engine.assessment import assess
from engine.remedies.sizes import listed
from engine.results import Verdict
from engine.sections import find_size
from tests.engine.deck_files import the
from tests.engine.remedies.proof import judged_anew, of_kind, remedies, still_fails, undisputed_failures

WEAK = {"plies": 2, "size": "2x6", "overhang_left_in": 6, "overhang_right_in": 6}
WEAK_BEAM = {"B1": {"plies": 1, "size": "2x10"}}


def test_plies_are_added_until_the_beam_holds_and_no_further():
    found = of_kind(remedies(**WEAK_BEAM), "beam-ply")
    plies = found.deck_after.by_id["B1"].facts["plies"]
    assert found.schedule[0].count == plies - 1
    assert still_fails(found, B1__plies=plies - 1)


def test_a_deeper_beam_makes_its_posts_shorter():
    found = of_kind(remedies(B1={"plies": 2, "size": "2x6"}), "beam-deeper")
    size = found.deck_after.by_id["B1"].facts["size"]
    deeper_in = find_size(size).depth_in - 5.5
    assert found.deck_after.by_id["P1"].facts["height_in"] == 30 - deeper_in
    smaller = {"2x8": "2x6", "2x10": "2x8", "2x12": "2x10"}[size]
    assert still_fails(found, B1__size=smaller)


ENDS = {f"P{n}": {"position_in": place} for n, place in ((1, 6), (2, 78), (3, 150))}


def test_a_post_in_the_middle_of_a_span_halves_it_and_stands_in_order():
    found = of_kind(remedies(B1=WEAK, **ENDS), "beam-post")
    beam = found.deck_after.by_id["B1"].facts
    assert set(beam["spans_in"]) == {36.0}
    posts = found.deck_after.of_kind("post")
    at = [post.facts["position_in"] for post in posts]
    assert at == sorted(at) == [6, 42, 78, 114, 150]
    assert the(judged_anew(found), "beam.bending").verdict is Verdict.HOLDS


def test_posts_without_places_are_listed_where_they_stand():
    gone = {f"P{n}": {"position_in": ...} for n in (1, 2, 3)}
    found = of_kind(remedies(B1=WEAK, **gone), "beam-post")
    order = [post.id for post in found.deck_after.of_kind("post")]
    assert [order.index(each) for each in ("P1", "P2", "P3")] == [0, 2, 4]


def test_a_span_of_a_spliced_beam_is_tried_both_ways_of_running():
    found = of_kind(remedies(B1={**WEAK, "runs": "spliced over posts"}, **ENDS), "beam-post")
    assert found.change.to_dict()["facts"]["B1.runs"] == {"one_of": ["continuous", "spliced over posts"]}
    for runs in ("continuous", "spliced over posts"):
        after = undisputed_failures(assess(found.deck_after.with_fact("B1.runs", runs)))
        assert not {key for key in after if key[0].startswith(("beam.", "post.", "footing."))}


def test_a_beam_beside_its_posts_gets_posts_under_it_with_caps():
    side = {"seat": "bolted to the side of the post", "seat_bolts": 2, "seat_bolt_diameter_in": 0.5}
    found = of_kind(remedies(B1=side), "seat-on-top")
    facts = found.deck_after.by_id["B1"].facts
    assert facts["seat"] == "on top of the post"
    assert find_size(found.deck_after.by_id["P1"].facts["size"]).depth_in >= 4.5, "three plies find room on it"
    assert not {key for key in undisputed_failures(judged_anew(found)) if key[0] in ("beam.seat", "post.seat_bolts")}


def test_a_bearing_is_made_as_long_as_the_load_asks():
    found = of_kind(remedies(B1={"bearing_in": 1.0}), "seat-cap")
    length = found.deck_after.by_id["B1"].facts["bearing_in"]
    assert still_fails(found, B1__bearing_in=length - 0.5)


def test_a_beam_joined_between_its_posts_is_joined_over_them():
    found = of_kind(remedies(B1={"runs": "spliced between posts"}), "beam-rejoin")
    assert the(judged_anew(found), "beam.splice").verdict is Verdict.HOLDS


def tall_posts(height_in, **more):
    return {f"P{n}": {"size": "4x4", "height_in": height_in, **more} for n in (1, 2, 3)}


def test_the_smallest_post_that_holds_is_taken_for_all_that_fail():
    found = of_kind(remedies(basis={"edition": "IRC 2018"}, **tall_posts(100, notch_depth_in=0)), "post-larger")
    size = found.deck_after.by_id["P1"].facts["size"]
    smaller = {"4x6": "4x4", "6x6": "4x6", "8x8": "6x6"}[size]
    assert still_fails(found, P1__size=smaller, P2__size=smaller, P3__size=smaller)
    assert found.schedule[0].count == len({post for post in ("P1", "P2", "P3") if f"{post}.size" in found.change.facts})


def test_tall_posts_of_a_free_standing_deck_are_braced_both_ways():
    found = of_kind(remedies("free_standing_platform"), "post-brace")
    assert found.schedule[0].count == 6
    assert the(judged_anew(found), "post.bracing", "P4").verdict is Verdict.HOLDS


def test_a_post_on_a_bare_block_gets_a_base_above_the_concrete():
    found = of_kind(remedies("free_standing_platform"), "post-base")
    assert the(judged_anew(found), "post.foot", "P1").verdict is Verdict.HOLDS


@pytest.mark.parametrize(("shape", "step"), [("round", None), ("square", 2.0)])
def test_each_footing_is_the_next_size_that_holds(shape, step):
    small = {f"FT{n}": {"shape": shape, "width_in": 8, "thickness_in": 6, "depth_in": 10} for n in (1, 2, 3)}
    found = of_kind(remedies(basis={"soil_psf": 1500, "edition": "IRC 2018"}, **small), "footing-new")
    assert found.deck_after.by_id["FT1"].facts["depth_in"] == 30, "the frost depth of the place"
    widths = {n: found.deck_after.by_id[f"FT{n}"].facts["width_in"] for n in (1, 2, 3)}
    assert widths[2] > widths[1], "the middle post carries more"
    for number, width in widths.items():
        forms = [each for each in listed("round_form") if each < width] if step is None else [width - step]
        assert still_fails(found, **{f"FT{number}__width_in": forms[-1]}) & {"footing.bearing", "footing.table"}


def test_a_footing_is_thick_enough_for_its_spread():
    found = of_kind(remedies(FT2={"width_in": 8, "thickness_in": 2}), "footing-new")
    facts = found.deck_after.by_id["FT2"].facts
    assert facts["thickness_in"] >= (facts["width_in"] - 5.5) / 2
    assert still_fails(found, FT2__thickness_in=max(1.0, facts["thickness_in"] - 1)) == {"footing.thickness"}


def test_no_footing_is_drawn_up_without_the_frost_depth():
    found = remedies(FT2={"width_in": 8}, basis={"frost_depth_in": ...})
    waiting = of_kind(found, "footing-new")
    assert not waiting.is_proved and "frost depth" in waiting.needs[0]


def test_a_line_of_posts_at_the_house_takes_the_ledger_out_of_the_load_path():
    file = {f"F{n}": {"condition": "missing"} for n in range(4, 12)}
    found = of_kind(remedies(L1={"height_in": 60}, **file), "house-line")
    deck = found.deck_after
    assert deck.by_id["L1"].facts["stands"] == "free-standing"
    assert not deck.of_kind("ledger") and not deck.of_kind("fastener")
    field = deck.by_id["J1"].facts
    beam = deck.by_id[field["inner_beam"]]
    posts = [post for post in deck.of_kind("post") if post.facts["beam"] == beam.id]
    assert len(posts) == len(beam.facts["spans_in"]) + 1
    at = [post.facts["position_in"] for post in posts]
    assert at[0] == 0 and at[-1] == pytest.approx(168) and all(a < b for a, b in pairwise(at))
    height = 60 - 1 - 9.25 - find_size(beam.facts["size"]).depth_in
    assert all(post.facts["height_in"] == height for post in posts)
    assert all(post.facts["is_braced"] for post in deck.of_kind("post") if post.facts["height_in"] > 24)
    assert not undisputed_failures(judged_anew(found)) - {("guard.post_bending", "guard G1 (front)")}


def test_a_deck_too_low_for_posts_gets_no_line_of_posts():
    file = {f"F{n}": {"condition": "missing"} for n in range(4, 12)}
    assert not [remedy for remedy in remedies(L1={"height_in": 20}, **file) if remedy.kind == "house-line"]


def test_ties_are_added_at_the_end_that_has_none():
    found = of_kind(remedies(T1={"end": "left"}, T2={"end": "left"}), "ties-two")
    assert [new.facts["end"] for new in found.change.added] == ["right"]
    assert of_kind(remedies(T1={"end": "left"}, T2={"end": "left"}), "ties-four").schedule[0].count == 2


def test_smaller_ties_make_up_the_set_of_four():
    weak = {name: {"rated_lb": 800, "end": "left"} for name in ("T1", "T2")}
    assert of_kind(remedies(**weak), "ties-two").schedule[0].count == 2
    assert of_kind(remedies(**weak), "ties-four").schedule[0].count == 2


def test_the_end_post_of_a_beam_that_runs_too_far_is_moved_outward_to_a_quarter():
    """IRC R507.5, a quarter of the span beside it: of 72 + 24 in a fifth, 19.2 in, may run past; 19 in are left."""
    places = {f"P{n}": {"position_in": place} for n, place in ((1, 24), (2, 96), (3, 168))}
    found = of_kind(remedies(B1={"overhang_left_in": 24}, **places), "beam-end-post")
    beam = found.deck_after.by_id["B1"].facts
    assert (beam["overhang_left_in"], beam["spans_in"]) == (19, (77, 72))
    assert found.deck_after.by_id["P1"].facts["position_in"] == 19
    after = judged_anew(found)
    assert the(after, "beam.overhang").verdict is Verdict.HOLDS
    assert still_fails(found, B1__overhang_left_in=19.5)
    assert the(after, "footing.bearing", "FT1").verdict is Verdict.HOLDS


def test_loose_plies_are_nailed_as_the_rule_has_it():
    """168 in of beam: 11 nails to a row, two rows, two joints between three plies."""
    found = of_kind(remedies(B1={"ply_fastener": "nothing seen"}), "beam-ply-nails")
    assert found.schedule[0].count == 2 * 2 * 11
    assert the(judged_anew(found), "beam.ply_fastening").verdict is Verdict.HOLDS


def test_a_ply_that_hangs_beside_its_post_is_bolted_or_the_posts_are_changed():
    narrow = {"P2": {"notch_depth_in": 3}, "B1": {"seat_bolts": 0}}
    bolted = of_kind(remedies(**narrow), "notch-bolts")
    number = bolted.deck_after.by_id["B1"].facts["seat_bolts"]
    assert the(judged_anew(bolted), "beam.ply_hold", "P2").verdict is Verdict.HOLDS
    assert still_fails(bolted, B1__seat_bolts=number - 1)
    assert any("over its whole width" in words for words in bolted.cautions)
    seated = judged_anew(of_kind(remedies(**narrow), "seat-on-top"))
    assert the(seated, "beam.bearing_width", "P2").verdict is Verdict.HOLDS
    assert not seated.by_id("beam.ply_hold")
