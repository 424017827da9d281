"""The rates planted in the invented firm's past come out again: on the page, and worked out anew from its CSV."""

import csv
import io
from collections import Counter
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from scipy import stats

from inspections.demo import history
from inspections.findings.models import Action, Defect

pytestmark = pytest.mark.django_db
COUNT = 500


@pytest.fixture
def firm(planted, signed_in, manager):
    """The browser of a manager, and the rows of the CSV without names."""
    planted(COUNT, scale=1.0, days=400)
    browser = signed_in(manager)
    answer = browser.get(reverse("trend-rows"))
    text = b"".join(answer.streaming_content).decode()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == COUNT
    return browser, rows


def noticed(row):
    """The defects of a row that are not Sound, and their words."""
    pairs = [one.rsplit(":", 1) for one in row["findings"].split("; ") if one]
    return {slug: word for slug, word in pairs if word != Action.SOUND}


def is_among(count, of, rate):
    """Whether a share that is truly `rate` gives such a count in all but one of ten thousand samples."""
    return stats.binomtest(count, of, rate).pvalue > 1e-4


def test_planted_things_are_found_again(firm):
    browser, rows = firm
    page = browser.get(reverse("trends"))

    # Every share on the page is the share in the file.
    from_file = Counter(slug for row in rows for slug in noticed(row))
    titles = dict(Defect.objects.values_list("title", "slug"))
    shown = {titles[row.label]: row.share.count for row in page.context["defects"]}
    assert shown == dict(from_file)

    # The planted base rate of a defect lies where chance allows, on first visits (a second look finds what is left).
    special = {*history.OLD_DECKS, *history.TOGETHER[:2], history.LATELY[0]}
    rates = [row.share for row in page.context["defects"] if titles[row.label] not in special]
    for row in page.context["defects"]:
        slug = titles[row.label]
        if slug not in special:
            rate, share = history.base_rate(slug, 1.0), row.share
            assert stats.binomtest(share.count, share.of, rate, "greater").pvalue > 1e-4
            assert stats.binomtest(share.count, share.of, max(0.0, rate - 0.05), "less").pvalue > 1e-4
    assert len(rates) > 50

    # Old decks have their nailed ledgers.
    old = [row for row in rows if row["decade"] in ("1970", "1980")]
    new = [row for row in rows if row["decade"] in ("1990", "2000", "2010")]
    slug, times = "ledger-nailed-only", history.OLD_DECKS["ledger-nailed-only"]
    groups = {row.label: row for row in browser.get(reverse("trends"), {"defect": slug}).context["groups"]}
    for decade in ("1980 to 1989", "1990 to 1999"):
        told = [row for row in rows if row["decade"] == decade[:4]]
        assert (groups[decade].share.count, groups[decade].share.of) == (
            sum(slug in noticed(r) for r in told),
            len(told),
        )
    in_old, in_new = sum(slug in noticed(row) for row in old), sum(slug in noticed(row) for row in new)
    ratio = stats.contingency.relative_risk(in_old, len(old), in_new, len(new)).confidence_interval(0.9999)
    assert ratio.low < times < ratio.high

    # What comes together is said to come together.
    pairs = browser.get(reverse("trends-together")).context["pairs"]
    one, other, _ = history.TOGETHER
    wanted = set(Defect.objects.filter(slug__in=(one, other)).values_list("title", flat=True))
    assert {pairs[0].one, pairs[0].other} == wanted
    both = sum({one, other} <= set(noticed(row)) for row in rows)
    assert pairs[0].both == both

    # What grew lately is said to have grown.
    changes = browser.get(reverse("trends-changed"), {"from_day": _days_ago(165), "to_day": _days_ago(45)})
    surest = changes.context["changes"][0]
    assert titles[surest.label] == history.LATELY[0]
    assert surest.is_beyond_chance
    assert surest.gap.low > 0

    # The lenient inspector is a question, and by the planted factor.
    usages = browser.get(reverse("trends-alike")).context["usages"]
    look_after = {usage.name: usage for usage in usages if usage.action == Action.LOOK_AFTER}
    assert look_after["C"].is_question
    assert look_after["C"].is_more
    softened, of = _softened(rows)
    assert is_among(softened, of, history.LENIENT)


def _days_ago(days):
    return (timezone.localdate() - timedelta(days=days)).isoformat()


def _softened(rows):
    """Of the findings that others always call Put right: how many the most lenient inspector calls Look after."""
    usual = set(Defect.objects.filter(action=Action.PUT_RIGHT).values_list("slug", flat=True))
    words = {}
    for row in rows:
        words.setdefault(row["inspector"], []).extend(word for slug, word in noticed(row).items() if slug in usual)
    return max(((told.count(Action.LOOK_AFTER), len(told)) for told in words.values()), key=lambda one: one[0] / one[1])


def test_rows_name_nobody_and_mark_small_cells(firm):
    _, rows = firm
    text = repr(rows)
    assert not any(word in text for word in (*history.ROADS, *history.LAST_NAMES, *history.FIRST_NAMES))
    kinds = Counter(
        tuple(row[name] for name in ("quarter", "county", "decade", "height", "stands", "exposure")) for row in rows
    )
    for row in rows:
        like = kinds[tuple(row[name] for name in ("quarter", "county", "decade", "height", "stands", "exposure"))]
        assert int(row["like_rows"]) == like
        assert row["small_cell"] == ("yes" if like < 5 else "no")
