"""Water and boards made good; what no standard repair answers goes to an engineer."""

from engine.assessment import assess
from engine.deck import Deck
from engine.remedies import remedies_for
from engine.results import Verdict
from tests.engine.deck_files import changed, the
from tests.engine.remedies.proof import judged_anew, of_kind, remedies


def test_flashing_is_lapped_behind_the_wall_covering():
    found = of_kind(remedies(LD1={"flashing": "none"}), "flashing")
    assert the(judged_anew(found), "water.flashing").verdict is Verdict.HOLDS
    assert "0.019 in" in found.schedule[0].size


def test_damp_wood_is_dried_and_measured_again_and_nothing_is_claimed():
    found = of_kind(remedies(LD1={"moisture_percent": 24}), "dry-out")
    assert not found.is_proved and found.who == "owner"
    assert not found.clears("water.moisture", "ledger LD1")
    assert found.change.to_dict() == {"facts": {}, "added": [], "removed": []}


def test_a_soft_ledger_is_replaced_with_its_fasteners():
    found = of_kind(remedies(LD1={"decay_depth_in": 0.5}), "ledger-new-board")
    assert [line.what for line in found.schedule] == ["ledger board", "half-inch through-bolt"]
    after = judged_anew(found)
    assert the(after, "water.decay", "LD1").verdict is Verdict.HOLDS
    assert the(after, "ledger.edges").verdict is Verdict.HOLDS


def test_a_ledger_too_shallow_for_the_rule_is_replaced_by_one_that_is_not():
    found = of_kind(
        remedies(LD1={"size": "2x6"}, J1={"size": "2x6", "span_in": 60, "overhang_in": 0}), "ledger-new-board"
    )
    assert found.deck_after.by_id["LD1"].facts["size"] == "2x8"


def test_rows_too_near_the_edge_ask_for_a_new_pattern():
    found = of_kind(remedies(LD1={"upper_row_from_top_in": 1}), "ledger-refasten")
    facts = found.deck_after.by_id["LD1"].facts
    assert facts["upper_row_from_top_in"] == 2
    assert 9.25 - facts["lower_row_from_bottom_in"] == 6.5, "2x10: lower row 6 1/2 in below the top (IRC figure)"


def test_soft_joists_beams_and_posts_are_replaced():
    found = remedies(J1={"decay_depth_in": 0.25}, B1={"decay_depth_in": 0.25}, P2={"decay_depth_in": 0.5})
    soft = {remedy.id: remedy for remedy in found if remedy.kind == "replace-soft"}
    assert set(soft) == {"replace-soft-J1", "replace-soft-B1", "replace-soft-P2"}
    for remedy in soft.values():
        subject = remedy.subject
        assert the(judged_anew(remedy), "water.decay", subject).verdict is Verdict.HOLDS


def test_boards_that_span_too_far_are_made_thicker_or_the_joists_closer():
    found = remedies(J1={"spacing_in": 24, "count": 8})
    assert of_kind(found, "boards-thicker").deck_after.by_id["L1"].facts["decking"] == "2 in thick wood"
    assert of_kind(found, "joist-for-boards").deck_after.by_id["J1"].facts["spacing_in"] == 12


def test_soft_boards_are_replaced():
    found = of_kind(remedies(L1={"surface_condition": "some soft boards"}), "boards-sound")
    assert the(judged_anew(found), "surface.condition").verdict is Verdict.HOLDS


def test_a_hot_tub_may_be_taken_off_or_carried_by_new_joists_while_the_rest_stays_for_an_engineer():
    file = changed()
    file["patches"] = [{"id": "PT1", "joist_field": "J1", "what": "hot tub", "load_psf": 160, "area_sqft": 40}]
    deck = Deck.from_json(file)
    assert the(assess(deck), "patch.joist_bending").verdict is Verdict.FAILS
    found = remedies_for(deck)
    assert not of_kind(found, "heavy-thing-away").deck_after.of_kind("patch")
    under = of_kind(found, "joist-under-load")
    assert the(judged_anew(under), "patch.joist_bending").verdict is Verdict.HOLDS
    assert any("licensed engineer" in words for words in under.cautions)


def test_what_no_standard_repair_answers_is_work_for_a_licensed_engineer_with_the_reason():
    found = of_kind(remedies(S1={"headroom_in": 70}), "engineer")
    assert found.who == "licensed engineer"
    assert "Headroom" in found.schedule[0].pattern
    assert not found.is_proved and found.cautions


def test_a_deck_with_very_much_unknown_is_not_guessed_at_and_comes_to_an_end():
    unknown = dict.fromkeys(("species", "grade", "is_incised"), "unknown")
    more = {
        "J1": {**unknown, "span_in": 220},
        "B1": unknown,
        "LD1": unknown,
        "P1": unknown,
        "P2": unknown,
        "P3": unknown,
    }
    found = remedies(**more)
    assert all(remedy.is_proved or remedy.needs or remedy.who != "contractor" for remedy in found)
