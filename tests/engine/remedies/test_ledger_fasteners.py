"""Fasteners added to a ledger: the fewest that hold, where the rule wants them, high and low in turn."""

from itertools import combinations, pairwise

import pytest

from engine.assessment import assess
from engine.deck import Deck
from engine.remedies.ledger_pattern import Ends, Place, filled
from engine.results import Verdict
from tests.engine.deck_files import changed, the
from tests.engine.remedies.proof import judged_anew, of_kind, remedies, undisputed_failures

ENDS = Ends(2.0, 5.0)


def with_missing(*numbers, **more):
    """The sound deck with some of its fasteners gone."""
    return {f"F{number}": {"condition": "missing"} for number in numbers} | more


def test_missing_bolts_are_put_back_where_they_were():
    found = of_kind(remedies(**with_missing(5, 6, 7, 8)), "ledger-bolts")
    line = found.schedule[0]
    assert (line.count, line.positions_in) == (4, (48.0, 60.0, 72.0, 84.0))
    assert not found.change.added


def test_fewer_bolts_in_new_places_are_offered_where_they_are_enough():
    """IRC 2021 wants 1/2 in bolts at 36 in at most under joists of 104 in: 4 missing bolts leave a gap of 60 in."""
    found = of_kind(remedies(**with_missing(5, 6, 7, 8)), "ledger-new-places")
    line = found.schedule[0]
    assert line.count == 2, "one more would be closer than needed, one less leaves 30 in and two in one row"
    after = judged_anew(found)
    assert the(after, "ledger.spacing").demand == pytest.approx(20.0)
    assert the(after, "ledger.stagger").verdict is Verdict.HOLDS


def test_one_new_bolt_fewer_fails_wherever_the_others_stand():
    """Every way of leaving one out is tried, and of the rest every shift by whole inches within the gap."""
    file = changed(**with_missing(3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13))
    file["fasteners"] = [each for each in file["fasteners"] if each.get("condition") != "missing"]
    deck = Deck.from_json(file)
    assert ("ledger.spacing", "ledger LD1") in undisputed_failures(assess(deck))
    from engine.remedies import remedies_for

    found = of_kind(remedies_for(deck), "ledger-bolts")
    new = [added.facts["position_in"] for added in found.change.added]
    kept = [each["position_in"] for each in file["fasteners"]]
    allowed = the(assess(deck), "ledger.spacing").capacity
    gap = max(b - a for a, b in pairwise(sorted(kept)))
    fewest = next(n for n in range(20) if gap / (n + 1) <= allowed)
    # high and low in turn asks for one number of new ones modulo two between bolts whose rows are known
    rows = {each["position_in"]: each["row"] for each in file["fasteners"]}
    left = max(x for x in kept if x < new[0])
    right = min(x for x in kept if x > new[0])
    odd = rows[left] == rows[right]
    assert len(new) == (fewest if fewest % 2 == odd else fewest + 1)
    for fewer in combinations(new, len(new) - 1):
        again = Deck.from_json(with_bolts(file, fewer, found))
        assert undisputed_failures(assess(again)) & {(e.check_id, e.subject) for e in found.answers} or _breaks(again)


def with_bolts(file, positions, remedy):
    template = remedy.change.added[0].facts
    rows = {added.facts["position_in"]: added.facts["row"] for added in remedy.change.added}
    extra = [{**template, "id": f"N{n}", "position_in": x, "row": rows[x]} for n, x in enumerate(positions)]
    return {**file, "fasteners": [*file["fasteners"], *extra]}


def _breaks(deck):
    return {key[0] for key in undisputed_failures(assess(deck))} & {"ledger.spacing", "ledger.stagger"}


def test_a_new_place_beside_an_old_hole_is_pointed_out():
    """Between two upper bolts at 24 and 96 in three new ones stand at 42, 60 and 78 in; F6 is missing at 60 in."""
    found = of_kind(remedies(**with_missing(4, 5, 6, 7, 8)), "ledger-new-places")
    assert found.schedule[0].positions_in == (42.0, 60.0, 78.0)
    assert any("at 60 in an old hole" in words for words in found.cautions)


def test_new_bolts_keep_their_distance_from_the_ends():
    file = with_missing(1, 2, 14, 15)
    found = of_kind(remedies(**file), "ledger-new-places")
    at = found.schedule[0].positions_in
    assert min(at) == pytest.approx(3.5) and max(at) == pytest.approx(168 - 3.5)
    assert the(judged_anew(found), "ledger.ends").verdict is Verdict.HOLDS


