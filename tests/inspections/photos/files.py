"""Image files of every kind a test needs, made on the spot."""

import io
import struct
import zlib
from pathlib import Path

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

# `picture(320, 240)` as a phone held upright keeps it: turned in the container, with `exif_with_position(6)`. Written
# with pillow-heif 1.8.1, quality 60; what is installed here reads the kind and does not write it.
PHONE_HEIC = Path(__file__).with_name("phone.heic").read_bytes()


def picture(width_px=640, height_px=480, seed=1):
    """A photo-like picture: a shaded ground with some blocks, different for each seed; a red block at the top left."""
    image = Image.linear_gradient("L").resize((width_px, height_px)).convert("RGB")
    for number in range(6):
        x, y = (seed * 37 + number * 91) % width_px, (seed * 53 + number * 67) % height_px
        image.paste((40 * number % 255, 90, seed * 29 % 255), (x, y, x + width_px // 8, y + height_px // 8))
    image.paste((255, 0, 0), (0, 0, width_px // 4, height_px // 4))
    return image


def jpeg_bytes(width_px=640, height_px=480, seed=1, **save):
    out = io.BytesIO()
    picture(width_px, height_px, seed).save(out, "JPEG", quality=85, **save)
    return out.getvalue()


def saved(image, kind, **save):
    out = io.BytesIO()
    image.save(out, kind, **save)
    return out.getvalue()


def upload(data, name="beam.jpg", content_type="image/jpeg"):
    return SimpleUploadedFile(name, data, content_type)


def bomb_png(width_px=10_000, height_px=10_000):
    """A sound PNG of 100 megapixels in about 12 kB: one bit a pixel, all white."""
    row = b"\0" + b"\xff" * (width_px // 8)
    squeeze = zlib.compressobj(9)
    data = b"".join([*(squeeze.compress(row) for _ in range(height_px)), squeeze.flush()])
    header = struct.pack(">IIBBBBB", width_px, height_px, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(k, d) for k, d in ((b"IHDR", header), (b"IDAT", data), (b"IEND", b""))
    )


def _chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def exif_with_position(orientation=None):
    """EXIF that gives a camera, a position on the earth and, if told, which way up the camera was held."""
    exif = Image.Exif()
    exif[0x010F] = "CAMERA MAKER WORDS"
    if orientation:
        exif[0x0112] = orientation
    exif.get_ifd(0x8825).update({1: "N", 2: (44.0, 6.0, 7.25), 3: "W", 4: (69.0, 2.0, 3.5)})
    return exif
