"""What is said of a photo and drawn on it without signal follows the photo, whichever comes in first."""

import json
from uuid import uuid4

import pytest

from inspections.photos.models import Photo
from inspections.photos.services import describe_photo, mark_photo, remove_photo
from inspections.photos.tasks import make_photo_renditions
from inspections.sync.snapshot import photo_pages
from tests.inspections.photos.files import jpeg_bytes
from tests.inspections.sync.tablet import outcomes
from tests.make import make_visit

pytestmark = pytest.mark.django_db
ARROW = {"kind": "arrow", "x1": 0.1, "y1": 0.1, "x2": 0.4, "y2": 0.4, "text": "split"}


@pytest.fixture
def send_photo(tablet):
    """The operation that adds a photo whose bytes have come in."""

    def make(seed=1):
        data, photo_id = jpeg_bytes(seed=seed), str(uuid4())
        tablet.send_piece(photo_id, data, 0, data)
        return tablet.made("add_photo", photo=photo_id, name="beam.jpg", link="beam")

    return make


def prepare(photo_id):
    assert make_photo_renditions(Photo.objects.get(pk=photo_id).rendition_job.pk)


def test_a_photo_is_kept_under_the_number_that_the_tablet_gave_it(tablet, send_photo):
    one = send_photo()
    (answer,) = tablet.send(one)
    assert answer["photo"] == one["payload"]["photo"] == str(Photo.objects.get().pk)


def test_words_that_overtook_their_photo_wait_for_it(tablet, send_photo):
    one = send_photo()
    words = tablet.made("describe_photo", photo=one["payload"]["photo"], caption="North end, from below")
    assert outcomes(tablet.send(words)) == ["later"]
    assert outcomes(tablet.send(one, words)) == ["applied", "applied"]
    assert Photo.objects.get().caption == "North end, from below"


def test_marks_wait_until_the_photo_is_prepared_and_are_then_drawn_once(tablet, send_photo):
    one = send_photo()
    photo_id = one["payload"]["photo"]
    marks = tablet.made("mark_photo", photo=photo_id, marks=json.dumps([ARROW]))
    assert outcomes(tablet.send(one, marks)) == ["applied", "later"]
    prepare(photo_id)
    assert outcomes(tablet.send(marks, marks)) == ["applied", "applied"]
    assert Photo.objects.get().marks["marks"] == [ARROW]


def test_marks_that_somebody_else_changed_meanwhile_are_both_kept_to_choose_from(tablet, send_photo, inspector):
    one = send_photo()
    photo_id = one["payload"]["photo"]
    tablet.send(one)
    prepare(photo_id)
    photo = Photo.objects.get()
    photo.visit = tablet.visit
    mark_photo(photo, json.dumps([ARROW, ARROW]), by=inspector)
    (answer,) = tablet.send(tablet.made("mark_photo", photo=photo_id, marks=json.dumps([ARROW]), seen="other"))
    assert (answer["outcome"], answer["mine"], answer["theirs"]) == ("conflict", "1 mark", "2 marks")
    assert len(Photo.objects.get().marks["marks"]) == 2


def test_marks_that_are_none_are_refused_in_words(tablet, send_photo):
    one = send_photo()
    tablet.send(one)
    prepare(one["payload"]["photo"])
    (answer,) = tablet.send(tablet.made("mark_photo", photo=one["payload"]["photo"], marks="[1]"))
    assert (answer["outcome"], answer["words"]) == ("refused", "Mark 1 is of no kind that is known here.")


def test_words_for_a_photo_that_the_visit_had_already_go_to_that_one(tablet, send_photo):
    first, again = send_photo(seed=3), send_photo(seed=3)
    tablet.send(first, again)
    words = tablet.made("describe_photo", photo=again["payload"]["photo"], caption="the same beam")
    assert outcomes(tablet.send(words)) == ["applied"]
    assert Photo.objects.get().caption == "the same beam"


def test_words_for_a_photo_that_was_refused_or_taken_out_are_refused(tablet, send_photo, inspector):
    data, photo_id = b"no photo", str(uuid4())
    tablet.send_piece(photo_id, data, 0, data)
    tablet.send(tablet.made("add_photo", photo=photo_id, name="note.jpg"))
    assert outcomes(tablet.send(tablet.made("describe_photo", photo=photo_id, caption="x"))) == ["refused"]
    one = send_photo()
    tablet.send(one)
    photo = Photo.objects.get()
    photo.visit = tablet.visit
    remove_photo(photo, by=inspector)
    words = tablet.made("describe_photo", photo=one["payload"]["photo"], caption="x")
    assert outcomes(tablet.send(words)) == ["refused"]


def test_the_number_of_a_photo_of_another_visit_is_refused(tablet, send_photo, inspector):
    one = send_photo()
    tablet.send(one)
    other = make_visit(inspector, state="under_way")
    theirs = tablet.made("add_photo", photo=one["payload"]["photo"], name="beam.jpg", visit=other)
    assert outcomes(tablet.send(theirs)) == ["refused"]
    assert Photo.objects.get().visit == tablet.visit


def test_the_pages_of_a_photo_are_taken_along_once_it_is_ready_and_anew_when_it_was_changed(tablet, send_photo, visit):
    one = send_photo()
    tablet.send(one)
    assert photo_pages(visit) == []
    prepare(one["payload"]["photo"])
    (first,) = photo_pages(visit)
    assert all(tablet.client.get(address).status_code == 200 for address in first["pages"])
    describe_photo(Photo.objects.get(), "North end", by=visit.inspector)
    (described,) = photo_pages(visit)
    mark_photo(Photo.objects.get(), json.dumps([ARROW]), by=visit.inspector)
    (marked,) = photo_pages(visit)
    assert len({first["version"], described["version"], marked["version"]}) == 3
    remove_photo(Photo.objects.get(), by=visit.inspector)
    assert photo_pages(visit) == []
