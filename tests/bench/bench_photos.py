"""What photos cost: taking in one of 12 megapixels, and opening a visit that has a hundred of them, or five hundred.

    python tests/bench/bench_photos.py          (with `open`, only the opening of a visit)

Prints a JSON line per figure. A visit's findings and photos are opened in a real Chromium of a tablet's size, until the
words and all pictures in sight are there; the floor is the same page of a visit without a photo, so that what else the
machine does weighs on both alike. What the page holds then is told, too: how many of the pictures were loaded at all
(the others are when one comes near them), what their pixels would take, the heap of its scripts, its process. The
browser says of no single picture whether it is decoded: the pixels are the most that it can be.

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
from datetime import timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TIMES = 15
TARGET_RATIO = 1.3
OPENS_WITHIN_S = 1.0  # with 100 photos
MOST_IN_MEMORY = 0.6  # of 100 photos: what is in sight and the next few screens
OPENED = 5
IN_SIGHT = """() => document.readyState !== "loading" && document.querySelector("main h1")
    && [...document.querySelectorAll(".photo img")]
        .filter((one) => one.getBoundingClientRect().top < innerHeight && one.getBoundingClientRect().bottom > 0)
        .every((one) => one.complete && one.naturalWidth > 0)"""
PICTURES = """() => {
    const there = [...document.images].filter((one) => one.complete && one.naturalWidth > 0);
    return [there.filter((one) => one.closest(".photo")).length,
            there.reduce((sum, one) => sum + one.naturalWidth * one.naturalHeight, 0)];
}"""


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
    if "open" in sys.argv[1:]:
        return 0 if _open_visits(photos[0], visit, inspector) else 1
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
    """Open the findings of a visit without a photo, with 100, then with 500."""
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
    bare = _another(visit)
    thumb = Photo().thumb.storage.save("photos/thumb.jpg", ContentFile(render(jpeg)["thumb"]))
    client = Client()
    client.force_login(inspector)
    ((name, cookie),) = client.cookies.items()
    signed_in = {"name": name, "value": cookie.value, "domain": "127.0.0.1", "path": "/"}
    server = LiveServerThread("127.0.0.1", StaticFilesHandler, connections_override={})
    server.start()
    server.is_ready.wait()
    holds, there = True, 0
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=ARGUMENTS)
        for count in (100, 500):
            _photos_without_work(visit, inspector, count - there, thumb)
            there = count
            opened = {bare.pk: [], visit.pk: []}
            for _ in range(
                OPENED
            ):  # in turns, each in a browser of its own: what another page left behind does not count
                for pk, seen in opened.items():
                    browser = playwright.chromium.launch(executable_path=find_chromium(), args=ARGUMENTS)
                    address = f"http://127.0.0.1:{server.port}{reverse('finding-list', args=[pk])}"
                    seen.append(_opened(browser, address, signed_in))
            floor, value = (
                {name: statistics.median(one[name] for one in seen) for name in seen[0]} for seen in opened.values()
            )
            target = OPENS_WITHIN_S / floor["s"] if count == 100 else None
            most = MOST_IN_MEMORY if count == 100 else None
            holds &= _say(f"a visit with {count} photos opens", value["s"], floor["s"], target)
            holds &= _tell(f"pictures loaded of {count}", value["pictures"], count, "pictures", most)
            _tell(f"their pixels, if all were decoded, {count} photos", value["decoded_mb"], floor["decoded_mb"], "MB")
            _tell(f"bytes loaded, {count} photos", value["loaded_kb"], floor["loaded_kb"], "KB")
            _tell(f"heap of the scripts, {count} photos", value["heap_mb"], floor["heap_mb"], "MB")
            _tell(f"memory of the page's process, {count} photos", value["process_mb"], floor["process_mb"], "MB")
        browser.close()
    server.terminate()
    return holds


def _opened(browser, address: str, signed_in: dict) -> dict[str, float]:
    """Open a page until its words and the pictures in sight are there; what that took, and what it holds then."""
    context = browser.new_context(viewport={"width": 820, "height": 1180}, service_workers="block")
    context.add_cookies([signed_in])
    page = context.new_page()
    spoken = context.new_cdp_session(page)
    spoken.send("Network.enable")
    spoken.send("Performance.enable")
    loaded = []
    spoken.on("Network.loadingFinished", lambda told: loaded.append(told["encodedDataLength"]))
    began = time.monotonic()
    page.goto(address, wait_until="commit")
    page.wait_for_function(IN_SIGHT)
    took_s = time.monotonic() - began
    page.wait_for_load_state("networkidle")
    metrics = {one["name"]: one["value"] for one in spoken.send("Performance.getMetrics")["metrics"]}
    pictures, pixels = page.evaluate(PICTURES)
    found = {
        "s": took_s, "pictures": pictures, "decoded_mb": pixels * 4 / 1e6, "loaded_kb": sum(loaded) / 1e3,
        "heap_mb": metrics["JSHeapUsedSize"] / 1e6, "process_mb": _largest_renderer_mb(browser),
    }  # fmt: skip
    context.close()
    return found


def _largest_renderer_mb(browser) -> float:
    """Resident memory of the process that shows the page, without what it shares with others."""
    told = browser.new_browser_cdp_session().send("SystemInfo.getProcessInfo")["processInfo"]
    sizes_kb = [0]
    for one in told:
        status = Path(f"/proc/{one['id']}/status")
        if one["type"] == "renderer" and status.exists():
            anonymous = next(line for line in status.read_text().splitlines() if line.startswith("RssAnon"))
            sizes_kb.append(int(anonymous.split()[1]))
    return max(sizes_kb) / 1e3


def _another(visit):
    """A visit like it, without a photo."""
    from inspections.visits.models import Visit

    return Visit.objects.create(
        client=visit.client, property=visit.property, inspector=visit.inspector, state="under_way",
        starts_at=visit.starts_at + timedelta(days=1), begun_at=visit.begun_at,
    )  # fmt: skip


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


def _tell(figure: str, value: float, floor: float, unit: str, target: float | None = None) -> bool:
    """Against the floor; where that is nothing, there is no ratio."""
    ratio = round(value / floor, 3) if floor else None
    holds = None if target is None else ratio is not None and ratio <= target
    line = {"figure": figure, "value": round(value, 2), "unit": unit, "floor": round(floor, 2), "ratio": ratio}
    print(json.dumps({**line, "target": target, "holds": holds}), flush=True)
    return holds is not False


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
