"""A photo comes in piece by piece, whatever breaks off in between, and is kept once."""

from uuid import uuid4

import pytest
from django.urls import reverse

from inspections.photos.models import Photo
from inspections.sync.models import ArrivingPhoto, SyncOperation
from tests.inspections.photos.files import jpeg_bytes
from tests.inspections.sync.tablet import outcomes

pytestmark = pytest.mark.django_db


def pieces(data, size=3000):
    return [(start, data[start : start + size]) for start in range(0, len(data), size)]


def test_a_photo_in_pieces_is_the_photo(tablet, visit):
    data, photo_id = jpeg_bytes(), str(uuid4())
    for start, piece in pieces(data):
        assert tablet.send_piece(photo_id, piece, start, data).json()["received"] == start + len(piece)
    one = tablet.made("add_photo", photo=photo_id, name="beam.jpg", link="beam", caption="North end")
    assert outcomes(tablet.send(one)) == ["applied"]
    photo = visit.photos.get()
    assert photo.original.read() == data
    assert (photo.link, photo.caption) == ("beam", "North end")
    assert not ArrivingPhoto.objects.exists()
    assert outcomes(tablet.send(one)) == ["applied"]
    assert Photo.objects.count() == 1


def test_the_tablet_learns_where_it_broke_off(tablet):
    data, photo_id = jpeg_bytes(), str(uuid4())
    start, first = pieces(data)[0]
    tablet.send_piece(photo_id, first, start, data)
    tablet.send_piece(photo_id, first, start, data)
    assert tablet.client.get(reverse("sync-photo", args=[photo_id])).json() == {"received": 3000}
    assert tablet.send_piece(photo_id, pieces(data)[2][1], 6000, data).json() == {"received": 3000}, "a gap is no piece"
    one = tablet.made("add_photo", photo=photo_id, name="beam.jpg")
    (answer,) = tablet.send(one)
    assert (answer["outcome"], answer["received"]) == ("later", 3000)
    assert not SyncOperation.objects.exists()


def test_a_photo_that_arrived_damaged_begins_anew(tablet):
    data, photo_id = jpeg_bytes(), str(uuid4())
    tablet.send_piece(photo_id, b"x" * len(data), 0, data)
    (answer,) = tablet.send(tablet.made("add_photo", photo=photo_id, name="beam.jpg"))
    assert answer["outcome"] == "later"
    assert tablet.client.get(reverse("sync-photo", args=[photo_id])).json() == {"received": 0}


def test_a_file_that_is_no_photo_is_refused_in_words(tablet):
    data, photo_id = b"not a photo at all", str(uuid4())
    tablet.send_piece(photo_id, data, 0, data)
    (answer,) = tablet.send(tablet.made("add_photo", photo=photo_id, name="note.jpg"))
    assert answer["outcome"] == "refused" and "note.jpg" in answer["words"]


def test_the_same_photo_under_two_numbers_is_kept_once(tablet, visit):
    data = jpeg_bytes()
    for _ in range(2):
        photo_id = str(uuid4())
        tablet.send_piece(photo_id, data, 0, data)
        assert outcomes(tablet.send(tablet.made("add_photo", photo=photo_id, name="a.jpg"))) == ["applied"]
    assert visit.photos.count() == 1


def test_a_photo_waits_for_its_finding(tablet, visit):
    data, photo_id, finding = jpeg_bytes(), str(uuid4()), str(uuid4())
    tablet.send_piece(photo_id, data, 0, data)
    photo = tablet.made("add_photo", photo=photo_id, name="a.jpg", finding=finding)
    assert outcomes(tablet.send(photo)) == ["later"]
    fields = {"link": "edge", "title": "Loose", "action": "look_after", "how_soon": "no_date", "who": "owner"}
    assert (
        outcomes(tablet.send(tablet.made("record_finding", finding=finding, fields=fields), photo)) == ["applied"] * 2
    )
    assert visit.photos.get().finding_id is not None


@pytest.mark.parametrize("query", ["", "?sha256=1&bytes=5&from=0", f"?sha256={'0' * 64}&bytes=x&from=0"])
def test_a_piece_without_its_place_is_refused(tablet, query):
    address = reverse("sync-photo", args=[uuid4()]) + query
    assert tablet.client.post(address, b"abc", content_type="application/octet-stream").status_code == 400


def test_a_photo_that_is_too_large_is_refused_before_it_is_sent(tablet, settings):
    settings.PHOTO_MAX_BYTES = 1000
    answer = tablet.send_piece(str(uuid4()), b"x" * 100, 0, b"x" * 2000)
    assert answer.status_code == 422 and "larger" in answer.json()["problem"]


def test_nobody_adds_to_the_photo_of_another(tablet, make_person):
    data, photo_id = jpeg_bytes(), str(uuid4())
    tablet.send_piece(photo_id, data[:100], 0, data)
    tablet.client.force_login(make_person("inspector", username="other"))
    assert tablet.client.get(reverse("sync-photo", args=[photo_id])).json() == {"received": 0}
    assert tablet.send_piece(photo_id, data[100:200], 100, data).status_code == 409
