"""Marks over a photo: where each line runs, that it is read on any ground, and that words stay words."""

import math
import re
from xml.etree import ElementTree

import pytest

from inspections.drawings.marks import marks_svg, marks_words, sheet_size

SVG = "{http://www.w3.org/2000/svg}"


def mark(kind="line", x1=0.25, y1=0.5, x2=0.75, y2=0.5, text=""):
    ends = {"x1": x1, "y1": y1} if kind == "text" else {"x1": x1, "y1": y1, "x2": x2, "y2": y2}
    return {"kind": kind, **ends, "text": text}


def drawn(*marks, width_px=1600, height_px=1200):
    return {"width_px": width_px, "height_px": height_px, "marks": list(marks)}


def parsed(*marks, **options):
    return ElementTree.fromstring(marks_svg(drawn(*marks), **options))


def numbers(text):
    return [float(number) for number in re.findall(r"-?\d+\.?\d*", text)]


def test_a_photo_without_marks_gets_no_drawing():
    assert marks_svg({}) == "" and marks_svg(drawn()) == "" and marks_words({}) == ""


@pytest.mark.parametrize(("size_px", "sheet"), [((640, 480), (1600, 1200)), ((480, 640), (1200, 1600))])
def test_the_longer_side_of_every_photo_has_1600_units(size_px, sheet):
    assert sheet_size(*size_px) == sheet


def test_a_line_runs_between_its_ends_with_a_tick_across_each():
    strokes = numbers(parsed(mark("line")).find(f"{SVG}path").get("d"))
    assert strokes[:4] == [400, 600, 1200, 600]
    assert strokes[4:8] == [400, 582, 400, 618]
    assert strokes[8:] == [1200, 582, 1200, 618]


def test_the_barbs_of_an_arrow_lie_behind_its_tip_and_open_evenly():
    points = numbers(parsed(mark("arrow", 0.1, 0.1, 0.6, 0.4)).find(f"{SVG}path").get("d"))
    tail, tip, one, again, other = zip(points[::2], points[1::2], strict=True)
    assert tip == again == (960, 480)
    assert math.dist(one, tip) == pytest.approx(math.dist(other, tip), abs=0.2) == pytest.approx(46, abs=0.2)
    assert math.dist(one, tail) < math.dist(tip, tail)


@pytest.mark.parametrize("corners", [(0.2, 0.2, 0.6, 0.8), (0.6, 0.8, 0.2, 0.2), (0.6, 0.2, 0.2, 0.8)])
def test_a_circle_fills_the_box_between_its_corners_however_it_was_drawn(corners):
    assert numbers(parsed(mark("circle", *corners)).find(f"{SVG}path").get("d")) == [
        320, 600, 320, 360, 0, 1, 1, 960, 600, 320, 360, 0, 1, 1, 320, 600,
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ["arrow", "circle", "line"])
def test_every_stroke_lies_on_a_wider_white_one(kind):
    below, above = parsed(mark(kind)).findall(f"{SVG}path")
    assert below.get("d") == above.get("d")
    assert below.get("stroke") == "#ffffff" and above.get("stroke") != "#ffffff"
    assert float(below.get("stroke-width")) > float(above.get("stroke-width")) + 6


def test_a_small_picture_gets_heavier_strokes_and_no_words():
    small = parsed(mark(text="3 1/2 in"), weight=3, with_words=False)
    assert float(small.findall(f"{SVG}path")[1].get("stroke-width")) == 21
    assert small.find(f"{SVG}text") is None
    assert "3 1/2 in" in small.find(f"{SVG}title").text


def test_words_are_escaped_and_told_to_who_cannot_see():
    svg = marks_svg(drawn(mark("text", text='a & b "c" <i>')))
    assert "<i>" not in svg
    assert ElementTree.fromstring(svg).find(f"{SVG}text").text == 'a & b "c" <i>'
    said = marks_words(drawn(mark("arrow", text="split"), mark("circle")))
    assert said == "Marked on the photo: arrow “split”, circle."


@pytest.mark.parametrize("kind", ["arrow", "circle", "line", "text"])
@pytest.mark.parametrize("corner", [(0, 0), (1, 0), (0, 1), (1, 1)])
def test_words_never_leave_the_photo(kind, corner):
    root = parsed(mark(kind, *corner, *corner, text="M" * 40), weight=2)
    plate = root.find(f"{SVG}rect")
    left, top = float(plate.get("x")), float(plate.get("y"))
    assert left >= 0 and left + float(plate.get("width")) <= 1600
    assert top >= 0 and top + float(plate.get("height")) <= 1200


def test_long_words_are_broken_and_none_is_lost():
    text = "split along the grain behind the fourth"
    lines = [one.text for one in parsed(mark("text", text=text), weight=3).findall(f"{SVG}text")]
    assert len(lines) > 1 and " ".join(lines) == text


def test_the_measure_of_a_short_line_stands_below_and_hides_nothing():
    short = parsed(mark("line", 0.5, 0.5, 0.52, 0.5, text="3 1/2 in")).find(f"{SVG}rect")
    assert float(short.get("y")) > 600 + 18
    long = parsed(mark("line", 0.1, 0.5, 0.9, 0.5, text="3 1/2 in")).find(f"{SVG}rect")
    assert float(long.get("y")) < 600 < float(long.get("y")) + float(long.get("height"))


def test_marks_of_no_extent_can_be_drawn():
    for kind in ("arrow", "circle", "line"):
        assert parsed(mark(kind, 0.5, 0.5, 0.5, 0.5)).find(f"{SVG}path") is not None


def boxes(root):
    return [
        (float(one.get("x")), float(one.get("y")), float(one.get("width")), float(one.get("height")))
        for one in root.findall(f"{SVG}rect")
    ]


def cover_each_other(one, other):
    return all(one[axis] < other[axis] + other[axis + 2] and other[axis] < one[axis] + one[axis + 2] for axis in (0, 1))


@pytest.mark.parametrize("weight", [1, 2.5])
@pytest.mark.parametrize("x, y", [(0.5, 0.5), (0.02, 0.02), (0.98, 0.98)])
def test_the_words_of_marks_side_by_side_never_cover_each_other(x, y, weight):
    near = [mark("text", x1=x, y1=y + step / 200, text=f"split {step} of the board") for step in range(4)]
    placed = boxes(parsed(*near, weight=weight))
    assert len(placed) == 4
    for place, one in enumerate(placed):
        assert one[0] >= 0 and one[1] >= 0 and one[0] + one[2] <= 1600.1 and one[1] + one[3] <= 1200.1
        assert not any(cover_each_other(one, other) for other in placed[place + 1 :])


def test_a_line_leads_from_words_that_gave_way_to_their_mark():
    alone = parsed(mark("text", x1=0.5, y1=0.5, text="knot"))
    assert alone.find(f"{SVG}path") is None
    both = parsed(mark("text", x1=0.5, y1=0.5, text="knot"), mark("text", x1=0.5, y1=0.5, text="rot"))
    leads = numbers(both.findall(f"{SVG}path")[-1].get("d"))
    assert leads[:2] == [800, 600]
    left, top, width, height = boxes(both)[1]
    assert leads[2:] == pytest.approx([left + width / 2, top + height / 2], abs=0.11)
