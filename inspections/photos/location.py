"""Where a photo was taken, removed from a file that is handed on; its picture is not touched."""

import re
import struct
import zlib

# A TIFF block as a JPEG or HEIC announces it, or as a PNG or WebP does. Source: CIPA DC-008 (Exif), 4.5.2 and 4.7.2;
# the chunk names from the PNG and WebP specifications.
_BLOCK = re.compile(rb"(?:Exif\x00\x00|eXIf|EXIF....)(?=II\*\x00|MM\x00\*)", re.S)
_XMP_PLACE = re.compile(rb"(exif:GPS[A-Za-z]+)(=\"|='|>)([^\"'<]*)")
_PNG = b"\x89PNG\r\n\x1a\n"
_GPS_POINTER = 0x8825
_LONG = 4
_VALUE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 7: 1, 9: 4, 10: 8}  # of one value, by its type
_MOST_ENTRIES = 512


def without_location(data: bytes) -> bytes:
    """The same file, byte for byte but for its place on the earth: every GPS value, in EXIF and XMP, is blank."""
    blank = bytearray(data)
    for found in _BLOCK.finditer(data):
        try:
            _blank_gps(blank, found.end())
        except (struct.error, IndexError):
            continue  # damaged notes hold no place that anything could read
    for found in _XMP_PLACE.finditer(data):
        start, end = found.span(3)
        blank[start:end] = b" " * (end - start)
    if data.startswith(_PNG) and blank != data:
        _sign_png(blank)
    return bytes(blank)


def _blank_gps(data: bytearray, tiff: int) -> None:
    order = "<" if data[tiff : tiff + 2] == b"II" else ">"
    for entry in _entries(data, tiff, struct.unpack_from(order + "I", data, tiff + 4)[0], order):
        tag, kind = struct.unpack_from(order + "HH", data, entry)
        if tag == _GPS_POINTER and kind == _LONG:
            for value in _entries(data, tiff, struct.unpack_from(order + "I", data, entry + 8)[0], order):
                _blank_value(data, tiff, value, order)


def _entries(data: bytearray, tiff: int, offset: int, order: str) -> list[int]:
    """Where the entries of a directory stand in the file."""
    (count,) = struct.unpack_from(order + "H", data, tiff + offset)
    first = tiff + offset + 2
    return [first + 12 * number for number in range(min(count, _MOST_ENTRIES))]


def _blank_value(data: bytearray, tiff: int, entry: int, order: str) -> None:
    _, kind, count, offset = struct.unpack_from(order + "HHII", data, entry)
    byte_count = _VALUE_BYTES.get(kind, 0) * count
    start = entry + 8 if byte_count <= 4 else tiff + offset
    end = min(start + byte_count, len(data))
    data[start:end] = bytes(max(0, end - start))


def _sign_png(data: bytearray) -> None:
    """The sums of all chunks anew: a PNG reader refuses a chunk whose sum does not agree."""
    at = len(_PNG)
    while at + 12 <= len(data):
        (length,) = struct.unpack_from(">I", data, at)
        end = at + 8 + length
        if end + 4 > len(data):
            return
        struct.pack_into(">I", data, end, zlib.crc32(data[at + 4 : end]))
        at = end + 4
