"""The section is to scale and follows the load from the surface to the ground."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from inspections.drawings.section import draw_section

A_DECK = Path(__file__).parents[2] / "engine" / "decks" / "sound_ledger_deck.json"


@pytest.fixture
def deck():
    return json.loads(A_DECK.read_text())


def piece(svg, name):
    found = [each for each in ElementTree.fromstring(svg).iter() if each.get("data-piece") == name]
    assert len(found) == 1
    return {side: float(found[0].get(side)) for side in ("x", "y", "width", "height")}


def test_the_section_follows_the_load_path(deck):
    assert draw_section(deck).cuts == ("J1", "LD1", "B1", "P1", "FT1", "G1")
    assert draw_section(deck).missing == ()


def test_depths_and_heights_stand_in_the_ratio_of_the_deck(deck):
    svg = draw_section(deck).svg
    joist, beam, post, footing, guard = (piece(svg, name) for name in ("joist", "beam", "post", "footing", "guard"))
    px_per_in = joist["width"] / (104 + 24)
    assert joist["height"] / px_per_in == pytest.approx(9.25, rel=1e-2)  # a 2x10 is 9 1/4 in deep
    assert beam["height"] / px_per_in == pytest.approx(9.25, rel=1e-2)
    assert beam["width"] / px_per_in == pytest.approx(3 * 1.5, rel=1e-2)
    assert post["height"] / px_per_in == pytest.approx(30, rel=1e-2)
    assert footing["width"] / px_per_in == pytest.approx(20, rel=1e-2)
    assert guard["height"] / px_per_in == pytest.approx(38, rel=1e-2)
    assert (post["x"] + post["width"] / 2 - joist["x"]) / px_per_in == pytest.approx(104, rel=1e-2)


def test_each_stands_on_the_next(deck):
    svg = draw_section(deck).svg
    joist, beam, post = (piece(svg, name) for name in ("joist", "beam", "post"))
    assert beam["y"] == pytest.approx(joist["y"] + joist["height"], abs=0.1)
    assert post["y"] == pytest.approx(beam["y"] + beam["height"], abs=0.1)


def test_without_the_span_of_the_joists_there_is_no_section(deck):
    deck["joist_fields"][0]["span_in"] = "unknown"
    section = draw_section(deck)
    assert section.svg == ""
    assert "span" in section.missing[0]


@pytest.mark.parametrize(
    ("plural", "fact", "words"),
    [
        ("beams", "size", "size of the beam B1"),
        ("posts", "height_in", "height of the post P1"),
        ("footings", "depth_in", "depth of the footing FT1"),
        ("levels", "height_in", "height of the surface"),
        ("ledgers", "size", "size of the ledger LD1"),
        ("guards", "height_in", "height of the guard G1"),
    ],
)
def test_what_is_not_recorded_is_said(plural, fact, words, deck):
    for part in deck[plural]:
        part[fact] = "unknown"
    section = draw_section(deck)
    assert any(words in each for each in section.missing)
    ElementTree.fromstring(section.svg)


def test_a_footing_above_the_foot_of_its_post_is_a_contradiction_that_is_told(deck):
    deck["footings"][0]["depth_in"] = 1
    assert any("check height and depth" in words for words in draw_section(deck).missing)


def test_no_two_labels_of_the_section_touch(deck):
    svg = draw_section(deck, standing={"G1": "fails", "B1": "fails", "P1": "fails"}).svg
    boxes = [each for each in ElementTree.fromstring(svg).iter() if each.get("fill-opacity") == "0.85"]
    areas = [[float(each.get(side)) for side in ("x", "y", "width", "height")] for each in boxes]
    assert len(areas) >= 8
    for place, (x, y, width, height) in enumerate(areas):
        for other_x, other_y, other_width, other_height in areas[place + 1 :]:
            apart_across = x + width <= other_x + 0.2 or other_x + other_width <= x + 0.2
            apart_down = y + height <= other_y + 0.2 or other_y + other_height <= y + 0.2
            assert apart_across or apart_down


def test_the_findings_stand_at_the_parts_that_are_cut(deck):
    section = draw_section(deck, findings={"B1": [3], "P1": [1], "P2": [2]})
    assert section.numbered == {1, 3}  # the cut goes through one post
    assert 'data-finding="3" data-of="B1"' in section.svg and 'data-finding="2"' not in section.svg
