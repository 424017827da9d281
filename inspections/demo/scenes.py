"""The demo's photos, drawn by the project itself: one function a subject; the seed places knots, stains and boards."""

import io
import random
from collections.abc import Callable

from PIL import Image, ImageDraw, ImageFilter

from inspections.demo import wood

SIZE = (1600, 1200)
Scene = Callable[[random.Random], Image.Image]


def draw(name: str, seed: str) -> bytes:
    """JPEG bytes of one scene. Raises KeyError for a name that is not in SCENES."""
    rng = random.Random(f"{name}-{seed}")  # noqa: S311 (a drawing, not a secret)
    picture = wood.finish(SCENES[name](rng), rng)
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=86)
    return buffer.getvalue()


def _wall(rng: random.Random) -> Image.Image:
    """Lap siding, the usual background at a house."""
    picture = Image.new("RGB", SIZE, (188, 186, 176))
    pen = ImageDraw.Draw(picture)
    lap = 128
    for top in range(-rng.randint(0, lap), SIZE[1], lap):
        shade = rng.randint(-5, 5)
        pen.rectangle((0, top, SIZE[0], top + lap), fill=(190 + shade, 188 + shade, 178 + shade))
        pen.rectangle((0, top + lap - 7, SIZE[0], top + lap), fill=(112, 110, 104))
    return picture


