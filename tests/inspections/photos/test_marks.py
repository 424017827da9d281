"""Drawing on a photo: what the server keeps, what it refuses, and who may."""

import json

import pytest
from django.urls import reverse

from firm.audit.models import AuditEntry
from inspections.photos.marks import MarksRefused, digest_of, read_marks
from inspections.photos.models import Photo
from inspections.photos.services import mark_photo, take_in_photo
from inspections.photos.tasks import make_photo_renditions
from tests.inspections.photos.files import exif_with_position, jpeg_bytes, upload

ARROW = {"kind": "arrow", "x1": 0.1, "y1": 0.2, "x2": 0.5, "y2": 0.6, "text": "split here"}
WORDS = {"kind": "text", "x1": 0.5, "y1": 0.5, "text": "south side"}
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def photo(visit, inspector):
    return prepared(take_in_photo(visit, upload(jpeg_bytes(1000, 750)), by=inspector, caption="the beam"))


@pytest.fixture
def page(client, inspector):
    client.force_login(inspector)
    return client


def prepared(photo):
    make_photo_renditions(photo.rendition_job.pk)
    photo.refresh_from_db()
    return photo


def here(photo):
    return reverse("photo-marks", args=[photo.pk])


def sent(*marks):
    return json.dumps(marks)


# --- reading ---


def test_marks_come_back_as_they_were_sent_rounded_to_a_ten_thousandth():
    assert read_marks(sent({**ARROW, "x1": 0.123456, "text": "  split \t here "}, WORDS)) == [
        {**ARROW, "x1": 0.1235},
        WORDS,
    ]
    assert read_marks("[]") == []


@pytest.mark.parametrize(
    "text",
    ["", "[", "{}", "null", "3", '"x"', "[" * 30_000, "[NaN]", f"[{'9' * 5000}]", '{"marks": []}', "\0"],
)
def test_what_is_no_list_of_marks_is_refused(text):
    with pytest.raises(MarksRefused):
        read_marks(text)


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "star"}, {"kind": None}, {"kind": ["arrow"]}, {"x1": -0.01}, {"x2": 1.01}, {"y1": "0.5"}, {"y2": None},
        {"x1": True}, {"x1": 10**400}, {"text": 5}, {"text": None}, {"text": "x" * 41}, {"text": "<b>split</b>"},
        {"text": "a\u202eb"}, {"text": "a\0b"}, {"colour": "red"}, {"onload": "x"},
    ],
)  # fmt: skip
def test_a_mark_that_is_wrong_in_one_thing_is_refused(change):
    with pytest.raises(MarksRefused, match=r"[Mm]ark 2|damaged"):
        read_marks(sent(WORDS, {**ARROW, **change}))


@pytest.mark.parametrize("missing", ["kind", "x1", "y2", "text"])
def test_a_mark_that_lacks_something_is_refused(missing):
    with pytest.raises(MarksRefused):
        read_marks(sent({name: value for name, value in ARROW.items() if name != missing}))


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_no_number_that_is_none_gets_in(value):
    with pytest.raises(MarksRefused):
        read_marks(sent(ARROW).replace("0.6", value))


def test_words_that_stand_alone_must_say_something():
    with pytest.raises(MarksRefused, match="has no words"):
        read_marks(sent({**WORDS, "text": "  "}))


def test_a_hundred_marks_are_kept_and_one_more_is_refused():
    assert len(read_marks(sent(*[ARROW] * 100))) == 100
    with pytest.raises(MarksRefused, match="may have 100 marks"):
        read_marks(sent(*[ARROW] * 101))


# --- keeping ---


def test_marks_are_kept_with_the_size_of_the_picture_and_the_picture_stays(photo, inspector):
    before = photo.sha256
    mark_photo(photo, sent(ARROW), by=inspector)
    photo.refresh_from_db()
    assert photo.marks == {"width_px": 1000, "height_px": 750, "marks": [ARROW]}
    assert photo.sha256 == before
    line = AuditEntry.objects.get(verb="marked")
    assert (line.before, line.after) == ({"marks": []}, {"marks": [ARROW]})


