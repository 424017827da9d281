"""Boards, bolts, rust and rot, drawn with Pillow: what the demo's photos are made of."""

import math
import random
from collections.abc import Callable

from PIL import Image, ImageChops, ImageDraw, ImageEnhance, ImageFilter

Colour = tuple[int, int, int]
NEW_PINE: Colour = (196, 160, 108)
WEATHERED: Colour = (146, 136, 122)
OLD: Colour = (118, 108, 96)
WET: Colour = (92, 78, 62)


def board(width: int, height: int, colour: Colour, rng: random.Random, *, upright: bool = False) -> Image.Image:
    """A board with grain along its length, a few knots, and softly darker edges."""
    if upright:
        return board(height, width, colour, rng).transpose(Image.Transpose.ROTATE_90)
    face = Image.new("RGB", (width, height), colour)
    for stretch, contrast in ((22, 0.20), (70, 0.26)):
        grain = Image.effect_noise((max(width // stretch, 4), max(height // 2, 4)), 60).resize(
            (width, height), Image.Resampling.BICUBIC
        )
        face = Image.blend(face, ImageChops.multiply(face, Image.merge("RGB", [grain] * 3)), contrast)
    face = ImageEnhance.Brightness(face).enhance(1.12)
    pen = ImageDraw.Draw(face, "RGBA")
    for _ in range(max(6, height // 14)):
        y, drift = rng.uniform(0, height), rng.uniform(-6, 6)
        points = [
            (x, y + drift * math.sin(x / rng.uniform(160, 320)) + rng.uniform(-1, 1)) for x in range(0, width + 40, 40)
        ]
        pen.line(points, fill=(60, 42, 24, rng.randint(24, 70)), width=rng.choice((1, 1, 2, 3)))
    for _ in range(rng.randint(0, max(1, width // 420))):
        _knot(
            pen,
            rng.uniform(30, max(31, width - 30)),
            rng.uniform(height * 0.2, height * 0.8),
            rng.uniform(0.07, 0.15) * min(height, 160),
            rng,
        )
    edge = Image.new("L", (width, height), 0)
    ImageDraw.Draw(edge).rectangle((0, 0, width - 1, height - 1), outline=170, width=max(2, height // 40))
    dark = Image.new("RGB", (width, height), (30, 22, 14))
    return Image.composite(dark, face, edge.filter(ImageFilter.GaussianBlur(max(2, height // 50))))


def _knot(pen: ImageDraw.ImageDraw, x: float, y: float, size: float, rng: random.Random) -> None:
    for ring in range(5, 0, -1):
        wide, high = size * ring / 3.2, size * ring / 4.5
        pen.ellipse((x - wide, y - high, x + wide, y + high), outline=(70, 44, 20, 120), fill=(90, 58, 28, 40), width=2)
    pen.ellipse((x - size / 3, y - size / 4, x + size / 3, y + size / 4), fill=(58, 36, 18, 200))


def shadow(picture: Image.Image, box: tuple[int, int, int, int], depth: int = 16, strength: int = 120) -> None:
    """A soft shadow below and right of a box, before the thing itself is pasted."""
    left, top, right, bottom = box
    _blurred(
        picture,
        (left, top, right + depth, bottom + depth),
        (12, 10, 8),
        depth * 0.8,
        lambda pen, dx, dy: pen.rectangle(
            (left + depth // 2 - dx, top + depth - dy, right + depth - dx, bottom + depth - dy), fill=strength
        ),
    )


def _blurred(
    picture: Image.Image,
    box: tuple[float, float, float, float],
    colour: Colour,
    radius: float,
    paint: Callable[[ImageDraw.ImageDraw, int, int], None],
) -> None:
    """Lay `colour` over `picture` through a blurred mask that `paint` draws; only near `box`, which is quick."""
    reach = round(radius * 3)
    left, top = max(0, round(box[0]) - reach), max(0, round(box[1]) - reach)
    right, bottom = min(picture.width, round(box[2]) + reach), min(picture.height, round(box[3]) + reach)
    if right <= left or bottom <= top:
        return
    mask = Image.new("L", (right - left, bottom - top), 0)
    paint(ImageDraw.Draw(mask), left, top)
    picture.paste(colour, (left, top), mask.filter(ImageFilter.GaussianBlur(radius)))


def bolt_head(picture: Image.Image, x: int, y: int, radius: int, rng: random.Random, *, rust: float = 0.0) -> None:
    """A hexagon head on its washer; `rust` from 0 (new zinc) to 1 (brown and scaling)."""
    size = radius * 4
    tile = Image.new("RGBA", (size, size), (0, 0, 0, 0))
    pen = ImageDraw.Draw(tile)
    centre = size / 2
    zinc, brown = (176, 182, 186), (112, 58, 28)
    metal = tuple(round(a + (b - a) * rust) for a, b in zip(zinc, brown, strict=True))
    for offset, shade in ((6, (20, 16, 12, 90)), (0, (*metal, 255))):
        reach = radius * 1.45
        pen.ellipse(
            (centre - reach + offset, centre - reach + offset, centre + reach + offset, centre + reach + offset),
            fill=shade,
        )
    turn = rng.uniform(0, 1)
    corners = [
        (centre + radius * math.cos(turn + k * math.pi / 3), centre + radius * math.sin(turn + k * math.pi / 3))
        for k in range(6)
    ]
    lighter = tuple(min(255, c + 28) for c in metal)
    pen.polygon(corners, fill=(*lighter, 255), outline=(50, 40, 34, 255))
    pen.ellipse(
        (centre - radius * 0.55, centre - radius * 0.55, centre + radius * 0.55, centre + radius * 0.55),
        outline=(60, 50, 44, 150),
        width=3,
    )
    for _ in range(round(rust * 160)):
        a, r = rng.uniform(0, 2 * math.pi), rng.uniform(0, radius * 1.4)
        px, py = centre + r * math.cos(a), centre + r * math.sin(a)
        pen.ellipse((px - 3, py - 3, px + 3, py + 3), fill=(rng.randint(90, 160), rng.randint(40, 70), 20, 190))
    picture.paste(tile.filter(ImageFilter.GaussianBlur(0.8)), (x - size // 2, y - size // 2), tile)


def hole(picture: Image.Image, x: int, y: int, radius: int) -> None:
    """An empty hole with a pale ring where a washer used to sit."""
    pen = ImageDraw.Draw(picture, "RGBA")
    pen.ellipse((x - radius * 1.5, y - radius * 1.5, x + radius * 1.5, y + radius * 1.5), fill=(214, 190, 150, 130))
    pen.ellipse((x - radius * 0.6, y - radius * 0.6, x + radius * 0.6, y + radius * 0.6), fill=(18, 12, 8, 255))


def stain(
    picture: Image.Image,
    x: int,
    y: int,
    width: int,
    length: int,
    rng: random.Random,
    colour: Colour = (48, 34, 22),
    strength: int = 150,
) -> None:
    """A water or rust run, downward from a point."""
    runs = []
    for _ in range(9):
        dx, reach = rng.uniform(-width / 2, width / 2), length * rng.uniform(0.35, 1.0)
        half = width * rng.uniform(0.06, 0.16)
        runs.append([(x + dx - half, y), (x + dx + half, y), (x + dx * 1.2, y + reach)])

    def paint(pen: ImageDraw.ImageDraw, left: int, top: int) -> None:
        for run in runs:
            pen.polygon([(px - left, py - top) for px, py in run], fill=strength)

    _blurred(picture, (x - width, y, x + width, y + length), colour, 9, paint)


def rot(picture: Image.Image, x: int, y: int, size: int, rng: random.Random) -> None:
    """A soft, dark, cubed patch, the way decayed wood breaks up."""
    mask = Image.new("L", picture.size, 0)
    pen = ImageDraw.Draw(mask)
    for _ in range(26):
        a, r = rng.uniform(0, 2 * math.pi), size * math.sqrt(rng.random())
        blot = size * rng.uniform(0.1, 0.3)
        pen.ellipse(
            (
                x + r * math.cos(a) - blot,
                y + r * 0.7 * math.sin(a) - blot,
                x + r * math.cos(a) + blot,
                y + r * 0.7 * math.sin(a) + blot,
            ),
            fill=215,
        )
    soft = mask.filter(ImageFilter.GaussianBlur(6))
    picture.paste((44, 31, 20), (0, 0), soft)
    lines = ImageDraw.Draw(picture, "RGBA")
    for _ in range(30):
        px, py = x + rng.uniform(-size, size), y + rng.uniform(-size, size) * 0.7
        if mask.getpixel((max(0, min(picture.width - 1, round(px))), max(0, min(picture.height - 1, round(py))))):
            reach = rng.uniform(14, 40)
            lines.line((px, py, px + reach, py + rng.uniform(-4, 4)), fill=(14, 9, 6, 230), width=3)
            lines.line((px + reach / 2, py - 12, px + reach / 2, py + 12), fill=(14, 9, 6, 200), width=2)


def tape(picture: Image.Image, x: int, y: int, length: int, reading: str) -> None:
    """A tape measure laid along the work, with ticks; the reading is written at its end."""
    pen = ImageDraw.Draw(picture, "RGBA")
    pen.rectangle((x + 4, y + 6, x + length + 4, y + 50), fill=(10, 8, 6, 110))
    pen.rectangle((x, y, x + length, y + 44), fill=(236, 208, 74, 255), outline=(60, 50, 10, 255))
    for tick in range(0, length, 14):
        high = 26 if tick % 112 == 0 else 18 if tick % 56 == 0 else 10
        pen.line((x + tick, y, x + tick, y + high), fill=(30, 26, 16, 255), width=2)
    pen.rectangle((x + length - 14, y - 8, x + length, y + 56), fill=(140, 146, 150, 255))
    pen.text((x + 16, y + 20), reading, fill=(24, 20, 10, 255), font_size=22)


def finish(picture: Image.Image, rng: random.Random) -> Image.Image:
    """Light falling off to one side, a little noise: a hand-held photo in the shade."""
    width, height = picture.size
    falloff = Image.linear_gradient("L").rotate(rng.choice((0, 90, 180)), expand=False).resize((width, height))
    dim = ImageEnhance.Brightness(picture).enhance(0.62)
    lit = Image.composite(picture, dim, falloff.point(lambda v: min(255, 90 + v)))
    noise = Image.effect_noise((width, height), 22)
    return Image.blend(lit, Image.merge("RGB", [noise] * 3), 0.05)
