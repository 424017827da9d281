"""HEIC photos, as phones write them. They are read by a process of their own: a damaged file can bring the decoder down
(seen with libheif 1.23), and then it brings down only that.

Run as a program it is that process: the file on standard input, `size` or `png` as its one word.
"""

import subprocess
import sys

_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_MOST_SECONDS = 60
_MOST_BYTES = 2 * 1024**3  # of memory; 60 million pixels take about a third of it


class BrokenHeic(OSError):
    """The file cannot be read, or reading it took the decoder down."""


def is_heic(start: bytes) -> bool:
    """Whether a file that begins with these 12 bytes calls itself HEIC. Source: ISO/IEC 23008-12, the brands."""
    return start[4:8] == b"ftyp" and start[8:12] in _BRANDS


def size_px(data: bytes) -> tuple[int, int]:
    """Width and height as it is looked at, without decoding it. Raises BrokenHeic."""
    width, height = _read("size", data).split()
    return int(width), int(height)


def as_png(data: bytes) -> bytes:
    """The picture, upright, with its colour profile, as an uncompressed PNG. Raises BrokenHeic."""
    return _read("png", data)


def _read(what: str, data: bytes) -> bytes:
    command = [sys.executable, "-I", __file__, what]
    try:
        done = subprocess.run(  # noqa: S603 - our own interpreter and file
            command, input=data, capture_output=True, timeout=_MOST_SECONDS, check=True
        )
    except subprocess.SubprocessError as error:
        raise BrokenHeic(f"no picture in it: {error}") from error
    return done.stdout


def _main(what: str) -> None:
    import io
    import resource

    import pi_heif
    from PIL import Image

    resource.setrlimit(resource.RLIMIT_CPU, (_MOST_SECONDS, _MOST_SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (_MOST_BYTES, _MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    pi_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False, decode_threads=1)
    # Its size is checked against the firm's bound by whoever asks, before the picture is asked for.
    Image.MAX_IMAGE_PIXELS = None
    image = Image.open(io.BytesIO(sys.stdin.buffer.read()), formats=["HEIF"])
    if what == "size":
        print(*image.size)
        return
    profile = image.info.get("icc_profile")
    image = image.convert("RGBA" if image.has_transparency_data else "RGB")
    image.info = {}
    image.save(sys.stdout.buffer, "PNG", compress_level=0, icc_profile=profile)


if __name__ == "__main__":
    _main(sys.argv[1])
