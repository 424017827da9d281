"""What the pages say of repairs, of agreement and of time, worked out a second time from the tables of the whole firm.

Only the CSV files that the firm takes away are read, with rates and a past that are drawn anew for each run; SciPy
counts the curve, and the agreement is worked out by the distances of Cohen (1968) instead of by weights.
"""

import csv
import io
import random
import statistics
import zipfile
from collections import defaultdict
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.urls import reverse
from scipy import stats

from engine.vocabulary import BY_NAME
from firm.jobs.work import run_job
from inspections.demo import history
from inspections.exchange import exporting
from inspections.exchange.models import Export

pytestmark = pytest.mark.django_db

WORDS = ["keep_off", "limit_use", "put_right", "find_out", "look_after", "sound"]
SOON = timedelta(days=45)


@pytest.fixture
def tables(planted, administrator, monkeypatch, tmp_path, settings):
    """`tables(name)`: the rows of one file of the firm's own export."""
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(history, "AT_A_TIME", 10)  # so that houses are gone back to soon
    monkeypatch.setattr(history, "REVISITED", 0.5)
    monkeypatch.setattr(history, "REPAIRED_PER_DAY", 1 / random.SystemRandom().uniform(20, 150))
    planted(250, scale=0.6, days=400, kinds=history.KINDS, seed=random.SystemRandom().randrange(10**9))
    job = Export.objects.create(by=administrator)
    run_job(Export, job.pk, exporting.run)
    job.refresh_from_db()
    archive = zipfile.ZipFile(job.file.open("rb"))

    def read(name):
        return list(csv.DictReader(io.StringIO(archive.read(f"{name}.csv").decode("utf-8-sig"))))

    return read


class Seen:
    """One visit as the tables have it."""

    def __init__(self, row):
        starts = datetime.fromisoformat(row["starts_at"]).astimezone(ZoneInfo(settings.TIME_ZONE))
        self.pk, self.day, self.house = row["id"], starts.date(), row["property_id"]
        self.inspector, self.is_after_repair = row["inspector_id"], row["purpose"] == "after_repair"
        took = datetime.fromisoformat(row["handed_in_at"]) - datetime.fromisoformat(row["begun_at"])
        self.minutes = round(took.total_seconds() / 60)
        self.found = {}  # defect and its link -> word, Sound left out
        self.links, self.words = set(), {"sound"}

    @property
    def worst(self):
        return min(self.words, key=WORDS.index)


@pytest.fixture
def houses(tables):
    """The visits of each house, in the order of their days."""
    seen = {row["id"]: Seen(row) for row in tables("visits_visit") if row["state"] in ("handed_in", "released")}
    for row in tables("findings_finding"):
        visit = seen[row["visit_id"]]
        visit.links.add(row["link"])
        visit.words.add(row["action"])
        if row["action"] != "sound":
            visit.found[row["defect_id"], row["link"]] = row["action"]
    for row in tables("survey_part"):
        seen[row["visit_id"]].links.add(BY_NAME[row["kind"]].link.value)
    found = defaultdict(list)
    for visit in sorted(seen.values(), key=lambda one: (one.day, int(one.pk))):
        found[visit.house].append(visit)
    return list(found.values())


def became_of(visits):
    """(days, whether it was seen repaired) of each pressing finding of a house that somebody looked at again."""
    for place, visit in enumerate(visits):
        for thing, word in visit.found.items():
            earlier = [one for one in visits[:place] if thing[1] in one.links]
            if WORDS.index(word) > WORDS.index("put_right") or (earlier and thing in earlier[-1].found):
                continue
            looked = [one for one in visits[place + 1 :] if thing[1] in one.links and one.day > visit.day]
            gone = [one for one in looked if thing not in one.found]
            if looked:
                yield (gone[0] if gone else looked[-1]).day.toordinal() - visit.day.toordinal(), bool(gone)


def test_the_time_until_a_repair_is_that_of_the_tables(houses, signed_in, manager):
    followed = [one for visits in houses for one in became_of(visits)]
    repaired = [days for days, is_repaired in followed if is_repaired]
    page = signed_in(manager).get(reverse("trends-repaired")).context
    assert (page["followed"], page["repaired"]) == (len(followed), len(repaired))
    assert len(repaired) > 20
    curve = stats.ecdf(
        stats.CensoredData(uncensored=repaired, right=[days for days, is_repaired in followed if not is_repaired])
    ).sf
    half = [day for day, share in zip(curve.quantiles, curve.probabilities, strict=True) if share <= 0.5]
    assert page["median_days"] == (half[0] if half else None)
    for point in page["curve"]:
        assert point.share == pytest.approx(curve.evaluate(point.at))


def test_agreement_and_its_decks_are_those_of_the_tables(houses, signed_in, manager):
    pairs = [
        (one.worst, other.worst)
        for visits in houses
        for one, other in pairwise(visits)
        if one.inspector != other.inspector and other.day - one.day <= SOON and not other.is_after_repair
    ]
    told = signed_in(manager).get(reverse("trends-alike")).context["agreement"]
    assert len(pairs) > 10
    assert (told.pairs, told.same) == (len(pairs), sum(one == other for one, other in pairs))
    apart = [abs(WORDS.index(one) - WORDS.index(other)) for one, other in pairs]
    by_chance = [abs(WORDS.index(one) - WORDS.index(other)) for one, _ in pairs for _, other in pairs]
    assert told.kappa.value == pytest.approx(1 - statistics.fmean(apart) / statistics.fmean(by_chance))


def test_the_time_that_visits_took_is_that_of_the_tables(houses, signed_in, manager):
    took = defaultdict(list)
    for visit in (one for visits in houses for one in visits):
        took[visit.inspector].append(visit.minutes)
    habits = signed_in(manager).get(reverse("trends-alike")).context["habits"]
    middles = sorted((habit.visit_count, habit.minutes[1]) for habit in habits)
    assert len(habits) == 3
    of_the_tables = sorted(took.values(), key=lambda minutes: (len(minutes), statistics.median(minutes)))
    for (count, middle), minutes in zip(middles, of_the_tables, strict=True):
        assert count == len(minutes)
        assert statistics.median_low(minutes) <= middle <= statistics.median_high(minutes)
