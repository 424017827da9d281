"""The first page: everything that must be known at once, whole, whatever the length of what was written."""

import io
import re
from copy import deepcopy

import pytest
from pypdf import PdfReader

from inspections.reports.front_page import FrontPage, front_page

pytestmark = pytest.mark.django_db  # the database is there for the report that is drawn once
WORDS = "Please keep everyone off the deck until the ledger has been fastened anew and the posts stand on footings. "
CAUTION = "Read the limits on page"


def pages_of(pdf):
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


@pytest.mark.parametrize("paper", ["letter", "A4"])
@pytest.mark.parametrize(
    ("letters", "title", "new_version"),
    [(0, "Joists span too far", False), (300, "Joists span too far", True), (430, "Soft joist ends " * 8, True)],
)
def test_it_ends_on_the_first_page_with_three_things_to_do(issued, paper, letters, title, new_version):
    snapshot = deepcopy(issued.snapshot)
    snapshot["firm"]["paper"] = paper
    snapshot["visit"]["summary"] = (WORDS * 9)[:letters]
    snapshot["findings"] += [{**deepcopy(snapshot["findings"][0]), "id": f"{n}", "title": title} for n in (1, 2)]
    about = {"supersedes": "1-1", "what_changed": "Two measures were read wrong."} if new_version else {}
    first, second, *_ = pages_of(issued.draw(snapshot=snapshot, **about))
    assert CAUTION in first and "What is where" in second
    assert first.count("Keep off · At once · Contractor") == 3


def test_the_photo_takes_the_room_that_the_words_leave_until_too_little_is_left():
    heights = [front_page(left_mm).photo_mm for left_mm in range(120, 0, -1)]
    assert heights == sorted(heights, reverse=True) and heights[0] == 70 and heights[-1] == 0
    assert 26 <= min(height for height in heights if height) < 28
    assert front_page(70).plan_mm == 59 and front_page(55).plan_mm == 0
    assert front_page(None) == FrontPage(summary_goes_last=True)


def front_of(issued, **changes):
    """What `draw_pdf` makes room for on the first page of a record."""
    rooms = []

    def noted(left_mm):
        rooms.append(front_page(left_mm))
        return rooms[-1]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("inspections.reports.pdf.front_page", noted)
        pdf = issued.draw(**changes)
    (room,) = rooms
    return room, pages_of(pdf)


@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_a_deck_without_photos_has_its_plan_on_the_first_page_where_the_words_leave_60_mm(issued, paper):
    snapshot = deepcopy(issued.snapshot)
    snapshot["firm"]["paper"], snapshot["photos"] = paper, []
    snapshot["visit"]["summary"] = WORDS * 2
    room, (first, second, *_) = front_of(issued, snapshot=snapshot)
    assert room.plan_mm >= 50 and "J1" in first
    assert CAUTION in first and "What is where" in second


def test_more_words_leave_less_room(issued):
    snapshot = deepcopy(issued.snapshot)
    few, _ = front_of(issued, snapshot=snapshot)
    snapshot["visit"]["summary"] = WORDS * 9
    many, _ = front_of(issued, snapshot=snapshot)
    assert few.photo_mm > many.photo_mm and not many.summary_goes_last


def test_a_summary_longer_than_the_page_leaves_the_answer_and_the_actions_on_it(issued):
    snapshot = deepcopy(issued.snapshot)
    snapshot["visit"]["summary"] = WORDS * 40
    first, second, *_ = pages_of(issued.draw(snapshot=snapshot))
    assert first.index("Do this first") < first.index("Please keep everyone off")
    assert "Keep off the deck: nobody should use it" in first and CAUTION not in first and CAUTION in second


def test_where_nothing_was_found_and_questions_are_open_it_says_what_to_find_out(issued):
    snapshot = deepcopy(issued.snapshot)
    snapshot["findings"] = []
    for check in snapshot["assessment"]["checks"]:
        check.update(verdict="cannot tell", ratio=None, reason="not recorded", settles=["measure the span"])
    first = pages_of(issued.draw(snapshot=snapshot))[0]
    assert "It cannot be said yet" in first and "Find this out first" in first and "Measure the span" in first
    assert "Nothing to do" not in first


def test_open_questions_stand_before_upkeep_where_they_are_the_answer(issued):
    snapshot = deepcopy(issued.snapshot)
    snapshot["findings"] = [each for each in snapshot["findings"] if each["action"] == "look_after"]
    for check in snapshot["assessment"]["checks"]:
        check.update(verdict="cannot tell", ratio=None, reason="not recorded", settles=["measure the span"])
    first = pages_of(issued.draw(snapshot=snapshot))[0]
    assert first.index("Find this out first") < first.index("Leaves between the boards")
    assert "What is open: page" in first and "Do this first" not in first and "points below" not in first


def test_a_word_that_has_no_end_is_broken_and_stays_on_the_paper(issued):
    snapshot = deepcopy(issued.snapshot)
    snapshot["findings"][0]["seen"] = "LotX" * 150
    pages = PdfReader(io.BytesIO(issued.draw(snapshot=snapshot))).pages
    lines = [line for page in pages for line in page.extract_text().splitlines() if "LotX" in line]
    assert len(lines) > 3 and "".join(lines).count("LotX") >= 140
    assert max(map(len, lines)) < 110


def test_a_title_without_an_end_leaves_the_facts_of_the_visit_their_column(issued):
    snapshot = deepcopy(issued.snapshot)
    snapshot["findings"][0]["title"] = "LotX" * 40
    page = PdfReader(io.BytesIO(issued.draw(snapshot=snapshot))).pages[0]
    starts = {}
    page.extract_text(
        visitor_text=lambda text, cm, tm, font, size: starts.setdefault(text.strip(), cm[0] * tm[4] + cm[4])
    )
    assert max(len(text) for text in starts if "LotX" in text) < 60
    (left,) = (x for text, x in starts.items() if text.startswith("This visit"))
    assert left < float(page.mediabox.width) * 0.7


def test_a_record_without_anything_in_it_does_not_say_that_nothing_is_to_be_done(issued):
    snapshot = deepcopy(issued.snapshot)
    snapshot["findings"], snapshot["remedies"], snapshot["assessment"]["checks"] = [], [], []
    first = pages_of(issued.draw(snapshot=snapshot))[0]
    assert "too little of it was recorded" in first and "Nothing to do" not in first
    assert "have its parts measured" in first


def test_the_name_of_the_firm_stands_beside_a_logo_that_may_be_white_or_unreadable(issued, monkeypatch):
    snapshot = deepcopy(issued.snapshot)
    name = snapshot["firm"]["name"]
    photo = snapshot["photos"][0]["files"]["printable"]
    snapshot["firm"]["logo"] = photo
    for kind in ("full", "schedule"):
        assert name in pages_of(issued.draw(kind, snapshot=snapshot))[0].split("Report")[0]
