"""The plan is to scale, shows what is recorded and says what is not."""

import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.drawings.ledger_strip import draw_ledger
from inspections.drawings.paper import _touch
from inspections.drawings.plan import draw_plan

A_DECK = Path(__file__).parents[2] / "engine" / "decks" / "sound_ledger_deck.json"


@pytest.fixture
def deck():
    return json.loads(A_DECK.read_text())


def pieces(svg, piece):
    return [each for each in ElementTree.fromstring(svg).iter() if each.get("data-piece") == piece]


def size(element, side):
    return float(element.get(side))


def test_every_part_that_has_a_place_is_in_the_plan(deck):
    plan = draw_plan(deck)
    drawn = set(re.findall(r'data-part="([^"]+)"', plan.svg))
    everything = {part["id"] for parts in deck.values() if isinstance(parts, list) for part in parts}
    assert everything - drawn == {"T1", "T2"}  # the ties lie inside the floor


def test_lengths_in_the_plan_stand_in_the_ratio_of_the_deck(deck):
    svg = draw_plan(deck).svg
    surface, ledger = pieces(svg, "surface")[0], pieces(svg, "ledger")[0]
    assert size(surface, "width") / size(surface, "height") == pytest.approx(168 / 128, rel=1e-3)
    assert size(ledger, "width") == pytest.approx(size(surface, "width"), rel=1e-3)
    stair = pieces(svg, "stair")[0]
    assert size(stair, "width") / size(surface, "width") == pytest.approx(40 / 168, rel=1e-3)
    assert size(stair, "height") / size(surface, "height") == pytest.approx(52.5 / 128, rel=1e-3)
    footing = pieces(svg, "footing")[1]
    assert 2 * size(footing, "r") / size(surface, "width") == pytest.approx(24 / 168, rel=1e-3)


def test_a_ledger_half_as_long_as_the_deck_is_half_as_wide_in_the_plan(deck):
    deck["ledgers"][0]["length_in"] = 84
    deck["fasteners"] = []
    svg = draw_plan(deck).svg
    assert size(pieces(svg, "ledger")[0], "width") / size(pieces(svg, "surface")[0], "width") == pytest.approx(
        0.5, rel=1e-3
    )


def test_the_beam_lies_at_the_span_of_its_joists(deck):
    svg = draw_plan(deck).svg
    surface, beam = pieces(svg, "surface")[0], pieces(svg, "beam")[0]
    from_house = size(beam, "y") + size(beam, "height") / 2 - size(surface, "y")
    assert from_house / size(surface, "height") == pytest.approx(104 / 128, rel=1e-3)


def test_posts_stand_at_their_measured_places(deck):
    svg = draw_plan(deck).svg
    surface = pieces(svg, "surface")[0]
    places = [
        (size(post, "x") + size(post, "width") / 2 - size(surface, "x")) / size(surface, "width") * 168
        for post in pieces(svg, "post")
    ]
    assert places == pytest.approx([12, 84, 156], abs=0.1)


def test_no_two_labels_touch(deck):
    for paper in draw_plan(deck, standing=dict.fromkeys(("P1", "P2", "P3", "B1", "G1", "LD1", "J1"), "fails")).papers:
        boxes = paper.label_boxes()
        assert len(boxes) > 8
        for place, one in enumerate(boxes):
            for other in boxes[place + 1 :]:
                assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def test_what_is_not_recorded_is_said_and_not_drawn(deck):
    del deck["beams"][0]["spans_in"]
    deck["posts"][1].pop("position_in")
    deck["footings"][0]["width_in"] = "unknown"
    plan = draw_plan(deck)
    assert any("spans of the beam B1" in words for words in plan.missing)
    assert any("place of the post P2" in words for words in plan.missing)
    assert any("width of the footing FT1" in words for words in plan.missing)
    assert 'data-part="P2"' not in plan.svg
    assert 'data-part="FT1"' not in plan.svg


def test_a_deck_without_a_width_has_no_plan_and_says_why(deck):
    deck["levels"][0]["width_in"] = "unknown"
    del deck["ledgers"][0]["length_in"]
    del deck["beams"][0]["spans_in"]
    plan = draw_plan(deck)
    assert plan.drawings == ()
    assert any("width of level L1" in words for words in plan.missing)