def test_a_photo_held_upright_is_drawn_on_as_it_is_shown(visit, inspector):
    turned = prepared(take_in_photo(visit, upload(jpeg_bytes(800, 600, exif=exif_with_position(6))), by=inspector))
    mark_photo(turned, sent(ARROW), by=inspector)
    assert (turned.marks["width_px"], turned.marks["height_px"]) == (600, 800)


def test_saving_the_same_again_changes_nothing_and_writes_no_line(photo, inspector):
    for _ in range(2):
        mark_photo(photo, sent(ARROW), by=inspector)
    assert AuditEntry.objects.filter(verb="marked").count() == 1


def test_taking_all_away_leaves_a_photo_without_marks(photo, inspector):
    mark_photo(photo, sent(ARROW), by=inspector)
    mark_photo(photo, "[]", by=inspector)
    assert Photo.objects.get().marks == {}


def test_marks_that_somebody_changed_meanwhile_are_not_written_over(photo, inspector):
    seen = digest_of(photo.marks)
    mark_photo(photo, sent(ARROW), by=inspector, before=seen)
    with pytest.raises(MarksRefused, match="meanwhile"):
        mark_photo(photo, sent(WORDS), by=inspector, before=seen)
    assert Photo.objects.get().marks["marks"] == [ARROW]


# --- the page ---


def test_saving_leads_back_and_the_marks_are_on_the_tile(page, photo):
    answer = page.post(here(photo), {"marks": sent(ARROW), "next": f"/visits/{photo.visit_id}/walk/"})
    assert (answer.status_code, answer["Location"]) == (302, f"/visits/{photo.visit_id}/walk/")
    tile = page.get(reverse("photo-tile", args=[photo.pk])).content.decode()
    assert "Marked on the photo: arrow “split here”." in tile
    assert 'class="photo-marks"' in page.get(reverse("photo-edit", args=[photo.pk])).content.decode()


def test_a_script_is_told_where_to_go_on_or_why_not(page, photo):
    good = page.post(here(photo), {"marks": sent(ARROW)}, **HTMX)
    assert good.json() == {"go_on": reverse("finding-list", args=[photo.visit_id])}
    bad = page.post(here(photo), {"marks": sent({**ARROW, "x1": 7})}, **HTMX)
    assert (bad.status_code, bad.content.decode()) == (422, "Mark 1 lies outside the photo.")


def test_without_a_script_a_refusal_is_said_on_the_page_and_a_mark_can_be_taken_away(page, photo, inspector):
    assert "arrived damaged" in page.post(here(photo), {"marks": "x"}).content.decode()
    mark_photo(photo, sent(ARROW, WORDS), by=inspector)
    page.post(here(photo), {"marks": "", "take_away": "0"})
    assert Photo.objects.get().marks["marks"] == [WORDS]


@pytest.mark.parametrize("taken", ["7", "99999999999999999999", "-1", "x", "²"])
def test_taking_away_what_is_not_there_takes_nothing(page, photo, inspector, taken):
    mark_photo(photo, sent(ARROW), by=inspector)
    assert page.post(here(photo), {"take_away": taken}).status_code in (200, 302)
    assert Photo.objects.get().marks["marks"] == [ARROW]


def test_nobody_draws_on_another_inspectors_photo_or_on_a_closed_record(client, photo, make_person):
    client.force_login(make_person("inspector", username="other"))
    assert client.get(here(photo)).status_code == 404
    assert client.post(here(photo), {"marks": sent(ARROW)}).status_code == 404
    client.force_login(photo.by)
    type(photo.visit).objects.update(state="released")
    assert "nothing more can be recorded" in client.post(here(photo), {"marks": sent(ARROW)}).content.decode()
    assert Photo.objects.get().marks == {}


def test_a_photo_that_is_not_prepared_yet_waits(page, visit, inspector):
    photo = take_in_photo(visit, upload(jpeg_bytes(seed=9)), by=inspector)
    assert page.get(here(photo)).status_code == 302
    assert page.post(here(photo), {"marks": sent(ARROW)}, **HTMX).status_code == 422