def test_nails_and_screws_are_not_counted_but_bolts_take_their_load():
    found = of_kind(
        remedies(**{f"F{n}": {"fastener": "nail", "diameter_in": 0.162} for n in range(2, 15)}), "ledger-bolts"
    )
    assert {f"F{n}" for n in range(2, 15)} == set(found.change.removed)
    assert the(judged_anew(found), "ledger.spacing").verdict is Verdict.HOLDS


def test_every_bolt_is_inside_the_ledger_and_no_two_share_a_place():
    for number in range(1, 15):
        found = remedies(**with_missing(number, number + 1))
        for remedy in found:
            if remedy.kind.startswith("ledger"):
                places = [
                    part.facts["position_in"] for part in remedy.deck_after.of_kind("fastener")
                    if part.facts["condition"] == "good"
                ]  # fmt: skip
                assert all(2 <= place <= 166 for place in places)
                assert min(b - a for a, b in pairwise(sorted(places))) >= 2


def test_a_ledger_on_veneer_is_not_bolted_again():
    found = remedies(**with_missing(5, 6, 7, LD1={"house_band": "masonry veneer"}))
    assert not [remedy for remedy in found if remedy.kind in ("ledger-bolts", "ledger-lags") and remedy.is_proved]
    assert of_kind(found, "house-line").is_proved


def test_stainless_goes_with_stainless_and_near_salt_water():
    salt = remedies(**with_missing(5, 6, 7, 8, basis={"is_near_salt_water": True}))
    assert of_kind(salt, "ledger-bolts").schedule[0].material.startswith("stainless steel 316")
    beside = remedies(**with_missing(5, 6, 7, 8, F1={"metal": "stainless steel 304"}))
    assert of_kind(beside, "ledger-bolts").schedule[0].material.startswith("stainless steel 304")
    plain = remedies(**with_missing(5, 6, 7, 8))
    assert of_kind(plain, "ledger-bolts").schedule[0].material.startswith("hot-dip galvanized")


def test_a_bolt_is_long_enough_for_ledger_sheathing_band_washers_and_nut():
    found = of_kind(remedies(**with_missing(5, 6, 7, 8)), "ledger-bolts")
    assert "4 1/2 in" in found.schedule[0].size  # 1.5 + 0.5 + 1.5 + 1 in


def test_what_is_not_known_is_asked_for():
    found = remedies(**with_missing(5, 6, 7, 8, LD1={"length_in": ...}))
    waiting = [remedy for remedy in found if remedy.kind == "ledger-bolts"]
    assert [remedy.is_proved for remedy in waiting] == [False]
    assert "length of ledger LD1" in waiting[0].needs[0]
    assert waiting[0].schedule == ()


@pytest.mark.parametrize("gap_in", [7, 12, 16.5, 30])
def test_a_pattern_leaves_no_gap_wider_than_asked(gap_in):
    fixed = [Place(30.0, "upper", False), Place(77.0, "upper", False), Place(90.0, "lower", False)]
    places = filled(fixed, 160.0, gap_in, ENDS)
    at = [place.position_in for place in places]
    assert at == sorted(at)
    assert max(b - a for a, b in pairwise(at)) <= gap_in + 1e-9
    assert 2 <= at[0] <= 5 and 2 <= 160 - at[-1] <= 5
    assert all(a.row != b.row for a, b in pairwise(places)), "high and low in turn"
    assert set(fixed) <= set(places)


def test_a_ledger_that_no_rule_covers_is_taken_out_of_the_load_path_though_nothing_fails():
    """IRC R507.8: a deck is self-supporting where its connection to the house cannot be judged."""
    found = remedies(LD1={"house_band": "masonry veneer"}, L1={"height_in": 60})
    line = of_kind(found, "house-line")
    assert {each.check_id for each in line.answers} == {
        "ledger.spacing", "ledger.fastener_nds", "ledger.fastener_tested"
    }  # fmt: skip
    assert line.is_proved and line.ratio_before is None


def test_a_ledger_about_which_something_is_only_not_recorded_is_left_alone():
    assert not [remedy for remedy in remedies(LD1={"sheathing_in": ...}) if remedy.kind.startswith(("ledger", "house"))]
