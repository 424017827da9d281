"""What the worker makes of a photo."""

import io
from datetime import timedelta

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone
from PIL import Image, ImageChops, ImageCms, ImageFile, ImageStat

from inspections.photos.intake import BROKEN_IMAGE
from inspections.photos.models import RenditionJob
from inspections.photos.renditions import BROKEN, SIZES, make_renditions, render
from inspections.photos.services import take_in_photo, try_photo_again
from inspections.photos.tasks import make_photo_renditions
from tests.inspections.photos.files import PHONE_HEIC, exif_with_position, jpeg_bytes, picture, saved, upload

RED = (254, 0, 0)


def opened(data):
    return Image.open(io.BytesIO(data))


def is_red(pixel):
    red, green, blue = pixel
    return red > 200 and green < 60 and blue < 60


def test_the_three_sizes_keep_the_shape():
    made = render(jpeg_bytes(4000, 3000))
    sizes = {name: opened(jpeg).size for name, jpeg in made.items()}
    assert sizes == {"screen": (2000, 1500), "printable": (1000, 750), "thumb": (400, 300)}


def test_a_heic_photo_stands_upright_in_every_size_and_says_nothing_of_where_it_was_taken():
    for jpeg in render(PHONE_HEIC).values():
        image = opened(jpeg)
        assert image.size == (240, 320)
        assert is_red(image.getpixel((220, 20))), "the red corner turned with the phone"
        assert not image.getexif()


def test_a_heic_photo_whose_picture_is_damaged_is_an_error_of_the_photo():
    damaged = bytearray(PHONE_HEIC)
    damaged[215:260] = bytes(45)  # what the decoder needs to know of it
    with pytest.raises(BROKEN_IMAGE):
        render(bytes(damaged))


def test_a_small_photo_is_never_blown_up():
    assert {opened(jpeg).size for name, jpeg in render(jpeg_bytes(640, 480)).items() if name != "thumb"} == {(640, 480)}


