"""Looking at an upload before a byte of it is stored: what it is, by what is in it and not by what it calls itself."""

import hashlib
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import PurePath
from typing import BinaryIO

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from PIL import Image, ImageFile, UnidentifiedImageError

from inspections.photos.heic import is_heic
from inspections.photos.heic import size_px as heic_size_px

# Decoder name -> ending of the stored file. MPO is what many cameras write: a JPEG with a second picture behind it.
ENDINGS = {"JPEG": ".jpg", "MPO": ".jpg", "PNG": ".png", "WEBP": ".webp", "HEIF": ".heic"}
CONTENT_TYPES = {".jpg": "image/jpeg", ".png": "image/png", ".webp": "image/webp", ".heic": "image/heic"}
_OPENERS = ("JPEG", "PNG", "WEBP")  # HEIC is read by another process

# What Pillow raises on damaged data, by experience with its decoders; a lack of memory is not among them.
BROKEN_IMAGE = (
    OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, struct.error, Image.DecompressionBombError,
)  # fmt: skip


class PhotoRefused(Exception):
    """The file is not taken in. `reason` says why, beginning with the file's name; `file_name` is that name."""

    def __init__(self, file_name: str, why: str) -> None:
        self.file_name = file_name
        self.reason = f"{file_name}: {why}"
        super().__init__(self.reason)


@dataclass(frozen=True)
class Looked:
    """What a look at an upload tells."""

    ending: str
    width_px: int
    height_px: int
    sha256: str


def look_at(upload: UploadedFile) -> Looked:
    """Check size, kind and pixel count, reading no more than the header before those are known to be in bounds.

    Raises PhotoRefused. A JPEG whose data break off behind a good header is found when it is decoded, by the worker.
    """
    name = printable_name(upload.name)
    if not upload.size:
        raise PhotoRefused(name, "the file is empty. Take or choose the photo again.")
    if upload.size > settings.PHOTO_MAX_BYTES:
        raise PhotoRefused(
            name,
            f"{_megabytes(upload.size)} MB is more than the {_megabytes(settings.PHOTO_MAX_BYTES)} MB a photo may"
            " have. Set the camera to a smaller size.",
        )
    kind, width_px, height_px = _read_header(upload, name)
    upload.seek(0)
    digest = hashlib.sha256()
    for chunk in upload.chunks():
        digest.update(chunk)
    upload.seek(0)
    return Looked(ENDINGS[kind], width_px, height_px, digest.hexdigest())


class TooManyPixels(Image.DecompressionBombError):
    """The header promises more pixels than `settings.PHOTO_MAX_PIXELS`; nothing was decoded."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.size = size
        super().__init__(f"{size[0]} by {size[1]} pixels")


def open_image(file: BinaryIO) -> Image.Image:
    """Open one of the kinds we take, header only. Raises TooManyPixels and the others that BROKEN_IMAGE lists."""
    with warnings.catch_warnings():
        # Pillow warns from a bound of its own on; ours is the firm's, and is an error.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        image = Image.open(file, formats=_OPENERS)
    _refuse_too_many(image.size)
    return image


def _refuse_too_many(size_px: tuple[int, int]) -> None:
    if size_px[0] * size_px[1] > settings.PHOTO_MAX_PIXELS:
        raise TooManyPixels(size_px)


@contextmanager
def whole_images_only() -> Iterator[None]:
    """Within, an image that breaks off is an error. Whoever has imported WeasyPrint has turned that off for all."""
    was = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = was


def printable_name(name: str | None) -> str:
    """The file's own name, for a message only: no folders, no control characters, not too long."""
    text = "".join(c for c in PurePath((name or "").replace("\\", "/")).name if c.isprintable()).strip()
    return text if len(text) <= 60 else f"{text[:40]}…{text[-15:]}" if text else "The file"


def _read_header(upload: UploadedFile, name: str) -> tuple[str, int, int]:
    upload.seek(0)
    start = upload.read(12)
    upload.seek(0)
    try:
        if is_heic(start):
            size_px = heic_size_px(upload.read())
            _refuse_too_many(size_px)
            return "HEIF", *size_px
        image = open_image(upload)
        looked = str(image.format), *image.size
        if image.format == "PNG":
            with whole_images_only():
                image.verify()  # checks the sums of the chunks; costs no decoding
        return looked
    except TooManyPixels as error:
        raise PhotoRefused(
            name,
            f"{error} is more than the {settings.PHOTO_MAX_PIXELS / 1e6:g} million a photo may have."
            " Set the camera to a smaller size.",
        ) from error
    except Image.DecompressionBombError as error:
        raise PhotoRefused(
            name, "it unfolds to more pixels than a photo may have. Set the camera to a smaller size."
        ) from error
    except UnidentifiedImageError as error:
        raise PhotoRefused(name, "this is not a photo. JPEG, HEIC, PNG and WebP are taken.") from error
    except BROKEN_IMAGE as error:
        raise PhotoRefused(name, "the photo is damaged. Take or choose it again.") from error


def _megabytes(byte_count: int) -> str:
    return f"{byte_count / 1024 / 1024:.1f}".removesuffix(".0")
