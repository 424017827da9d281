"""What is taken in, what is refused, and in which words."""

import hashlib
import threading

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from PIL import ImageFile

from firm.audit.models import AuditEntry
from inspections.photos.models import Photo, RenditionJob
from inspections.photos.services import PhotoAlreadyThere, PhotoRefused, describe_photo, remove_photo, take_in_photo
from inspections.visits.refusals import NotYours, WrongState
from tests.inspections.photos.files import PHONE_HEIC, bomb_png, jpeg_bytes, picture, saved, upload
from tests.make import make_visit

pytestmark = pytest.mark.django_db


def stored_files(visit):
    try:
        folders = default_storage.listdir(f"photos/{visit.pk}")[0]
    except FileNotFoundError:
        return []
    return [name for folder in folders for name in default_storage.listdir(f"photos/{visit.pk}/{folder}")[1]]


def refusal(visit, data, name="beam.jpg"):
    with pytest.raises(PhotoRefused) as caught:
        take_in_photo(visit, upload(data, name), by=visit.inspector)
    assert not Photo.objects.exists()
    assert not RenditionJob.objects.exists()
    assert stored_files(visit) == []
    assert caught.value.file_name == name
    return caught.value.reason


def test_a_photo_is_kept_as_it_came_and_waits_for_a_worker(visit, inspector):
    data = jpeg_bytes(800, 600)
    photo = take_in_photo(visit, upload(data), by=inspector, link="beam", caption="  the north beam ")
    photo.refresh_from_db()
    assert photo.original.read() == data
    assert photo.sha256 == hashlib.sha256(data).hexdigest()
    assert (photo.width_px, photo.height_px, photo.byte_count) == (800, 600, len(data))
    assert (photo.link, photo.caption) == ("beam", "the north beam")
    assert photo.rendition_job.state == "waiting"
    assert not photo.is_ready
    assert AuditEntry.objects.about(photo).get().verb == "added"


@pytest.mark.parametrize(("kind", "ending"), [("PNG", "png"), ("WEBP", "webp"), ("JPEG", "jpg")])
def test_the_kind_is_read_from_the_data_and_not_from_the_name(visit, inspector, kind, ending):
    lying = SimpleUploadedFile("../../shell.php", saved(picture(), kind), "text/html")
    photo = take_in_photo(visit, lying, by=inspector)
    assert photo.original.name == f"photos/{visit.pk}/{photo.pk}/original.{ending}"


def test_a_photo_of_a_finding_belongs_to_the_findings_link_and_part(visit, inspector):
    part = visit.parts.create(kind="beam", key="B1")
    finding = visit.findings.create(link="beam", part=part, title="Split", action="find_out", by=inspector)
    photo = take_in_photo(visit, upload(jpeg_bytes()), by=inspector, finding=finding)
    assert (photo.finding, photo.part, photo.link) == (finding, part, "beam")


def test_the_first_photo_begins_a_booked_visit(inspector):
    visit = make_visit(inspector)
    take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    visit.refresh_from_db()
    assert visit.state == "under_way"


def test_an_empty_file_is_refused(visit):
    assert refusal(visit, b"") == "beam.jpg: the file is empty. Take or choose the photo again."


def test_a_file_of_30_mb_is_refused_before_it_is_read(visit, monkeypatch):
    big = upload(b"\xff\xd8" + b"x" * (30 * 1024 * 1024))
    monkeypatch.setattr(big, "file", None)  # whoever reads now fails
    with pytest.raises(PhotoRefused, match=r"beam\.jpg: 30 MB is more than the 25 MB a photo may have"):
        take_in_photo(visit, big, by=visit.inspector)
    assert stored_files(visit) == []


def test_a_bound_set_by_the_firm_counts(visit, settings):
    settings.PHOTO_MAX_BYTES = 2 * 1024 * 1024
    reason = refusal(visit, jpeg_bytes() + b"x" * (2 * 1024 * 1024 + 300_000))
    assert "2.3 MB is more than the 2 MB a photo may have" in reason


def test_a_bomb_of_100_megapixels_is_refused_by_its_header(visit, monkeypatch):
    data = bomb_png()
    assert len(data) < 100_000
    monkeypatch.setattr(ImageFile.ImageFile, "load", lambda self: pytest.fail("decoded"))
    assert "10000 by 10000 pixels is more than the 60 million" in refusal(visit, data, "big.png")


def test_a_bomb_beyond_pillows_own_bound_is_refused_too(visit):
    assert "more pixels than a photo may have" in refusal(visit, bomb_png(40_000, 40_000), "huge.png")


@pytest.mark.parametrize(
    "data", [b"Dear all, the beam is fine.", b"%PDF-1.7", b"<svg xmlns='http://www.w3.org/2000/svg'/>"]
)
def test_a_file_that_is_no_photo_is_refused_whatever_its_name(visit, data):
    assert refusal(visit, data) == "beam.jpg: this is not a photo. JPEG, HEIC, PNG and WebP are taken."