@pytest.mark.parametrize("width_px", [1000, 1601, 3264, 4000, 4608, 8000])
def test_every_size_of_camera_gives_the_same_picture(width_px):
    data = jpeg_bytes(width_px, width_px * 3 // 4)
    plain = opened(data).convert("RGB").resize((400, 300), Image.Resampling.LANCZOS)
    for jpeg in render(data).values():
        made = opened(jpeg).resize((400, 300), Image.Resampling.LANCZOS)
        assert max(ImageStat.Stat(ImageChops.difference(plain, made)).mean) < 3  # of 255


def test_fine_lines_do_not_turn_into_a_pattern():
    # Lines one pixel wide, black and white (127 either side of the middle), are smaller than the new pixels: what is
    # left of them must be less than a fifth.
    lines = Image.new("L", (4000, 3000))
    lines.putdata([255 * (x % 2) for x in range(4000)] * 3000)
    for name, jpeg in render(saved(lines, "PNG")).items():
        image = opened(jpeg).convert("L")
        middle = image.crop((20, 20, image.width - 20, image.height - 20))
        assert ImageStat.Stat(middle).stddev[0] < 25, name
        assert abs(ImageStat.Stat(middle).mean[0] - 127) < 5, name


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_rendition_stands_upright_however_the_camera_was_held(kind, orientation):
    # Turn the upright picture the way the camera stores it, and say so in the EXIF.
    undo = {
        2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }  # fmt: skip
    upright = Image.new("RGB", (2000, 1500), "white")
    upright.paste((255, 0, 0), (0, 0, 500, 400))
    stored = upright.transpose(undo[orientation]) if orientation in undo else upright
    for name, jpeg in render(saved(stored, kind, exif=exif_with_position(orientation))).items():
        image = opened(jpeg)
        assert image.size == {"thumb": (400, 300), "screen": (2000, 1500), "printable": (1000, 750)}[name]
        assert is_red(image.getpixel((10, 10))), f"{name}: the red corner is not at the top left"
        assert not is_red(image.getpixel((image.width - 10, image.height - 10)))


def test_no_rendition_carries_the_position_or_anything_else_of_the_original():
    data = jpeg_bytes(1200, 900, exif=exif_with_position(6), comment=b"COMMENT WORDS", icc_profile=_srgb_profile())
    assert b"CAMERA MAKER WORDS" in data
    assert dict(opened(data).getexif().get_ifd(0x8825))
    for jpeg in render(data).values():
        image = opened(jpeg)
        assert not image.getexif()
        assert not image.getexif().get_ifd(0x8825)
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        for words in (b"CAMERA MAKER WORDS", b"COMMENT WORDS", b"Exif", b"ICC_PROFILE"):
            assert words not in jpeg


def test_damaged_exif_does_not_cost_the_photo():
    data = jpeg_bytes(exif=b"Exif\0\0MM\0*\xff\xff\xff\xff broken")
    assert set(render(data)) == set(SIZES)


def test_an_embedded_colour_profile_is_applied_and_not_lost():
    swapped = _profile_with_red_and_green_exchanged()
    data = saved(Image.new("RGB", (300, 200), (255, 0, 0)), "JPEG", icc_profile=swapped, quality=95, subsampling=0)
    red, green, _ = opened(render(data)["screen"]).getpixel((50, 50))
    assert green > 180 > red


@pytest.mark.parametrize("mode", ["L", "1", "P", "LA", "RGBA", "CMYK", "I;16"])
def test_every_mode_a_file_may_have_becomes_rgb(mode):
    image = Image.new("I;16", (900, 600), 40_000) if mode == "I;16" else picture(900, 600).convert(mode)
    made = render(saved(image, "JPEG" if mode == "CMYK" else "PNG"))
    assert {opened(jpeg).mode for jpeg in made.values()} == {"RGB"}
    if mode == "I;16":
        assert abs(opened(made["screen"]).getpixel((5, 5))[0] - 40_000 // 256) <= 2


def test_what_is_transparent_stands_on_white():
    made = render(saved(Image.new("RGBA", (300, 200), (0, 0, 0, 0)), "PNG"))
    assert min(opened(made["thumb"]).getpixel((100, 100))) > 250


@pytest.mark.parametrize("size", [(1, 9000), (9000, 1), (1, 1)])
def test_an_odd_shape_does_no_harm(size):
    assert all(min(opened(jpeg).size) >= 1 for jpeg in render(saved(Image.new("RGB", size), "JPEG")).values())


# --- the job ---


def take_in(visit, data=None):
    return take_in_photo(visit, upload(data or jpeg_bytes(1000, 750)), by=visit.inspector)


def files_of(photo):
    return sorted(default_storage.listdir(f"photos/{photo.visit_id}/{photo.pk}")[1])


@pytest.mark.django_db
def test_the_task_makes_a_photo_ready(visit):
    photo = take_in(visit)
    assert make_photo_renditions(photo.rendition_job.pk)
    photo.refresh_from_db()
    assert photo.is_ready
    assert photo.rendition_job.state == "done"
    assert files_of(photo) == ["original.jpg", "printable-1.jpg", "screen-1.jpg", "thumb-1.jpg"]
    assert opened(photo.thumb.read()).size == (400, 300)


@pytest.mark.django_db
def test_a_second_bell_finds_nothing_to_do(visit):
    photo = take_in(visit)
    make_photo_renditions(photo.rendition_job.pk)
    assert not make_photo_renditions(photo.rendition_job.pk)
    assert files_of(photo) == ["original.jpg", "printable-1.jpg", "screen-1.jpg", "thumb-1.jpg"]


@pytest.mark.django_db
@pytest.mark.parametrize("weasyprint_was_here", [False, True])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_jpeg_that_breaks_off_is_refused_by_the_worker_in_words(visit, monkeypatch, weasyprint_was_here, share):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", weasyprint_was_here)
    data = jpeg_bytes(1600, 1200)
    photo = take_in(visit, data[: int(len(data) * share)])
    assert make_photo_renditions(photo.rendition_job.pk)
    photo.refresh_from_db()
    assert photo.refused_because == BROKEN
    assert not photo.is_ready
    assert photo.rendition_job.state == "done"  # not tried again: it would only fail again
    assert ImageFile.LOAD_TRUNCATED_IMAGES is weasyprint_was_here
    assert files_of(photo) == ["original.jpg"]


@pytest.mark.django_db
def test_a_worker_killed_while_it_stored_is_made_good_once(visit):
    photo = take_in(visit)
    job = RenditionJob.take(photo.rendition_job.pk)
    default_storage.save(f"photos/{visit.pk}/{photo.pk}/thumb-1.jpg", io.BytesIO(b"half a file"))  # then: kill -9
    RenditionJob.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    assert make_photo_renditions(job.pk)
    photo.refresh_from_db()
    assert photo.rendition_job.attempt == 2
    assert files_of(photo) == ["original.jpg", "printable-2.jpg", "screen-2.jpg", "thumb-2.jpg"]


@pytest.mark.django_db
def test_a_worker_killed_between_photo_and_job_leaves_nothing_to_redo(visit):
    photo = take_in(visit)
    job = RenditionJob.take(photo.rendition_job.pk)
    make_renditions(job)  # the photo has its renditions; then: kill -9, before the job says so
    RenditionJob.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    assert make_photo_renditions(job.pk)
    photo.refresh_from_db()
    assert photo.rendition_job.state == "done"
    assert files_of(photo) == ["original.jpg", "printable-1.jpg", "screen-1.jpg", "thumb-1.jpg"]


@pytest.mark.django_db
def test_a_slow_worker_that_lost_its_lease_changes_nothing(visit):
    photo = take_in(visit)
    slow = RenditionJob.take(photo.rendition_job.pk)
    RenditionJob.objects.filter(pk=slow.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    assert make_photo_renditions(slow.pk)
    slow.photo.refresh_from_db()
    before = slow.photo.screen.name
    slow.photo.screen = ""  # as the slow one saw it when it began
    make_renditions(slow)
    photo.refresh_from_db()
    assert photo.screen.name == before == f"photos/{visit.pk}/{photo.pk}/screen-2.jpg"


@pytest.mark.django_db
def test_a_disk_that_fails_is_tried_again_and_then_by_hand(visit, monkeypatch):
    photo = take_in(visit)
    RenditionJob.objects.filter(photo=photo).update(max_attempts=1)
    monkeypatch.setattr("inspections.photos.renditions.ContentFile", _full_disk)
    assert not make_photo_renditions(photo.rendition_job.pk)
    photo.refresh_from_db()
    assert photo.rendition_job.state == "failed"
    assert photo.refused_because == ""
    monkeypatch.undo()
    photo = type(photo).objects.get(pk=photo.pk)
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)
    try_photo_again(photo)
    assert make_photo_renditions(photo.rendition_job.pk)
    photo.refresh_from_db()
    assert photo.is_ready


def _full_disk(_):
    raise OSError(28, "No space left on device")


def _srgb_profile():
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def _profile_with_red_and_green_exchanged():
    """The sRGB profile with the colour tags of red and green renamed to each other, and another description."""
    data = _srgb_profile().replace("sRGB".encode("utf-16-be"), "odd!".encode("utf-16-be"))
    return data.replace(b"rXYZ", b"\0tmp").replace(b"gXYZ", b"rXYZ").replace(b"\0tmp", b"gXYZ")


@pytest.mark.parametrize(("width_px", "shown_px"), [(1500, 1500), (2000, 2000), (2600, 1600), (6000, 1600)])
def test_the_picture_for_the_screen_is_never_wider_than_two_thousand_pixels_nor_drawn_up(width_px, shown_px):
    assert opened(render(jpeg_bytes(width_px, 900))["screen"]).width == shown_px
