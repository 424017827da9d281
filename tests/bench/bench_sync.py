"""300 entries and 60 photos made without signal, sent through a connection that is cut ten times at random.

    python tests/bench/bench_sync.py

Prints a JSON line per figure. A real Chromium keeps and sends them with the application's own outbox; the server runs
in this process. The floor is the same entries and as many photos of the same size sent without a cut, with the breaks
themselves and the two seconds after each until it is tried again, which no machine makes shorter. Every value and
every byte of every photo is compared with what was entered.
"""

import base64
import hashlib
import json
import os
import random
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CUTS, PARTS, FACTS, PHOTOS = 10, 30, 9, 60
ENTRIES = PARTS * (1 + FACTS)
PAUSE_S = 2.0  # what the tablet lets pass after a break before it tries again (SOON_MS of static/js/offline/start.js)
TARGET_RATIO = 1.15

KEEP = """async ({ visit, operations, photos }) => {
  const { keep } = await import("/static/js/offline/outbox.js");
  const { photoOperations } = await import("/static/js/offline/pictures.js");
  for (const sheet of operations) await keep(visit, sheet);
  for (const [number, text] of photos.entries()) {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const made = await photoOperations([new File([bytes], `${number}.jpg`)], { finding: "", part: "", link: "edge" });
    await keep(visit, made.operations, made.kept);
  }
}"""
WAITING = """() => new Promise((done) => {
  const asked = indexedDB.open("soundings");
  asked.onsuccess = () => {
    const count = asked.result.transaction("outbox").objectStore("outbox").count();
    count.onsuccess = () => { asked.result.close(); done(count.result); };
  };
})"""


def main() -> int:
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(SOUNDINGS_DATA=folder, DJANGO_SETTINGS_MODULE="firm.settings", LOG_LEVEL="ERROR")
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # Playwright's own loop runs in this thread
        sys.path.insert(0, str(ROOT))
        import django
        from django.conf import settings

        settings.STORAGES["staticfiles"]["BACKEND"] = "django.contrib.staticfiles.storage.StaticFilesStorage"
        settings.ALLOWED_HOSTS = ["*"]
        django.setup()
        return _measure(Path(folder), random.Random(seed))


def _measure(folder: Path, chance: random.Random) -> int:
    from django.contrib.staticfiles.handlers import StaticFilesHandler
    from django.core.management import call_command
    from django.test.testcases import LiveServerThread

    from inspections.photos import services

    call_command("migrate", verbosity=0)
    services.ring = lambda job: None  # the renditions are another bench's matter
    server = LiveServerThread("127.0.0.1", StaticFilesHandler, connections_override={})
    server.start()
    server.is_ready.wait()
    try:
        sent_s, _, floor_is_whole = _send_all(folder / "floor", server.port, chance, cuts=0)
        cut_s, broken_s, is_whole = _send_all(folder / "cut", server.port, chance, cuts=CUTS)
    finally:
        server.terminate()
    holds = _say(f"{ENTRIES} entries and {PHOTOS} photos, {CUTS} cuts", cut_s, sent_s + broken_s + CUTS * PAUSE_S)
    for name, whole in (("without a cut", floor_is_whole), (f"{CUTS} cuts", is_whole)):
        line = {"figure": f"as entered, {name}", "value": whole, "unit": "of 1", "floor": 1.0, "ratio": whole,
                "target": 1.0, "holds": whole == 1.0}  # fmt: skip
        print(json.dumps(line), flush=True)
    return 0 if holds and floor_is_whole == is_whole == 1.0 else 1


