"""Rates drawn anew for each run are planted; what the pages say of them is worked out a second time from the firm's CSV
with SciPy, and both must agree with each other and, as far as chance allows, with what was planted.
"""

import csv
import io
import random

import pytest
from django.urls import reverse
from scipy import stats

from inspections.demo import history
from inspections.findings.catalogue import load_catalogue
from inspections.findings.models import Action, Defect

pytestmark = pytest.mark.django_db

COUNT = 400
SURE = 1e-6  # a share this unlikely is no chance: with a hundred comparisons one run in ten thousand is wrong


@pytest.fixture
def seed():
    return random.SystemRandom().randrange(10**9)


@pytest.fixture
def rates(seed, monkeypatch, db):
    """The rates of this run, in place of those of the demo: by slug, and what is particular."""
    load_catalogue()
    chance = random.Random(seed)
    slugs = sorted(Defect.objects.exclude(slug__startswith="t-").values_list("slug", flat=True))
    by_slug = {slug: chance.uniform(0.03, 0.3) for slug in slugs}
    one, other, old = chance.sample(slugs, 3)
    one, other = sorted((one, other))  # the writer goes through them in this order
    by_slug |= {one: 0.35, other: 0.1, old: 0.15}  # strong enough to be seen in any run
    told = {"old": (old, chance.uniform(2, 3)), "pair": (one, other, chance.uniform(5, 6)), "by_slug": by_slug}
    told["lenient"] = chance.uniform(0.3, 0.7)
    monkeypatch.setattr(history, "base_rate", lambda slug, scale: by_slug[slug])
    monkeypatch.setattr(history, "OLD_DECKS", dict([told["old"]]))
    monkeypatch.setattr(history, "TOGETHER", told["pair"])
    monkeypatch.setattr(history, "LATELY", ("nothing-grew", 1.0))
    monkeypatch.setattr(history, "LENIENT", told["lenient"])
    monkeypatch.setattr(history, "REVISITED", 0.0)  # every visit is the first of its house, so all are alike
    return told


@pytest.fixture
def firm(planted, rates, seed, signed_in, manager):
    """The manager's browser, and the rows of the file: what is known of the visit, and {defect: word} noticed."""
    planted(COUNT, seed=seed, days=400)
    browser = signed_in(manager)
    text = b"".join(browser.get(reverse("trend-rows")).streaming_content).decode()
    rows = [(row, _noticed(row["findings"])) for row in csv.DictReader(io.StringIO(text))]
    assert len(rows) == COUNT
    return browser, rows


def _noticed(text):
    pairs = [one.rsplit(":", 1) for one in text.split("; ") if one]
    return {slug: word for slug, word in pairs if word != Action.SOUND}


def is_chance(count, of, rate):
    return stats.binomtest(count, of, min(0.95, rate)).pvalue > SURE


def table(rows, one, other):
    """Both, only the one, only the other, neither."""
    cells = [[0, 0], [0, 0]]
    for row in rows:
        cells[not one(row)][not other(row)] += 1
    return cells


def test_what_the_pages_say_is_what_the_file_says_and_what_was_planted(firm, rates, seed):
    browser, rows = firm
    titles = dict(Defect.objects.values_list("title", "slug"))
    shown = {titles[row.label]: row.share for row in browser.get(reverse("trends")).context["defects"]}
    special = {rates["old"][0], rates["pair"][1]}
    for slug, rate in rates["by_slug"].items():
        count = sum(slug in noticed for _, noticed in rows)
        share = shown[slug] if count else None
        if share:
            assert (share.count, share.of) == (count, COUNT)
            assert (share.low, share.high) == pytest.approx(
                tuple(stats.binomtest(count, COUNT).proportion_ci(method="wilson")), abs=1e-9
            )
        if slug not in special:
            assert is_chance(count, COUNT, rate), f"{slug}, seed {seed}"

    # Twice to three times as often on old decks: the page cut by decade, and the relative risk out of the file.
    slug, times = rates["old"]
    groups = browser.get(reverse("trends"), {"defect": slug, "cut": "decade"}).context["groups"]
    for row in groups:
        of = [noticed for told, noticed in rows if told["decade"] == (row.label[:4] if row.label[0].isdigit() else "-")]
        assert (row.share.count, row.share.of) == (sum(slug in noticed for noticed in of), len(of))
    is_old = [told["decade"] in ("1970", "1980") for told, _ in rows]
    cells = table(zip(is_old, rows, strict=True), lambda each: each[0], lambda each: slug in each[1][1])
    risk = stats.contingency.relative_risk(cells[0][0], sum(cells[0]), cells[1][0], sum(cells[1]))
    interval = risk.confidence_interval(1 - SURE)
    assert interval.low < times < interval.high, f"seed {seed}"

    # The pair: its odds ratio and lift are those of the file, and its place is the first.
    one, other, times = rates["pair"]
    cells = table(rows, lambda row: one in row[1], lambda row: other in row[1])
    pairs = browser.get(reverse("trends-together")).context["pairs"]
    pair = next(each for each in pairs if {titles[each.one], titles[each.other]} == {one, other})
    direct = stats.contingency.odds_ratio(cells, kind="sample")
    assert pair.both == cells[0][0]
    assert pair.odds.value == pytest.approx(direct.statistic)
    assert (pair.odds.low, pair.odds.high) == pytest.approx(tuple(direct.confidence_interval(0.95)), rel=1e-4)
    with_one, with_other = sum(cells[0]), cells[0][0] + cells[1][0]
    assert pair.lift.value == pytest.approx(cells[0][0] * COUNT / with_one / with_other)
    assert is_chance(cells[0][0], with_one, rates["by_slug"][other] * times), f"seed {seed}"


