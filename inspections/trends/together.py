"""Which defects are found together more often than each by itself would lead one to expect."""

from dataclasses import dataclass
from itertools import combinations
from typing import Any

from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.chance import Estimate, benjamini_hochberg, fisher_exact, lift, odds_ratio
from inspections.trends.choices import TrendForm

LEAST_TOGETHER = 5  # visits with both; and each of the two in twice as many: fewer tell nothing (common practice)
MOST_SHOWN = 25
BEYOND_CHANCE = 0.05


@dataclass(frozen=True)
class Pair:
    """Two defects. Where the first was found, so often the second; `elsewhere` so often."""

    one: str
    other: str
    both: int
    with_one: int
    with_other: int
    lift: Estimate
    odds: Estimate
    q: float
    query: str
    one_query: str

    @property
    def share_where(self) -> float:
        return self.both / self.with_one


def wants(form: TrendForm) -> list[Want]:
    return [*form.wants(), Want("defect", form.word)]


def together(form: TrendForm, bitmaps: Bitmaps) -> dict[str, Any]:
    """The pairs beyond chance, the strongest first; and how many pairs were looked at for it."""
    base = form.base(bitmaps)
    total = base.bit_count()
    slug = form.asked.get("defect")
    bits = {one: of & base for one, of in bitmaps.values("defect", form.word).items()}
    counts = {one: of.bit_count() for one, of in bits.items()}
    often = sorted(one for one, count in counts.items() if count >= 2 * LEAST_TOGETHER)
    found = []
    for one, other in combinations(often, 2):
        both = (bits[one] & bits[other]).bit_count()
        if both < LEAST_TOGETHER or (slug and slug not in (one, other)):
            continue
        only_one, only_other = counts[one] - both, counts[other] - both
        cells = (both, only_one, only_other, total - both - only_one - only_other)
        if both * total > counts[one] * counts[other]:
            found.append((one, other, cells, fisher_exact(*cells, enough=BEYOND_CHANCE)))
        else:  # found together no more often than apart: looked at, but not shown
            found.append((one, other, cells, 1.0))
    qs = benjamini_hochberg([p for *_, p in found])
    beyond = [
        (lift(*cells), *rest, cells, q) for (*rest, cells, _), q in zip(found, qs, strict=True) if q < BEYOND_CHANCE
    ]
    beyond.sort(key=lambda row: (-row[0].low, form.titles.get(row[1], row[1])))
    pairs = [
        Pair(
            form.titles.get(one, one),
            form.titles.get(other, other),
            cells[0],
            counts[one],
            counts[other],
            times,
            odds_ratio(*cells),
            q,
            form.query(defect=one, also=other, link="", own=""),
            form.query(defect=one, link="", own=""),
        )
        for times, one, other, cells, q in beyond[:MOST_SHOWN]
    ]
    return {
        "visit_count": total,
        "pairs": pairs,
        "left_out": len(beyond) - len(pairs),
        "looked_at": len(found),
        "least": LEAST_TOGETHER,
    }