def test_an_empty_record_draws_nothing():
    assert draw_plan({"format": "soundings deck 1", "basis": {"edition": "IRC 2021"}}).drawings == ()


def test_a_part_that_is_over_says_so_in_words_too(deck):
    svg = draw_plan(deck, standing={"B1": "fails"}).svg
    assert "B1 over" in svg
    assert "beam B1, more than it can carry" in svg


def test_a_part_with_an_address_can_be_tapped_with_a_finger(deck):
    svg = draw_plan(deck, hrefs={"P2": "/posts#part-P2"}).svg
    link = next(each for each in ElementTree.fromstring(svg).iter() if each.get("href") == "/posts#part-P2")
    largest = max(size(each, "width") for each in link.iter() if each.tag.endswith("rect"))
    assert largest >= 44


def test_names_cannot_break_out_of_the_drawing(deck):
    deck["guards"][0]["name"] = 'front"><script>x</script>'
    deck["levels"][0]["name"] = "<b>"
    svg = draw_plan(deck).svg
    assert "<script>" not in svg
    ElementTree.fromstring(svg)


def test_each_level_gets_a_drawing_of_its_own(deck):
    deck["levels"].append({"id": "L2", "width_in": 96, "depth_in": 96, "stands": "free-standing"})
    assert len(draw_plan(deck).drawings) == 2


def test_fasteners_of_the_strip_stand_at_their_places(deck):
    svg = draw_ledger(deck["ledgers"][0], deck["fasteners"], hrefs={})
    root = ElementTree.fromstring(svg)
    board = pieces(svg, "ledger")[0]
    assert float(root.get("data-px-per-in")) * 168 == pytest.approx(size(board, "width"), rel=1e-3)
    assert svg.count("data-part=") == 15


def test_the_condition_of_a_fastener_shows_by_shape(deck):
    ledger = deck["ledgers"][0]

    def drawn(**facts):
        return draw_ledger(ledger, [{"id": "F1", "ledger": "LD1", "position_in": 40, "fastener": "bolt", **facts}])

    drawings = [drawn(condition=each) for each in ("good", "loose", "missing", "corroded")]
    without_words = [re.sub(r"<title>.*?</title>|aria-label=\"[^\"]*\"", "", each) for each in drawings]
    assert len(set(without_words)) == 4
    assert drawn(fastener="nail") != drawn(fastener="lag screw")


def marks(svg):
    """(numbers, part) of each mark of findings."""
    drawn = ElementTree.fromstring(svg).iter()
    return [(each.get("data-finding"), each.get("data-of")) for each in drawn if each.get("data-finding")]


def test_a_finding_stands_at_its_part_under_its_number_and_is_said_to_who_cannot_see_it(deck):
    plan = draw_plan(deck, findings={"B1": [2], "P1": [1, 4], "T1": [3]})
    assert marks(plan.svg) == [("2", "B1"), ("1, 4", "P1")]
    assert plan.numbered == {1, 2, 4}  # the tie lies inside the floor
    assert ">post P1, findings 1, 4</title>" in plan.svg


def test_many_findings_at_one_part_are_said_in_marks_that_can_be_read(deck):
    plan = draw_plan(deck, findings={"J1": [1, 2, 3, 4, 5, 9, 11, 14, 20, 21, 22, 40]})
    assert [numbers for numbers, _ in marks(plan.svg)] == ["1-5, 9", "11, 14", "20-22, 40"]


def test_without_findings_the_drawing_is_as_it_was(deck):
    assert draw_plan(deck, findings={}).svg == draw_plan(deck).svg
    assert marks(draw_plan(deck).svg) == []


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_however_many_there_are_no_number_covers_another_or_a_word(data):
    file = json.loads(A_DECK.read_text())
    keys = [part["id"] for parts in file.values() if isinstance(parts, list) for part in parts]
    places = data.draw(st.lists(st.sampled_from(keys), min_size=1, max_size=60))
    findings = {}
    for number, key in enumerate(places, 1):
        findings.setdefault(key, []).append(number)
    (paper,) = draw_plan(file, findings=findings).papers
    boxes = paper.label_boxes()
    assert not any(_touch(one, other) for place, one in enumerate(boxes) for other in boxes[:place])
    assert all(box[0] >= 0 and box[1] >= 0 and box[2] <= paper.right_px and box[3] <= paper.bottom_px for box in boxes)
