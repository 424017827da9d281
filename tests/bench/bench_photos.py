"""How long taking in a 12-megapixel photo keeps a processor busy, against the least that must be done.

    python tests/bench/bench_photos.py

Prints a JSON line per figure. The floor is decoding the photo once in Pillow's draft mode, scaling it to 1600 px and
encoding that once. `check and keep` is what the sender waits for, `renditions` the worker's part, `taking in` both,
with the database and the disk, as in use. All are processor time of this process, so that what else the machine does at
the moment does not count.
"""

import io
import json
import os
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TIMES = 15
TARGET_RATIO = 1.3


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(SOUNDINGS_DATA=folder, DJANGO_SETTINGS_MODULE="firm.settings", LOG_LEVEL="ERROR")
        sys.path.insert(0, str(ROOT))
        import django

        django.setup()
        return _measure()


def _measure() -> int:
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    photos = [_photo_of_12_megapixels(seed) for seed in range(3)]
    visit, inspector = _a_visit()
    floors_s, keep_s, renditions_s = [], [], []
    for turn in range(TIMES):  # in turns, so that whatever else the machine does weighs on both alike
        floors_s.append(_decode_and_encode_once(photos[turn % 3]))
        # The bytes behind the end of the picture make each file another one, as two photos of one scene are.
        keep, renditions = _take_in(photos[turn % 3] + bytes([turn]), visit, inspector)
        keep_s.append(keep)
        renditions_s.append(renditions)
    floor_s = statistics.median(floors_s)
    whole_s = [keep + renditions for keep, renditions in zip(keep_s, renditions_s, strict=True)]
    _say("check and keep, 12 megapixels", statistics.median(keep_s), floor_s, None)
    _say("renditions, 12 megapixels", statistics.median(renditions_s), floor_s, None)
    return 0 if _say("taking in, 12 megapixels", statistics.median(whole_s), floor_s, TARGET_RATIO) else 1


def _take_in(data: bytes, visit, inspector) -> tuple[float, float]:
    from django.core.files.uploadedfile import SimpleUploadedFile

    from inspections.photos import services
    from inspections.photos.tasks import make_photo_renditions

    services.ring = lambda job: None  # the work is called below; a bell would only add a message nobody reads
    began = time.process_time()
    photo = services.take_in_photo(visit, SimpleUploadedFile("a.jpg", data, "image/jpeg"), by=inspector)
    kept = time.process_time()
    done = make_photo_renditions(photo.rendition_job.pk)
    ended = time.process_time()
    photo.refresh_from_db()
    assert done and photo.is_ready, "the figure counts only if the work was done"
    return kept - began, ended - kept


def _decode_and_encode_once(data: bytes) -> float:
    from PIL import Image

    began = time.process_time()
    image = Image.open(io.BytesIO(data))
    image.draft("RGB", (1600, 1200))
    image = image.resize((1600, 1200), Image.Resampling.BICUBIC)
    image.save(io.BytesIO(), "JPEG", quality=82)
    return time.process_time() - began


def _photo_of_12_megapixels(seed: int) -> bytes:
    """4000 by 3000 px with the grain of a real photo: a smooth picture decodes faster than any that a camera makes."""
    from PIL import Image, ImageChops, ImageFilter

    random.seed(seed)
    ground = Image.frombytes("RGB", (40, 30), random.randbytes(3600)).resize((4000, 3000), Image.Resampling.BICUBIC)
    grain = Image.effect_noise((4000, 3000), 40).filter(ImageFilter.GaussianBlur(0.8)).convert("RGB")
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 1
    ImageChops.overlay(ground, grain).save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()


def _a_visit():
    from django.utils import timezone

    from firm.clients.models import Client
    from firm.people.models import User
    from firm.properties.models import Property
    from inspections.visits.models import Visit

    inspector = User.objects.create_user("bench", is_inspector=True)
    client = Client.objects.create(name="Bench")
    house = Property.objects.create(client=client, street="1 Mill Lane", town="Harrow Point", region="Maine")
    now = timezone.now()
    return Visit.objects.create(
        client=client, property=house, inspector=inspector, starts_at=now, state="under_way", begun_at=now
    ), inspector


def _say(figure: str, value_s: float, floor_s: float, target: float | None) -> bool:
    ratio = value_s / floor_s
    holds = None if target is None else ratio <= target
    line = {
        "figure": figure, "value": round(value_s * 1000, 1), "unit": "ms", "floor": round(floor_s * 1000, 1),
        "ratio": round(ratio, 2), "target": target, "holds": holds,
    }  # fmt: skip
    print(json.dumps(line), flush=True)
    return holds is not False


if __name__ == "__main__":
    sys.exit(main())
