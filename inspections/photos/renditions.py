"""What the worker makes of a photo: three upright JPEGs in sRGB without any metadata. The original is never touched."""

import io
import logging
from contextlib import suppress
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from PIL import Image, ImageCms, ImageOps

from inspections.photos.heic import as_png, is_heic
from inspections.photos.intake import BROKEN_IMAGE, open_image, whole_images_only
from inspections.photos.models import Photo, RenditionJob

log = logging.getLogger(__name__)

# Longest side, px, and JPEG quality. `printable` gives over 200 dpi at the 3.5 in that a photo is printed at. It is
# half of what the decoder makes of a camera's usual 4000 px, so it costs next to nothing. The choice is
# common practice, no published source.
SIZES = {"screen": (1600, 82), "printable": (1000, 82), "thumb": (400, 76)}
# What the decoder makes of a camera's usual 4000 px is shown as it is: to scale it by a fifth would cost half as much
# as to decode it.
SCREEN_AT_MOST_PX = 2000

BROKEN = "The photo is damaged: its data break off or cannot be read. Take or choose it again."


def make_renditions(job: RenditionJob) -> dict[str, Any]:
    """The work of one RenditionJob. Repeatable; a worker that lost its lease changes nothing.

    A file that cannot be decoded is not an error of the worker: the photo says why it was refused, and the job is done.
    """
    photo = job.photo
    if photo.is_ready or photo.refused_because:
        return {}  # a worker before this one was stopped between the photo and its job
    _forget_earlier_attempts(photo, job.attempt)
    with photo.original.open("rb") as file:
        data = file.read()  # apart from the decoding: a disk that fails is tried again, a damaged photo is not
    try:
        made = render(data)
    except BROKEN_IMAGE as error:
        log.info("photo %s cannot be decoded: %s", photo.pk, error)
        return _store(job, refused_because=BROKEN)
    paths = {}
    for name, jpeg in made.items():
        wanted = _path(photo, name, job.attempt)
        paths[name] = photo.thumb.storage.save(wanted, ContentFile(jpeg))
    return _store(job, **paths)


def render(data: bytes) -> dict[str, bytes]:
    """The JPEG of each rendition, by its name. Raises what BROKEN_IMAGE lists if the data are damaged."""
    longest_px = max(side_px for side_px, _ in SIZES.values())
    if is_heic(data[:12]):
        data = as_png(data)
    with whole_images_only():
        image = open_image(io.BytesIO(data))
        # The decoder itself skips detail that no rendition needs. It wants a box of the photo's own shape.
        image.draft(image.mode if image.mode == "L" else "RGB", _fit(image.size, longest_px))
        image.load()
    image = _on_white(_to_srgb(_upright(_shrink(_without_palette(image), 2 * longest_px))))
    is_small = max(image.size) <= SCREEN_AT_MOST_PX
    made = {"screen": _jpeg(image if is_small else _shrink(image, SIZES["screen"][0]), "screen")}
    for name in ("printable", "thumb"):  # from the decoded picture, not from `screen`: half of it is quickly made
        image = _shrink(image, SIZES[name][0], in_whole_steps=True)
        made[name] = _jpeg(image, name)
    return made


def _jpeg(image: Image.Image, name: str) -> bytes:
    image.info = {}  # else a comment or a profile of the original would go along
    out = io.BytesIO()
    image.save(out, "JPEG", quality=SIZES[name][1])
    return out.getvalue()


def _fit(size: tuple[int, int], longest_px: int) -> tuple[int, int]:
    scale = min(1.0, longest_px / max(size))
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def _shrink(image: Image.Image, longest_px: int, in_whole_steps: bool = False) -> Image.Image:
    """Scaled down to this longest side, never up. In whole steps: first halved or divided by three, where it can be."""
    wanted = _fit(image.size, longest_px)
    gap = 1.0 if in_whole_steps else 3.0
    # Hamming and not bicubic: as sharp at these steps, in three quarters of the time.
    return image if wanted == image.size else image.resize(wanted, Image.Resampling.HAMMING, reducing_gap=gap)


def _without_palette(image: Image.Image) -> Image.Image:
    """A mode that can be resized smoothly: no palette, no single bits, no 16-bit greys."""
    if image.mode in ("RGB", "RGBA", "L", "CMYK"):
        return image
    if image.mode.startswith("I"):  # 16 bits a pixel: keep the upper eight
        return image.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    return image.convert("RGBA" if image.has_transparency_data else "RGB")


def _upright(image: Image.Image) -> Image.Image:
    with suppress(*BROKEN_IMAGE):  # then the picture is whole; only its notes are not
        ImageOps.exif_transpose(image, in_place=True)  # no copy of what stands upright already, as most photos do
    return image


def _to_srgb(image: Image.Image) -> Image.Image:
    """Colours as every screen and printer takes them. A profile that cannot be read is left out of account."""
    profile = image.info.get("icc_profile")
    if not profile or image.mode == "RGBA":
        return image
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if "sRGB" in ImageCms.getProfileDescription(source):
            return image
        return ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB") or image
    except (ImageCms.PyCMSError, *BROKEN_IMAGE):
        return image


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode == "RGBA":
        sheet = Image.new("RGB", image.size, "white")
        sheet.paste(image, mask=image.getchannel("A"))
        return sheet
    return image if image.mode == "RGB" else image.convert("RGB")


def _path(photo: Photo, name: str, attempt: int) -> str:
    """The attempt is in the name: a slow worker that lost its lease cannot write over the files of the next one."""
    return f"photos/{photo.visit_id}/{photo.pk}/{name}-{attempt}.jpg"


def _forget_earlier_attempts(photo: Photo, attempt: int) -> None:
    for earlier in range(1, attempt):
        for name in SIZES:
            photo.thumb.storage.delete(_path(photo, name, earlier))


def _store(job: RenditionJob, **fields: str) -> dict[str, Any]:
    """Write the result to the photo, in one transaction with the proof that the job is still this worker's."""
    with transaction.atomic():
        if job.say("stored", 100):
            Photo.objects.filter(pk=job.photo_id).update(**fields)
    return {}
