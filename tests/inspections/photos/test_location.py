"""A file that is handed on does not say where it was taken, and its picture is the same."""

import io

import pi_heif
import pytest
from PIL import Image, ImageChops

from inspections.photos.location import without_location
from tests.inspections.photos.files import PHONE_HEIC, exif_with_position, picture, saved

GPS = 0x8825
XMP = b'<x:xmpmeta xmlns:x="adobe:ns:meta/" exif:GPSLatitude="44,6.12N"><exif:GPSLongitude>69,2W</exif:GPSLongitude>'
FILES = {
    "JPEG": saved(picture(), "JPEG", exif=exif_with_position()),
    "PNG": saved(picture(), "PNG", exif=exif_with_position()),
    "WEBP": saved(picture(), "WEBP", exif=exif_with_position().tobytes()),
    "HEIC": PHONE_HEIC,
}


pi_heif.register_heif_opener()  # of files that the tests made themselves


def opened(data):
    return Image.open(io.BytesIO(data))


def latitude(data):
    return opened(data).getexif().get_ifd(GPS).get(2)


@pytest.mark.parametrize("kind", FILES)
def test_the_place_is_gone_and_the_picture_and_the_camera_stay(kind):
    came = FILES[kind]
    assert latitude(came) == (44.0, 6.0, 7.25)
    handed_on = without_location(came)
    assert len(handed_on) == len(came)
    assert not any(float(value) > 0 for value in latitude(handed_on))
    assert opened(handed_on).getexif()[0x010F] == "CAMERA MAKER WORDS"
    was, now = opened(came).convert("RGB"), opened(handed_on).convert("RGB")
    assert ImageChops.difference(was, now).getbbox() is None


def test_a_png_is_still_sound():
    opened(without_location(FILES["PNG"])).verify()


def test_a_place_in_xmp_goes_too():
    handed_on = without_location(saved(picture(), "JPEG", xmp=XMP))
    assert b"44,6" not in handed_on and b"69,2" not in handed_on
    assert opened(handed_on).size == (640, 480)


def test_a_photo_without_a_place_stays_as_it_is():
    plain = saved(picture(), "JPEG")
    assert without_location(plain) == plain


@pytest.mark.parametrize("cut", [30, 60, 90, 120])
def test_damaged_notes_cost_nothing(cut):
    came = FILES["JPEG"]
    damaged = came[:cut] + b"\xff" * 40 + came[cut + 40 :]
    assert len(without_location(damaged)) == len(damaged)


def test_notes_that_promise_a_million_entries_are_not_walked_forever():
    head = b"Exif\x00\x00MM\x00*\x00\x00\x00\x08\xff\xff"
    assert len(without_location(head * 50)) == len(head) * 50
