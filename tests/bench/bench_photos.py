"""What photos cost: taking in one of 12 megapixels, and opening a visit that has a hundred of them, or five hundred.

    python tests/bench/bench_photos.py

Prints a JSON line per figure. A visit is opened in a real Chromium of a tablet's size, until all that is in sight is
shown; its floor is the page on which one changes one's password, so that what else the machine does weighs on both
alike. How many pictures were fetched for it is told, too.

Taking one in: The floor is decoding the photo once in Pillow's draft mode, scaling it to 1600 px and
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
OPENS_WITHIN_S = 1.0  # with 100 photos


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(SOUNDINGS_DATA=folder, DJANGO_SETTINGS_MODULE="firm.settings", LOG_LEVEL="ERROR")
        sys.path.insert(0, str(ROOT))
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # Playwright's own loop runs in this thread
        import django
        from django.conf import settings

        settings.STORAGES["staticfiles"]["BACKEND"] = "django.contrib.staticfiles.storage.StaticFilesStorage"
        settings.ALLOWED_HOSTS = ["*"]
        django.setup()
        return _measure()


def _measure() -> int:
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    photos = [_photo_of_12_megapixels(seed) for seed in range(3)]
    visit, inspector = _a_visit()
    floors_s, bare_s, keep_s, renditions_s = [], [], [], []
    for turn in range(TIMES):  # in turns, so that whatever else the machine does weighs on both alike
        floors_s.append(_decode_and_encode_once(photos[turn % 3]))
        bare_s.append(_decode_and_encode_once(photos[turn % 3], scale=False))
        # The bytes behind the end of the picture make each file another one, as two photos of one scene are.
        keep, renditions = _take_in(photos[turn % 3] + bytes([turn]), visit, inspector)
        keep_s.append(keep)
        renditions_s.append(renditions)
    floor_s = statistics.median(floors_s)
    whole_s = [keep + renditions for keep, renditions in zip(keep_s, renditions_s, strict=True)]
    _say("check and keep, 12 megapixels", statistics.median(keep_s), floor_s, None)
    _say("renditions, 12 megapixels", statistics.median(renditions_s), floor_s, None)
    _say("taking in, against a floor that does not scale", statistics.median(whole_s), statistics.median(bare_s), None)
    is_quick = _say("taking in, 12 megapixels", statistics.median(whole_s), floor_s, TARGET_RATIO)
    opens = _open_visits(photos[0], visit, inspector)
    return 0 if is_quick and opens else 1


def _open_visits(jpeg: bytes, visit, inspector) -> bool:
    """Open the findings of a visit with 100 photos, then with 500."""
    from django.contrib.staticfiles.handlers import StaticFilesHandler
    from django.core.files.base import ContentFile
    from django.test import Client
    from django.test.testcases import LiveServerThread
    from django.urls import reverse
    from playwright.sync_api import sync_playwright

    from firm.bootstrap import find_chromium
    from inspections.photos.models import Photo
    from inspections.photos.renditions import render
    from tests.browser.conftest import ARGUMENTS

    visit.photos.update(removed_at=visit.starts_at)
    thumb = Photo().thumb.storage.save("photos/thumb.jpg", ContentFile(render(jpeg)["thumb"]))
    client = Client()
    client.force_login(inspector)
    ((name, cookie),) = client.cookies.items()
    server = LiveServerThread("127.0.0.1", StaticFilesHandler, connections_override={})
    server.start()
    server.is_ready.wait()
    holds, there = True, 0
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=ARGUMENTS)
        for count in (100, 500):
            _photos_without_work(visit, inspector, count - there, thumb)
            there = count
            times_s = {"/password/": [], reverse("finding-list", args=[visit.pk]): []}
            for _ in range(5):
                for address, seen in times_s.items():
                    context = browser.new_context(
                        base_url=f"http://127.0.0.1:{server.port}", viewport={"width": 820, "height": 1180},
                        service_workers="block",
                    )  # fmt: skip
                    context.add_cookies([{"name": name, "value": cookie.value, "domain": "127.0.0.1", "path": "/"}])
                    page = context.new_page()
                    fetched = []
                    page.on("response", lambda answer, to=fetched: to.append(1) if "/thumb/" in answer.url else None)
                    began = time.monotonic()
                    page.goto(address, wait_until="load")
                    seen.append(time.monotonic() - began)
                    context.close()
            floor_s, value_s = (statistics.median(seen) for seen in times_s.values())
            # As a ratio, like every target here: what one second is of the floor at this moment.
            target = OPENS_WITHIN_S / floor_s if count == 100 else None
            told = f"a visit with {count} photos opens, {len(fetched)} pictures fetched"
            holds &= _say(told, value_s, floor_s, target)
        browser.close()
    server.terminate()
    return holds


def _photos_without_work(visit, inspector, count: int, thumb: str) -> None:
    from inspections.photos.models import Photo, RenditionJob

    photos = [
        Photo(visit=visit, by=inspector, sha256=random.randbytes(32).hex(), byte_count=1, width_px=4000, height_px=3000,
              original=thumb, thumb=thumb, screen=thumb, printable=thumb)
        for _ in range(count)
    ]  # fmt: skip
    Photo.objects.bulk_create(photos)
    RenditionJob.objects.bulk_create([RenditionJob(photo=one, state="done") for one in photos])


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


def _decode_and_encode_once(data: bytes, *, scale: bool = True) -> float:
    from PIL import Image

    began = time.process_time()
    image = Image.open(io.BytesIO(data))
    image.draft("RGB", (1600, 1200))
    if scale:
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
        "ratio": round(ratio, 2), "target": target and round(target, 2), "holds": holds,
    }  # fmt: skip
    print(json.dumps(line), flush=True)
    return holds is not False


if __name__ == "__main__":
    sys.exit(main())
