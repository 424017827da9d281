"""What photos cost: the PDF of a report with them against the same report without; the peak of memory, and the pace.

    python tests/bench/bench_report.py

Prints one JSON line for each figure. Takes no database: it draws from a record made up here.
"""

import json
import multiprocessing
import os
import resource
import statistics
import sys
import tempfile
import time
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")
if "BENCH_DATA" not in os.environ:  # the process that is weighed reads this module again, and the same files
    os.environ["BENCH_DATA"] = tempfile.mkdtemp(prefix="soundings-bench-")
os.environ["SOUNDINGS_DATA"] = os.environ["BENCH_DATA"]
os.environ.setdefault("LOG_LEVEL", "ERROR")

ROUNDS = 3
PHOTOS = 60
MANY_PHOTOS = 150
PICTURES = 10  # different ones; making them takes longer than drawing the report
TARGET_RATIO = 1.5
MOST_PDF_BYTES = 8 * 1024**2  # with sixty photos
MOST_MEMORY_MIB = 600  # with a hundred and fifty
LEAST_PAGES_PER_CPU_SECOND = 2.0


def made_up_record(photo_count):
    """A deck of the engine's own tests, judged, with one finding and so many photos at print size."""
    from django.utils import timezone

    from engine import Deck, assess
    from inspections.photos.renditions import render
    from inspections.reports.media import keep_file
    from inspections.reports.snapshot import FORMAT, _tables, witnesses

    deck_file = Path(__file__).parents[1] / "engine" / "decks" / "sound_ledger_deck.json"
    deck = Deck.from_json(deck_file.read_text())
    return {
        "format": FORMAT,
        "firm": {
            "name": "Bench & Level", "strapline": "", "licence_line": "", "address": "", "phone": "", "email": "",
            "ink_colour": "#20313a", "accent_colour": "#8a4b2a", "paper": "letter", "units": "us", "logo": None,
        },
        "client": {"name": "Ines Hallam", "email": "", "phone": ""},
        "property": {
            "street": "1 Mill Lane", "town": "Harrow Point", "county": "", "region": "Maine", "postcode": "",
            "year_built": None, "deck_year_built": None, "deck_builder": "", "one_line": "1 Mill Lane, Harrow Point",
        },
        "basis": {
            "edition": "IRC 2021", "live_psf": 40.0, "ground_snow_psf": 0.0, "frost_depth_in": 30.0, "soil_psf": 2000.0,
            "is_near_salt_water": False, "rules_source": "",
        },
        "visit": {
            "id": 1, "purpose": "whole_deck", "purpose_words": "Whole deck", "starts_at": timezone.now().isoformat(),
            "begun_at": None, "handed_in_at": None, "summary": "", "follows": None,
        },
        "inspector": {"name": "T. Reyl", "licence_line": "", "phone": ""},
        "parts": [],
        "deck": deck.to_mapping(),
        "assessment": assess(deck).to_dict(),
        "witnesses": witnesses(),
        "tables": _tables("IRC 2021"),
        "findings": [],
        "photos": [_photo(number, render, keep_file) for number in range(photo_count)],
        "cautions": ["Bench."],
    }  # fmt: skip


def _photo(number, render, keep_file):
    from django.core.files.base import ContentFile

    printable = _printable(number % PICTURES, render) + b"%d" % number  # behind the picture: a file of its own
    return {
        "id": str(number), "finding": None, "part": None, "link": "joists", "caption": f"Photo {number}", "sha256": "",
        "width_px": 4000, "height_px": 3000, "taken_in_at": None,
        "files": {"printable": keep_file(ContentFile(printable, name="printable.jpg"))},
    }  # fmt: skip


@cache
def _printable(seed, render):
    from tests.inspections.photos.files import jpeg_bytes

    return render(jpeg_bytes(4000, 3000, seed=seed))["printable"]


def seconds_to_draw(record):
    from django.utils import timezone

    from inspections.reports.pdf import Issue, draw_pdf

    issue = Issue("1001-1", 1, timezone.now(), "A. Lind", record_sha256="0" * 64)
    taken = []
    for _ in range(ROUNDS):
        start = time.process_time()
        drawn = draw_pdf(record, issue)
        taken.append(time.process_time() - start)
    return statistics.median(taken), drawn


def peak_mib(record):
    """The most memory that a process held which draws the record and has done nothing else."""
    context = multiprocessing.get_context("spawn")
    with context.Pool(1) as pool:
        return pool.apply(_draw_and_weigh, (record,))


def _draw_and_weigh(record):
    import django

    django.setup()
    from django.utils import timezone

    from inspections.reports.pdf import Issue, draw_pdf

    draw_pdf(record, Issue("1001-1", 1, timezone.now(), "A. Lind", record_sha256="0" * 64))
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main():
    import django

    django.setup()
    without_s, plain = seconds_to_draw(made_up_record(0))
    record = made_up_record(PHOTOS)
    with_s, drawn = seconds_to_draw(record)
    say("report_pdf_cpu", with_s, "s", without_s, with_s / without_s, TARGET_RATIO)
    photo_bytes = sum(photo["files"]["printable"]["bytes"] for photo in record["photos"])
    size_ratio = len(drawn.pdf) / (len(plain.pdf) + photo_bytes)
    say("report_pdf_size", len(drawn.pdf), "bytes", len(plain.pdf) + photo_bytes, size_ratio, 1.1)
    say("report_pdf_size_of_60_photos", len(drawn.pdf), "bytes", MOST_PDF_BYTES, len(drawn.pdf) / MOST_PDF_BYTES, 1.0)
    pace = drawn.page_count / with_s
    say("report_pages_per_cpu_second", pace, "1/s", LEAST_PAGES_PER_CPU_SECOND, LEAST_PAGES_PER_CPU_SECOND / pace, 1.0)
    many = peak_mib(made_up_record(MANY_PHOTOS))
    say("report_peak_memory_150_photos", many, "MiB", MOST_MEMORY_MIB, many / MOST_MEMORY_MIB, 1.0)


def say(figure, value, unit, floor, ratio, target):
    line = {"figure": figure, "value": round(value, 3), "unit": unit, "floor": round(floor, 3)}
    print(json.dumps({**line, "ratio": round(ratio, 3), "target": target, "holds": ratio <= target}))


if __name__ == "__main__":
    main()