def test_the_lenient_inspector_is_found_on_like_decks(firm, rates, seed):
    browser, rows = firm
    usages = browser.get(reverse("trends-alike")).context["usages"]
    letters = sorted({told["inspector"] for told, _ in rows})
    usual = set(Defect.objects.filter(action=Action.PUT_RIGHT).values_list("slug", flat=True))

    def softened(letter):
        words = [word for told, noticed in rows for slug, word in noticed.items()
                 if told["inspector"] == letter and slug in usual]  # fmt: skip
        return words.count(Action.LOOK_AFTER), len(words)

    lenient = max(letters, key=lambda letter: softened(letter)[0] / softened(letter)[1])
    assert is_chance(*softened(lenient), rates["lenient"]), f"seed {seed}"

    # The ratio of Mantel and Haenszel, over the kinds of deck in the file.
    kinds = {}
    for told, noticed in rows:
        kind = tuple(told[name] for name in ("decade", "height", "stands", "exposure"))
        mine, uses = told["inspector"] == lenient, Action.LOOK_AFTER in noticed.values()
        kinds.setdefault(kind, [[0, 0], [0, 0]])[not mine][not uses] += 1
    both = [cells for cells in kinds.values() if sum(cells[0]) and sum(cells[1])]
    used = next(one for one in usages if one.name == "C" and one.action == Action.LOOK_AFTER)
    assert (used.told.count, used.told.of) == (sum(c[0][0] for c in both), sum(sum(c[0]) for c in both))
    upper = sum(mine[0] * sum(others) / (sum(mine) + sum(others)) for mine, others in both)
    lower = sum(others[0] * sum(mine) / (sum(mine) + sum(others)) for mine, others in both)
    assert used.told.ratio.value == pytest.approx(upper / lower)
    assert used.told.ratio.value > 1


def test_the_allowance_for_many_pairs_is_that_of_scipy(firm):
    browser, rows = firm
    often = sorted(slug for slug in {s for _, n in rows for s in n} if sum(slug in n for _, n in rows) >= 10)
    ps, names = [], []
    for place, one in enumerate(often):
        for other in often[place + 1 :]:
            cells = table(rows, lambda row, one=one: one in row[1], lambda row, other=other: other in row[1])
            if cells[0][0] >= 5:
                is_more = cells[0][0] * COUNT > sum(cells[0]) * (cells[0][0] + cells[1][0])
                ps.append(stats.fisher_exact(cells).pvalue if is_more else 1.0)
                names.append({one, other})
    qs = stats.false_discovery_control(ps)
    page = browser.get(reverse("trends-together"))
    assert page.context["looked_at"] == len(ps)
    titles = dict(Defect.objects.values_list("title", "slug"))
    shown = [{titles[pair.one], titles[pair.other]} for pair in page.context["pairs"]]
    wanted = [name for name, q in zip(names, qs, strict=True) if q < 0.05]
    assert sorted(map(sorted, shown)) == sorted(map(sorted, wanted))[: len(shown)] and len(shown) == min(
        25, len(wanted)
    )
