"""Taking in the firm's logo: what was uploaded is decoded and written anew, so that nothing but the picture is kept."""

import hashlib
import io
import warnings

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from PIL import Image, ImageFile

MAX_BYTES = 2 * 1024 * 1024
_MAX_PIXELS = 25_000_000
_BOX_PX = (1200, 600)  # 4 in wide at 300 dpi, more than any page prints
_FORMATS = ("PNG", "JPEG", "WEBP")


class LogoRefused(Exception):
    """Why the file is no logo, in words."""


def clean_logo(upload: UploadedFile) -> ContentFile:
    """The picture as a PNG of at most 1200 by 600 pixels, upright, without metadata, named by its content.

    Raises LogoRefused for a file that is too large, empty, not a PNG, JPEG or WebP picture, or broken.
    """
    if upload.size > MAX_BYTES:
        raise LogoRefused(f"{_name(upload)} has {upload.size / 1024 / 1024:.1f} MB; a logo may have 2 MB.")
    if not upload.size:
        raise LogoRefused(f"{_name(upload)} is empty.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = _decode(upload)
    except LogoRefused:
        raise
    except Exception as error:  # a decoder fed with anything raises anything
        raise LogoRefused(f"{_name(upload)} cannot be read as a picture. Send a PNG, JPEG or WebP file.") from error
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=True)
    content = out.getvalue()
    return ContentFile(content, name=f"logo-{hashlib.sha256(content).hexdigest()[:16]}.png")


def _decode(upload: UploadedFile) -> Image.Image:
    ImageFile.LOAD_TRUNCATED_IMAGES = False  # importing WeasyPrint switches it on for the whole process
    upload.seek(0)
    with Image.open(upload, formats=_FORMATS) as picture:
        if picture.width * picture.height > _MAX_PIXELS:
            raise LogoRefused(f"{_name(upload)} has {picture.width} by {picture.height} pixels; make it smaller first.")
        picture.load()
        upright = picture.convert("RGBA")
    upright.thumbnail(_BOX_PX)
    fresh = Image.new("RGBA", upright.size)  # a new picture has no metadata to carry along
    fresh.paste(upright)
    return fresh


def _name(upload: UploadedFile) -> str:
    return f"“{upload.name or 'The file'}”"