def _send_all(folder: Path, port: int, chance: random.Random, *, cuts: int) -> tuple[float, float, float]:
    """Seconds until the outbox is empty, those of the breaks, and which share is in the record as it was entered."""
    from playwright.sync_api import sync_playwright

    from firm.bootstrap import find_chromium
    from tests.browser.conftest import ARGUMENTS
    from tests.browser.signal_line import SignalLine

    visit, cookie = _a_visit(folder.name)
    operations, values = _entries(chance)
    photos = [_photo(chance) for _ in range(PHOTOS)]
    line = SignalLine("127.0.0.1", port)
    with sync_playwright() as playwright:
        context = playwright.chromium.launch_persistent_context(
            str(folder), executable_path=find_chromium(), args=ARGUMENTS, base_url=line.url
        )
        context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": line.url}])
        page = context.pages[0]
        page.goto("/")
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        line.cut()
        texts = [base64.b64encode(one).decode() for one in photos]
        page.evaluate(KEEP, {"visit": visit.pk, "operations": operations, "photos": texts})
        assert page.evaluate(WAITING) == ENTRIES + PHOTOS
        began = time.monotonic()
        bytes_between = sum(map(len, photos)) // (cuts + 1) if cuts else 0
        breaks_s = [chance.uniform(0.1, 2) for _ in range(cuts)]
        for break_s in breaks_s:
            line.mend(bytes_until_cut=chance.randrange(2000, 2 * bytes_between))
            while not line.is_cut and page.evaluate(WAITING):
                page.wait_for_timeout(20)
            page.wait_for_timeout(1000 * break_s)
        line.mend()
        page.evaluate("dispatchEvent(new Event('online'))")
        while page.evaluate(WAITING):
            page.wait_for_timeout(50)
        seconds = time.monotonic() - began
        context.close()
    line.close()
    return seconds, sum(breaks_s), _share_as_entered(visit, values, photos)


def _entries(chance: random.Random) -> tuple[list, dict]:
    """Beams with their facts, as operations of the tablet, and what the record must say: (key, fact) -> value."""
    from uuid import UUID

    from engine.vocabulary import BY_NAME

    lengths = [fact for fact in BY_NAME["beam"].facts if fact.kind in ("length", "number", "choice")][:FACTS]
    assert len(lengths) == FACTS
    operations, values = [], {}
    for number in range(1, PARTS + 1):
        part = str(UUID(int=chance.getrandbits(128), version=4))
        sheet = [["add_part", {"part": part, "kind": "beam", "key": f"B{number}", "name": "", "readings": {}}]]
        for fact in lengths:
            if fact.kind == "choice":
                value = typed = chance.choice(fact.choices)
            else:
                value = round(chance.uniform(max(fact.low, 0.5), min(fact.high, 200)) * 16) / 16
                typed = f"{value:g}" if value == int(value) else f"{int(value)} {round(value % 1 * 16)}/16"
                if fact.kind == "number":
                    typed = f"{value}"
            values[f"B{number}", fact.name] = value
            reading = {"part": part, "fact": fact.name, "typed": typed, "how": "measured", "seen": ""}
            sheet.append(["record_reading", reading])
        operations.append(sheet)
    return operations, values


def _photo(chance: random.Random) -> bytes:
    from tests.inspections.photos.files import jpeg_bytes

    # What stands behind the picture's end makes it as large as a photo on a weak line should be.
    return jpeg_bytes(seed=chance.randrange(10**6)) + chance.randbytes(400_000)


def _share_as_entered(visit, values: dict, photos: list[bytes]) -> float:
    from inspections.photos.models import Photo
    from inspections.survey.models import Reading
    from inspections.sync.models import SyncOperation

    there = {(one.part.key, one.fact): one.value
             for one in Reading.objects.filter(part__visit=visit).select_related("part")}  # fmt: skip
    kept = {hashlib.sha256(one.original.read()).hexdigest() for one in Photo.objects.filter(visit=visit)}
    good = sum(there.get(place) == value for place, value in values.items())
    good += sum(hashlib.sha256(one).hexdigest() in kept for one in photos)
    good += visit.parts.count() == PARTS
    good += SyncOperation.objects.filter(visit=visit, outcome="applied").count() == ENTRIES + PHOTOS
    return round(good / (len(values) + len(photos) + 2), 4)


def _a_visit(name: str):
    from django.conf import settings
    from django.test import Client

    from firm.people.models import User
    from tests.make import make_visit

    inspector = User.objects.create_user(name, is_inspector=True)
    client = Client()
    client.force_login(inspector)
    return make_visit(inspector, state="under_way"), client.cookies[settings.SESSION_COOKIE_NAME]


def _say(figure: str, value_s: float, floor_s: float) -> bool:
    ratio = value_s / floor_s
    line = {"figure": figure, "value": round(value_s, 1), "unit": "s", "floor": round(floor_s, 1),
            "ratio": round(ratio, 2), "target": TARGET_RATIO, "holds": ratio <= TARGET_RATIO}  # fmt: skip
    print(json.dumps(line), flush=True)
    return ratio <= TARGET_RATIO


if __name__ == "__main__":
    sys.exit(main())
