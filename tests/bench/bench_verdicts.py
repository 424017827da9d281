"""From a key to the verdict it changes, in a real Chromium: with the server beside it, and on a tablet without signal.

    python tests/bench/bench_verdicts.py

Prints one JSON line for each figure: {figure, value, unit, floor, ratio, target, holds}; values are medians. With
signal the floor is the bare POST of the same form from the same page. Without, the server is stopped, and the floor is
the engine's `assess` on the same deck in this Python on this machine. Besides: how long a tablet takes from the opening
of a page without signal to its first verdict (the floor is the same page before the engine says anything), and the
megabytes that are taken along (the floor is the engine's own share).
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.bench_pages import PASSWORD, free_port, line, wait_for  # noqa: E402

ROUNDS = 15
WITH_SIGNAL_MS, WITHOUT_SIGNAL_MS = 300, 1000
READY = "Verdicts are worked out on this tablet, too."

# From the change of a field until the panel of verdicts is another.
UNTIL_SHOWN = """spacing => new Promise(done => {
  const field = document.querySelector('#in-fact-J1-spacing_in');
  const begun = performance.now();
  const panel = document.querySelector('#verdicts');
  const watch = new MutationObserver(() => { watch.disconnect(); done(performance.now() - begun); });
  // The server's panel takes the place of the old one; the tablet fills it anew.
  for (const one of [panel, panel.parentElement]) watch.observe(one, { childList: true });
  field.value = spacing;
  field.dispatchEvent(new Event('change', { bubbles: true }));
})"""
BARE_POST = """async spacing => {
  const field = document.querySelector('#fact-J1-spacing_in');
  const form = new URLSearchParams({ spacing_in: spacing, 'spacing_in.how': 'measured',
    'spacing_in.seen': field.querySelector('[name="spacing_in.seen"]').value });
  const begun = performance.now();
  const answer = await fetch(field.getAttribute('hx-post'), { method: 'POST', body: form, headers: {
    'HX-Request': 'true', 'X-CSRFToken': JSON.parse(document.body.getAttribute('hx-headers'))['x-csrftoken'] } });
  const text = await answer.text();
  const took = performance.now() - begun;
  if (!answer.ok) throw new Error(answer.status);
  // The field is drawn anew, so that the next turn knows what stands.
  const fresh = new DOMParser().parseFromString(text, 'text/html').querySelector('#fact-J1-spacing_in');
  field.querySelector('[name="spacing_in.seen"]').value = fresh.querySelector('[name="spacing_in.seen"]').value;
  return took;
}"""


def main():
    visit, deck = prepare()
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "firm.wsgi", "-b", f"127.0.0.1:{port}", "-w", "1", "--threads", "4",
         "--log-level", "error"],
        cwd=ROOT,
        env={**os.environ, "PUBLIC_URL": f"http://127.0.0.1:{port}"},
    )  # fmt: skip
    try:
        wait_for(port)
        in_the_browser(f"http://localhost:{port}", visit, deck, server)
    finally:
        server.terminate()
        server.wait(timeout=60)


def prepare():
    """A visit of the user `inspector` that is under way, with a whole deck in its record; and that deck's file."""
    import django

    django.setup()
    from django.core.management import call_command

    from firm.people.models import User
    from inspections.survey.deck import deck_json
    from tests.engine.deck_files import deck_file
    from tests.inspections.survey.recorded import record_deck
    from tests.make import in_days, make_visit

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    inspector = User.objects.create_user("inspector", password=PASSWORD, is_inspector=True)
    visit = make_visit(inspector, state="under_way", starts_at=in_days(0, 10))
    record_deck(visit, deck_file())
    return visit.pk, deck_json(visit)


def in_the_browser(address, visit, deck, server):
    from playwright.sync_api import sync_playwright

    from firm.bootstrap import find_chromium

    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as profile:
        tablet = playwright.chromium.launch_persistent_context(
            profile, executable_path=find_chromium(), args=["--no-sandbox"], base_url=address,
            viewport={"width": 820, "height": 1180},
        )  # fmt: skip
        tablet.set_default_timeout(120_000)
        page = tablet.new_page()
        page.goto("/sign-in/")
        page.get_by_label("User name").fill("inspector")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in", exact=True).click()
        page.wait_for_url("**/")
        walk = f"/visits/{visit}/walk/joists/"
        page.wait_for_selector(f"[data-take-verdicts]:has-text('{READY}')", timeout=900_000)
        with_signal(page, walk)
        server.terminate()
        server.wait(timeout=60)
        without_signal(page, walk, deck)
        tablet.close()


def spacings(start):
    """A new one each turn, so that the engine has to answer anew each time: eighths of an inch."""
    return [f"{start + turn} {turn % 4 * 2 + 1}/8" for turn in range(ROUNDS)]


def with_signal(page, walk):
    page.goto(walk)
    floors, values = [], []
    for bare, shown in zip(spacings(12), spacings(11), strict=True):
        floors.append(page.evaluate(BARE_POST, bare))
        values.append(page.evaluate(UNTIL_SHOWN, shown))
        page.wait_for_timeout(100)
    figure = "key to verdict, with the server"
    line(figure, statistics.median(values), "ms", statistics.median(floors), None, most=WITH_SIGNAL_MS)


def without_signal(page, walk, deck):
    from engine import Deck, assess

    begun = time.perf_counter()
    page.goto(walk, wait_until="domcontentloaded")
    page.wait_for_selector("html[data-kept]", state="attached")
    drawn_ms = (time.perf_counter() - begun) * 1000
    page.wait_for_selector(".by-tablet")
    first_ms = (time.perf_counter() - begun) * 1000
    floors, values = [], []
    for turn, spacing in enumerate(spacings(13)):
        values.append(page.evaluate(UNTIL_SHOWN, spacing))
        page.wait_for_timeout(100)
        deck["joist_fields"][0]["spacing_in"] = 13 + turn + (turn % 4 * 2 + 1) / 8
        text = json.dumps(deck)
        begun = time.perf_counter()
        assess(Deck.from_json(text))
        floors.append((time.perf_counter() - begun) * 1000)
    figure = "key to verdict, without signal"
    line(figure, statistics.median(values), "ms", statistics.median(floors), None, most=WITHOUT_SIGNAL_MS)
    line("opening of a page without signal to its first verdict", first_ms, "ms", drawn_ms, None, most=10_000)


def sizes():
    from inspections.sync.judging import engine_source, judging

    megabytes = sum(judging()["files"].values()) / 1e6
    line("taken along to judge without signal", megabytes, "MB", len(engine_source().data) / 1e6, None, most=8)


if __name__ == "__main__":
    main()
    sizes()
