"""Do we judge alike? Inspectors set beside their colleagues on like decks. Questions to talk about, not a ranking."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from functools import reduce
from math import log
from operator import attrgetter, or_
from typing import Any

from django.core.cache import cache
from django.db.models import Count, DurationField, ExpressionWrapper, F, Window
from django.db.models.functions import Lag

from inspections.findings.models import Action
from inspections.trends.bitmaps import Bitmaps, Want, positions_bitmap
from inspections.trends.chance import (
    Comparison,
    Share,
    Stratum,
    benjamini_hochberg,
    compare_by_strata,
    weighted_kappa,
    wilson_share,
)
from inspections.trends.choices import TrendForm
from inspections.trends.models import CountedVisit, IndexState
from inspections.trends.traits import COUNTED_HOW
from inspections.visits.models import Visit

# What makes two decks alike: old and new, low and high, hung and free, salt and inland are not judged alike by anybody.
STRATA = ("decade", "height", "stands", "exposure")
LEAST_VISITS = 10  # of an inspector on like decks; fewer are shown without a question
TWICE_WITHIN_DAYS = 45  # two visits so close saw the same deck (common practice, no published source)
KEPT_S = 24 * 3600
BEYOND_CHANCE = 0.05
WORDS = Action.values


@dataclass(frozen=True)
class Usage:
    """How often one inspector used one word, beside colleagues on like decks."""

    name: str
    action: str
    told: Comparison
    q: float
    query: str

    @property
    def is_question(self) -> bool:
        return self.q < BEYOND_CHANCE and self.told.of >= LEAST_VISITS and self.told.ratio is not None

    @property
    def is_more(self) -> bool:
        return self.told.count > self.told.expected


@dataclass(frozen=True)
class Habit:
    """What the records of one inspector are made of, and how long a visit took."""

    name: str
    visit_count: int
    query: str
    how: dict[str, float]  # share of the readings that were measured, from papers, assumed, not reachable
    readings: int
    minutes: tuple[int, int, int] | None  # quarter, middle, three quarters of the visits
    timed: int
    timed_query: str
    corrected: Share | None
    corrected_query: str


@dataclass(frozen=True)
class Twice:
    """One deck seen by two inspectors within a few weeks, and the most pressing word of each."""

    first_word: str
    second_word: str
    positions: tuple[int, int]


def wants(form: TrendForm) -> list[Want]:
    by_how = [Want(name) for name in (*COUNTED_HOW.values(), "minutes", "timed", "corrected")]
    return [
        *form.wants(),
        *map(Want, STRATA),
        Want("inspector"),
        Want(form.subject.attribute, None, form.subject.value),
        *by_how,
    ]


def judging(form: TrendForm, bitmaps: Bitmaps) -> dict[str, Any]:
    base = form.base(bitmaps, of_anybody=True)  # one inspector alone has nobody to be set beside
    usages = usages_of(form, bitmaps, base)
    pairs = seen_twice(base)
    return {
        "visit_count": form.base(bitmaps).bit_count(),
        "questions": sorted(
            filter(attrgetter("is_question"), usages), key=lambda usage: -abs(log(usage.told.ratio.value))
        ),
        "usages": usages,
        "habits": habits(form, bitmaps, base),
        "agreement": weighted_kappa(table_of(pairs)),
        "twice": _twice_table(form, pairs),
        "twice_query": form.query(twice=".", inspector=""),
        "same_query": form.query(twice="same", inspector=""),
        "within_days": TWICE_WITHIN_DAYS,
    }


def usages_of(form: TrendForm, bitmaps: Bitmaps, base: int) -> list[Usage]:
    """Every word of every inspector; `q` allows for all of them being looked at together."""
    like = [(bits, bits.bit_count()) for bits in strata_of(bitmaps, base)]
    inspectors = {pk: bits for pk, bits in bitmaps.values("inspector").items() if bits & base}
    used = {
        word: bits & base
        for word, bits in bitmaps.words(form.subject.attribute, form.subject.value).items()
        if bits & base
    }
    of_all = {word: [(bits & stratum).bit_count() for stratum, _ in like] for word, bits in used.items()}
    found = []
    for pk, own in inspectors.items():
        mine = [(own & stratum).bit_count() for stratum, _ in like]
        for word in WORDS:
            if word not in used:
                continue
            own_used = own & used[word]
            told = compare_by_strata(
                Stratum(count := (own_used & stratum).bit_count(), of, all_counts - count, total - of)
                for of, all_counts, (stratum, total) in zip(mine, of_all[word], like, strict=True)
                if of
            )
            found.append((pk, word, told))
    qs = benjamini_hochberg([told.p for *_, told in found])
    usages = [
        Usage(form.people.get(pk, pk), word, told, q, form.query(inspector=pk, action=word, like="on"))
        for (pk, word, told), q in zip(found, qs, strict=True)
    ]
    return sorted(usages, key=lambda usage: (usage.name, WORDS.index(usage.action)))


def strata_of(bitmaps: Bitmaps, base: int) -> list[int]:
    """The visits, sorted into kinds of deck."""
    found = [base] if base else []
    for name in STRATA:
        found = [part for whole in found for bits in bitmaps.values(name).values() if (part := whole & bits)]
    return found


def like_bitmap(bitmaps: Bitmaps, base: int, inspector: str) -> int:
    """The visits of an inspector to decks of a kind that somebody else saw too."""
    own = bitmaps.of("inspector", inspector)
    return reduce(or_, (bits & own for bits in strata_of(bitmaps, base) if bits & ~own), 0)


def habits(form: TrendForm, bitmaps: Bitmaps, base: int) -> list[Habit]:
    rows = []
    for pk, bits in bitmaps.values("inspector").items():
        own = bits & base
        if not own:
            continue
        numbers = {name: bitmaps.total(name, own) for name in COUNTED_HOW.values()}
        readings = sum(numbers.values())
        timed = own & bitmaps.of("timed")
        corrected = (own & bitmaps.of("corrected")).bit_count()
        rows.append(
            Habit(
                form.people.get(pk, pk),
                own.bit_count(),
                form.query(inspector=pk, every="on"),
                {name: number / readings for name, number in numbers.items()} if readings else {},
                readings,
                tuple(bitmaps.quantile("minutes", timed, share) for share in (0.25, 0.5, 0.75)) if timed else None,
                timed.bit_count(),
                form.query(inspector=pk, single="timed"),
                wilson_share(corrected, own.bit_count()),
                form.query(inspector=pk, single="corrected"),
            )
        )
    return sorted(rows, key=lambda row: row.name)


def seen_twice(base: int) -> list[Twice]:
    """Decks that two inspectors saw one soon after the other, with no repair in between that we know of.

    All of them are looked for once for each state of the index, and kept.
    """
    version = IndexState.objects.values_list("version", flat=True).first()
    pairs = cache.get_or_set(f"seen-twice-{version}", _all_seen_twice, timeout=KEPT_S)
    return [pair for pair in pairs if all(base >> position & 1 for position in pair.positions)]


def _all_seen_twice() -> list[Twice]:
    def before(name: str) -> Window:
        return Window(Lag(name), partition_by=F("visit__property"), order_by=["day", "position"])

    again = Visit.objects.values("property").order_by().annotate(visits=Count("pk")).filter(visits__gt=1)
    rows = (
        CountedVisit.objects.filter(visit__property__in=again.values("property"))
        .annotate(
            one_day=before("day"),
            one_inspector=before("visit__inspector"),
            one_worst=before("worst"),
            one_position=before("position"),
        )
        .annotate(gap=ExpressionWrapper(F("day") - F("one_day"), DurationField()))
        .filter(one_inspector__isnull=False, gap__lte=timedelta(days=TWICE_WITHIN_DAYS))
        .exclude(one_inspector=F("visit__inspector"))
        .order_by("position")
        .values_list("one_worst", "one_position", "worst", "position", "visit__purpose")
    )
    return [
        Twice(first or Action.SOUND, second or Action.SOUND, (one_position, position))
        for first, one_position, second, position, purpose in rows
        if purpose != Visit.Purpose.AFTER_REPAIR
    ]


def table_of(pairs: Iterable[Twice]) -> list[list[int]]:
    table = [[0] * len(WORDS) for _ in WORDS]
    for pair in pairs:
        table[WORDS.index(pair.first_word)][WORDS.index(pair.second_word)] += 1
    return table


def twice_bitmap(base: int, asked: str) -> int:
    """Both visits of the pairs with these words ("put_right.look_after"); of those that are the "same"; "." of all."""
    first, _, second = asked.partition(".")

    def is_meant(pair: Twice) -> bool:
        if asked == "same":
            return pair.first_word == pair.second_word
        return asked == "." or (pair.first_word, pair.second_word) == (first, second)

    return positions_bitmap({at for pair in seen_twice(base) if is_meant(pair) for at in pair.positions})


def _twice_table(form: TrendForm, pairs: list[Twice]) -> list[tuple[str, list[tuple[int, str, bool]]]]:
    """Rows of the first inspector's word: (count, address, same word) for each word of the second."""
    return [
        (
            Action(first).label,
            [
                (count, form.query(twice=f"{first}.{second}", inspector=""), first == second)
                for second, count in zip(WORDS, row, strict=True)
            ],
        )
        for first, row in zip(WORDS, table_of(pairs), strict=True)
    ]