def _ground(rng: random.Random, horizon: int, sky: wood.Colour = (182, 196, 204)) -> Image.Image:
    picture = Image.new("RGB", SIZE, sky)
    soil = Image.effect_noise((SIZE[0] // 3, (SIZE[1] - horizon) // 3), 90).resize((SIZE[0], SIZE[1] - horizon))
    grass = Image.merge(
        "RGB", [soil.point(lambda v: 62 + v // 4), soil.point(lambda v: 70 + v // 4), soil.point(lambda v: 46 + v // 6)]
    )
    picture.paste(grass, (0, horizon))
    pen = ImageDraw.Draw(picture, "RGBA")
    for _ in range(260):
        x, y = rng.uniform(0, SIZE[0]), rng.uniform(horizon, SIZE[1])
        pen.line((x, y, x + rng.uniform(-8, 8), y - rng.uniform(8, 26)), fill=(84, 96, 58, 120), width=2)
    return picture


def _lay(picture: Image.Image, piece: Image.Image, left: int, top: int, depth: int = 16) -> None:
    wood.shadow(picture, (left, top, left + piece.width, top + piece.height), depth)
    picture.paste(piece, (left, top))


def ledger_lags(rng: random.Random, *, missing: bool = False, rust: float = 0.25) -> Image.Image:
    picture = _wall(rng)
    _lay(picture, wood.board(1600, 380, wood.WEATHERED, rng), 0, 330, 22)
    for index, x in enumerate((190, 610, 1030, 1450)):
        y = 430 if index % 2 else 600
        if missing and index == 2:
            wood.hole(picture, x, y, 34)
            wood.stain(picture, x, y + 10, 50, 120, rng, (70, 40, 22))
        else:
            wood.bolt_head(picture, x, y, 36, rng, rust=rust)
            wood.stain(picture, x, y + 40, 60, 130, rng, (92, 50, 24), 110)
    for x in (380, 1210):
        _lay(picture, wood.board(74, 430, wood.OLD, rng, upright=True), x, 410, 12)
    wood.tape(picture, 190, 742, 840, "32 in between working lags" if missing else "16 in on centre")
    return picture


def ledger_missing(rng: random.Random) -> Image.Image:
    return ledger_lags(rng, missing=True, rust=0.6)


def ledger_nails(rng: random.Random) -> Image.Image:
    picture = _wall(rng)
    _lay(picture, wood.board(1600, 360, wood.OLD, rng), 0, 340, 22)
    pen = ImageDraw.Draw(picture, "RGBA")
    for x in range(120, 1600, 240):
        for dy in (430, 600):
            pen.ellipse((x - 12, dy - 12, x + 12, dy + 12), fill=(98, 56, 30, 255), outline=(40, 24, 14, 255), width=3)
            wood.stain(picture, x, dy + 8, 26, 120, rng, (86, 44, 20), 130)
    pen.polygon([(0, 322), (1600, 336), (1600, 352), (0, 340)], fill=(16, 12, 8, 230))
    return picture


def flashing(rng: random.Random, *, present: bool = False) -> Image.Image:
    picture = _wall(rng)
    _lay(picture, wood.board(1600, 330, wood.WEATHERED, rng), 0, 560, 20)
    for left in range(-40, 1600, 252):
        _lay(picture, wood.board(240, 62, wood.NEW_PINE, rng), left, 500, 8)
    pen = ImageDraw.Draw(picture, "RGBA")
    if present:
        pen.rectangle((0, 396, 1600, 506), fill=(168, 174, 178, 255), outline=(90, 94, 98, 255), width=4)
        pen.line((0, 420, 1600, 420), fill=(220, 224, 226, 255), width=5)
    else:
        for x in rng.sample(range(80, 1540), 9):
            wood.stain(picture, x, 566, 120, rng.randint(180, 320), rng, (40, 30, 22), 150)
        pen.rectangle((0, 486, 1600, 502), fill=(16, 12, 8, 220))
    return picture


def flashing_present(rng: random.Random) -> Image.Image:
    return flashing(rng, present=True)


def hanger(rng: random.Random, *, rust: float = 0.15, filled: int = 8) -> Image.Image:
    picture = Image.new("RGB", SIZE, (70, 62, 54))
    _lay(picture, wood.board(1600, 620, wood.WEATHERED, rng), 0, 220, 18)
    joist = wood.board(210, 690, wood.OLD, rng, upright=True)
    _lay(picture, joist, 695, 250, 30)
    zinc, brown = (158, 164, 168), (110, 60, 32)
    metal = tuple(round(a + (b - a) * rust) for a, b in zip(zinc, brown, strict=True))
    pen = ImageDraw.Draw(picture, "RGBA")
    for left in (560, 905):
        pen.rectangle((left + 10, 330, left + 145, 950), fill=(10, 8, 6, 90))
        pen.rectangle((left, 320, left + 135, 930), fill=(*metal, 255), outline=(58, 54, 50, 255), width=4)
    pen.rectangle((672, 900, 928, 990), fill=(*metal, 255), outline=(58, 54, 50, 255), width=4)
    spots = [(left + dx, 390 + row * 130) for left in (560, 905) for row in range(4) for dx in (40, 98)]
    for index, (x, y) in enumerate(spots):
        if index % 8 < filled:
            pen.ellipse((x - 15, y - 15, x + 15, y + 15), fill=(92, 86, 80, 255), outline=(40, 36, 32, 255), width=3)
        else:
            pen.ellipse((x - 11, y - 11, x + 11, y + 11), fill=(20, 16, 12, 255))
    if rust > 0.5:
        for _ in range(700):
            x, y = rng.uniform(560, 1040), rng.uniform(320, 990)
            pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=(rng.randint(110, 160), rng.randint(48, 74), 22, 140))
    return picture


def hanger_rusted(rng: random.Random) -> Image.Image:
    return hanger(rng, rust=0.85, filled=5)


def beam_side_bolted(rng: random.Random) -> Image.Image:
    picture = _ground(rng, 820)
    _lay(picture, wood.board(330, 1200, wood.WEATHERED, rng, upright=True), 640, 0, 26)
    _lay(picture, wood.board(1600, 300, wood.OLD, rng), 0, 300, 26)
    for y in (380, 520):
        wood.bolt_head(picture, 805, y, 40, rng, rust=0.35)
    return picture


def beam_on_post(rng: random.Random) -> Image.Image:
    picture = _ground(rng, 900)
    _lay(picture, wood.board(1600, 300, wood.NEW_PINE, rng), 0, 220, 22)
    _lay(picture, wood.board(300, 720, wood.WEATHERED, rng, upright=True), 660, 520, 24)
    pen = ImageDraw.Draw(picture, "RGBA")
    pen.rectangle((640, 440, 980, 640), fill=(160, 166, 170, 255), outline=(70, 72, 74, 255), width=4)
    for x in (690, 810, 930):
        for y in (480, 600):
            wood.bolt_head(picture, x, y, 15, rng, rust=0.1)
    return picture


def post_base(rng: random.Random, *, rotten: bool = False) -> Image.Image:
    picture = _ground(rng, 520, (150, 150, 142))
    pen = ImageDraw.Draw(picture, "RGBA")
    if rotten:
        post = wood.board(320, 900, wood.WET, rng, upright=True)
        _lay(picture, post, 640, 0, 30)
        wood.rot(picture, 800, 800, 190, rng)
        for _ in range(240):
            x, y = rng.uniform(560, 1040), rng.uniform(860, 980)
            pen.line((x, y, x + rng.uniform(-10, 10), y - rng.uniform(16, 70)), fill=(58, 84, 40, 220), width=3)
        return picture
    pen.ellipse((480, 800, 1120, 1100), fill=(168, 166, 160, 255), outline=(110, 108, 102, 255), width=6)
    _lay(picture, wood.board(300, 820, wood.WEATHERED, rng, upright=True), 650, 0, 24)
    pen.rectangle((630, 760, 970, 900), fill=(158, 164, 168, 255), outline=(70, 72, 74, 255), width=4)
    for x in (690, 910):
        wood.bolt_head(picture, x, 815, 20, rng, rust=0.2)
    return picture


def post_base_rotten(rng: random.Random) -> Image.Image:
    return post_base(rng, rotten=True)


def guard_post(rng: random.Random, *, notched: bool = True) -> Image.Image:
    picture = _ground(rng, 760)
    _lay(picture, wood.board(1600, 300, wood.WEATHERED, rng), 0, 640, 24)
    for left in range(-60, 1600, 262):
        _lay(picture, wood.board(250, 54, wood.NEW_PINE, rng), left, 590, 8)
    post = wood.board(250, 1000, wood.OLD, rng, upright=True)
    _lay(picture, post, 675, -60, 26)
    pen = ImageDraw.Draw(picture, "RGBA")
    if notched:
        pen.polygon([(675, 586), (800, 586), (800, 606), (675, 606)], fill=(20, 14, 10, 255))
        pen.line((802, 600, 812, 420), fill=(20, 14, 10, 220), width=5)
        pen.line((806, 520, 826, 380), fill=(20, 14, 10, 160), width=3)
    for y in (710, 860):
        wood.bolt_head(picture, 800, y, 34, rng, rust=0.3)
    return picture


def guard_open(rng: random.Random) -> Image.Image:
    picture = _ground(rng, 700)
    for top in (120, 980):
        _lay(picture, wood.board(1600, 92, wood.WEATHERED, rng), 0, top, 14)
    for x in (150, 520, 700, 1070, 1420):
        _lay(picture, wood.board(80, 800, wood.WEATHERED, rng, upright=True), x, 190, 14)
    wood.tape(picture, 600, 560, 100, "")
    wood.tape(picture, 230, 560, 290, "6 1/4 in clear")
    return picture


def stair(rng: random.Random, *, cut_crack: bool = False) -> Image.Image:
    """A flight seen from the side: two cut stringers, one behind the other, and the ends of the treads."""
    picture = _ground(rng, 900)
    run, rise, steps, left, bottom = 214, 152, 6, 130, 1010
    for depth, shade in ((60, (86, 76, 64)), (0, (124, 112, 97))):
        upper = [(left - depth, bottom - depth // 3)]
        for step in range(steps):
            x, y = left + step * run - depth, bottom - (step + 1) * rise - depth // 3
            upper += [(x, y), (x + run, y)]
        end_x, end_y = upper[-1]
        ImageDraw.Draw(picture, "RGBA").polygon(
            [*upper, (end_x, end_y + 330), (left + 150 - depth, bottom - depth // 3)], fill=(*shade, 255)
        )
        face = wood.board(1700, 1200, shade, rng).rotate(35.4).crop((50, 0, 1650, 1200))
        mask = Image.new("L", SIZE, 0)
        ImageDraw.Draw(mask).polygon(
            [*upper, (end_x, end_y + 330), (left + 150 - depth, bottom - depth // 3)], fill=150
        )
        picture.paste(face, (0, 0), mask)
    for step in range(steps):
        tread = wood.board(run + 64, 44, wood.NEW_PINE if step % 3 == 1 else wood.WEATHERED, rng)
        _lay(picture, tread, left + step * run - 52, bottom - (step + 1) * rise - 44, 12)
    if cut_crack:
        pen = ImageDraw.Draw(picture, "RGBA")
        corner = (left + 3 * run, bottom - 3 * rise)
        crack = [
            corner,
            (corner[0] + 46, corner[1] + 34),
            (corner[0] + 60, corner[1] + 90),
            (corner[0] + 120, corner[1] + 150),
        ]
        pen.line(crack, fill=(14, 10, 6, 255), width=9)
    return picture


def stair_cracked(rng: random.Random) -> Image.Image:
    return stair(rng, cut_crack=True)


def decking(rng: random.Random, *, soft: bool = False) -> Image.Image:
    picture = Image.new("RGB", SIZE, (24, 20, 16))
    for top in range(0, SIZE[1], 172):
        picture.paste(wood.board(1600, 160, wood.WEATHERED, rng), (0, top))
    pen = ImageDraw.Draw(picture, "RGBA")
    for x in (260, 820, 1380):
        for top in range(0, SIZE[1], 172):
            for dy in (40, 120):
                pen.ellipse((x - 9, top + dy - 9, x + 9, top + dy + 9), fill=(70, 64, 58, 255))
    if soft:
        wood.rot(picture, 880, 600, 210, rng)
    return picture


def decking_soft(rng: random.Random) -> Image.Image:
    return decking(rng, soft=True)


def whole_deck(rng: random.Random, *, posts: int = 4, tall: bool = True) -> Image.Image:
    """The deck from the garden: house wall, posts, beam, joist ends, guard."""
    picture = _ground(rng, 860)
    wall = _wall(rng).resize((1600, 640))
    picture.paste(wall.crop((0, 0, 1600, 620)), (0, 240))
    pen = ImageDraw.Draw(picture, "RGBA")
    pen.polygon([(0, 240), (1600, 240), (1600, 150), (0, 150)], fill=(84, 74, 68, 255))
    pen.rectangle((620, 300, 900, 560), fill=(74, 88, 96, 255), outline=(230, 228, 220, 255), width=14)
    deck_top = 520 if tall else 800
    foot = 1010
    for index in range(posts):
        x = 150 + index * (1240 // (posts - 1))
        _lay(picture, wood.board(54, foot - deck_top - 60, wood.WEATHERED, rng, upright=True), x, deck_top + 60, 14)
    _lay(picture, wood.board(1400, 62, wood.OLD, rng), 100, deck_top + 70, 14)
    for x in range(110, 1490, 58):
        picture.paste(wood.board(18, 50, wood.NEW_PINE, rng, upright=True), (x, deck_top + 22))
    _lay(picture, wood.board(1440, 30, wood.NEW_PINE, rng), 80, deck_top, 10)
    for x in range(86, 1520, 42):
        picture.paste(wood.board(12, 150, wood.WEATHERED, rng, upright=True), (x, deck_top - 160))
    _lay(picture, wood.board(1440, 22, wood.WEATHERED, rng), 80, deck_top - 180, 8)
    return picture.filter(ImageFilter.GaussianBlur(0.6))


def low_platform(rng: random.Random) -> Image.Image:
    return whole_deck(rng, posts=5, tall=False)


def hot_tub(rng: random.Random) -> Image.Image:
    picture = whole_deck(rng, posts=4)
    pen = ImageDraw.Draw(picture, "RGBA")
    pen.rounded_rectangle((980, 360, 1360, 524), 24, fill=(96, 74, 58, 255), outline=(52, 40, 30, 255), width=6)
    for x in range(1000, 1350, 26):
        pen.line((x, 372, x, 516), fill=(66, 50, 38, 255), width=4)
    pen.rounded_rectangle((966, 340, 1374, 380), 14, fill=(58, 66, 70, 255))
    return picture


SCENES: dict[str, Scene] = {
    scene.__name__: scene
    for scene in (
        ledger_lags, ledger_missing, ledger_nails, flashing, flashing_present, hanger, hanger_rusted, beam_side_bolted,
        beam_on_post, post_base, post_base_rotten, guard_post, guard_open, stair, stair_cracked, decking, decking_soft,
        whole_deck, low_platform, hot_tub,
    )
}  # fmt: skip