def test_a_kind_that_is_decodable_but_not_taken_is_refused(visit):
    assert "not a photo" in refusal(visit, saved(picture(), "GIF"), "moving.gif")


def test_a_heic_photo_is_kept_as_it_came(visit, inspector):
    photo = take_in_photo(visit, upload(PHONE_HEIC, "IMG_0001.HEIC", "image/heic"), by=inspector)
    assert photo.original.name.endswith("/original.heic")
    assert photo.original.read() == PHONE_HEIC
    assert (photo.width_px, photo.height_px) == (240, 320), "as it is looked at, upright"


def test_a_heic_photo_of_too_many_pixels_is_refused_before_it_is_decoded(visit, settings):
    settings.PHOTO_MAX_PIXELS = 240 * 320 - 1
    assert "more than the" in refusal(visit, PHONE_HEIC, "IMG_0001.HEIC")


@pytest.mark.parametrize("kept_bytes", [16, 200, len(PHONE_HEIC) - 1])
def test_a_heic_photo_that_breaks_off_is_refused(visit, kept_bytes):
    assert "is damaged" in refusal(visit, PHONE_HEIC[:kept_bytes], "IMG_0001.HEIC")


def test_a_heic_photo_that_takes_its_decoder_down_is_refused_and_nothing_else_falls(visit):
    deadly = bytearray(PHONE_HEIC)
    deadly[179] = 168  # found by changing bytes at random: a segmentation fault of libheif 1.23
    assert "is damaged" in refusal(visit, bytes(deadly), "IMG_0001.HEIC")


def test_a_png_with_a_damaged_chunk_is_refused(visit):
    data = bytearray(saved(picture(), "PNG"))
    data[len(data) // 2] ^= 0xFF
    assert refusal(visit, bytes(data), "a.png") == "a.png: the photo is damaged. Take or choose it again."


def test_a_png_cut_off_is_refused_even_after_weasyprint_loosened_pillow(visit, monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    data = saved(picture(), "PNG")
    assert "damaged" in refusal(visit, data[: len(data) // 2], "a.png")


def test_the_same_photo_twice_in_a_visit_is_kept_once_and_said(visit, inspector):
    first = take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    with pytest.raises(PhotoAlreadyThere, match=r"again\.jpg: this photo is in the visit already") as caught:
        take_in_photo(visit, upload(jpeg_bytes(), "again.jpg"), by=inspector)
    assert caught.value.photo == first
    assert Photo.objects.count() == 1
    assert stored_files(visit) == ["original.jpg"]


def test_the_same_photo_may_be_in_two_visits(visit, inspector):
    take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    other = make_visit(inspector, state="under_way")
    assert take_in_photo(other, upload(jpeg_bytes()), by=inspector).visit == other


def test_a_photo_that_was_taken_back_can_come_again(visit, inspector):
    first = take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    remove_photo(first, by=inspector)
    remove_photo(first, by=inspector)
    again = take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    assert again.pk != first.pk
    assert [entry.verb for entry in AuditEntry.objects.about(first)] == ["removed", "added"]


def test_two_uploads_of_one_file_that_cross_are_kept_once(visit, inspector, monkeypatch):
    first = take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    answers = iter([None, first])  # at the first look the other one's row is not there yet
    monkeypatch.setattr("inspections.photos.services._twin", lambda *a: next(answers))
    with pytest.raises(PhotoAlreadyThere):
        take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    assert stored_files(visit) == ["original.jpg"]


def test_a_closed_record_takes_no_photo_and_keeps_no_file(inspector):
    visit = make_visit(inspector, state="handed_in")
    with pytest.raises(WrongState):
        take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
    assert stored_files(visit) == []


def test_only_the_visits_own_inspector_adds_a_photo(visit, make_person):
    with pytest.raises(NotYours):
        take_in_photo(visit, upload(jpeg_bytes()), by=make_person("inspector", username="other"))
    assert stored_files(visit) == []


def test_a_caption_is_changed_with_its_line_in_the_audit(visit, inspector):
    photo = take_in_photo(visit, upload(jpeg_bytes()), by=inspector, caption="beam")
    describe_photo(photo, " the  split\nbeam ", by=inspector)
    photo.refresh_from_db()
    assert photo.caption == "the split beam"
    assert AuditEntry.objects.about(photo).first().before == {"caption": "beam"}


def test_a_name_of_control_characters_and_folders_is_printed_without_them(visit):
    with pytest.raises(PhotoRefused, match=r"^evil\.jpg: "):
        take_in_photo(visit, upload(b"no", "C:\\temp\\ev\x07il.jpg"), by=visit.inspector)


@pytest.mark.django_db(transaction=True)
def test_two_real_uploads_of_one_file_at_once_keep_one(visit, inspector):
    outcomes = []

    def send():
        try:
            take_in_photo(visit, upload(jpeg_bytes()), by=inspector)
            outcomes.append("kept")
        except PhotoAlreadyThere:
            outcomes.append("was there")
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["kept", "was there", "was there", "was there"]
    assert stored_files(visit) == ["original.jpg"]
