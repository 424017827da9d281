"""Reading the index: bitmaps as whole numbers, one bit a visit. `a & b` are the visits of which both are true."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import reduce
from operator import or_

from django.db.models import Q

from inspections.trends.models import BLOCK, Bits, CountedVisit
from inspections.trends.traits import SLICES

_EMPTY = bytes(BLOCK // 8)


@dataclass(frozen=True)
class Want:
    """Traits to be read: of an attribute, and of one value or word where these are given."""

    attribute: str
    word: str | None = None
    value: str | None = None

    @property
    def condition(self) -> Q:
        condition = Q(trait__attribute=self.attribute)
        if self.word is not None:
            condition &= Q(trait__word=self.word)
        if self.value is not None:
            condition &= Q(trait__value=self.value)
        return condition


class Bitmaps:
    """The bitmaps that a page needs, read in one query."""

    def __init__(self, wanted: Iterable[Want]) -> None:
        condition = reduce(or_, (want.condition for want in {*wanted, Want("month")}))
        rows = Bits.objects.filter(condition).order_by()
        blocks: dict[tuple[str, str, str], dict[int, bytes]] = {}
        for attribute, value, word, block, bits in rows.values_list(
            "trait__attribute", "trait__value", "trait__word", "block", "bits"
        ).iterator():
            blocks.setdefault((attribute, value, word), {})[block] = bits
        self._read = {key: _joined(one) for key, one in blocks.items()}
        self._by_kind: dict[tuple[str, str], dict[str, int]] = {}
        self._words: dict[tuple[str, str], dict[str, int]] = {}
        for (attribute, value, word), bitmap in self._read.items():
            self._by_kind.setdefault((attribute, word), {})[value] = bitmap
            self._words.setdefault((attribute, value), {})[word] = bitmap
        self.everybody = reduce(or_, self.values("month").values(), 0)

    def of(self, attribute: str, value: str = "", word: str = "") -> int:
        return self._read.get((attribute, value, word), 0)

    def values(self, attribute: str, word: str = "") -> dict[str, int]:
        """Value -> bitmap, for one word."""
        return self._by_kind.get((attribute, word), {})

    def words(self, attribute: str, value: str = "") -> dict[str, int]:
        """Word -> bitmap, for one value."""
        return self._words.get((attribute, value), {})

    def period(self, start: date | None, end: date | None) -> int:
        """The visits of these days, both included: whole months by their bitmaps, days at the ends one by one."""
        if start is None and end is None:
            return self.everybody
        found = 0
        for month, bitmap in self.values("month").items():
            first = date.fromisoformat(f"{month}-01")
            last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
            if (start and last < start) or (end and first > end):
                continue
            if (start and first < start) or (end and last > end):
                found |= positions_bitmap(
                    CountedVisit.objects.filter(day__range=(max(first, start or first), min(last, end or last)))
                    .order_by()
                    .values_list("position", flat=True)
                )
            else:
                found |= bitmap
        return found

    def total(self, attribute: str, among: int) -> int:
        """The sum of a number that is kept in binary slices, over some visits."""
        return sum((self.of(attribute, str(place)) & among).bit_count() << place for place in range(SLICES))

    def quantile(self, attribute: str, among: int, share: float) -> int | None:
        """The smallest value that at least this share of the visits do not exceed; None of no visit.

        From the highest slice down, as in O'Neil and Quass (see `models`).
        """
        if not among:
            return None
        wanted = max(1, -int(-share * among.bit_count() // 1))
        value = 0
        for place in reversed(range(SLICES)):
            high = self.of(attribute, str(place)) & among
            low = among & ~high
            if low.bit_count() >= wanted:
                among = low
            else:
                wanted -= low.bit_count()
                among = high
                value |= 1 << place
        return value


def _joined(blocks: dict[int, bytes]) -> int:
    return int.from_bytes(b"".join(bytes(blocks.get(block, _EMPTY)) for block in range(max(blocks) + 1)), "little")


def positions_bitmap(positions: Iterable[int]) -> int:
    positions = list(positions)
    bits = bytearray(max(positions, default=0) // 8 + 1)
    for position in positions:
        bits[position // 8] |= 1 << position % 8
    return int.from_bytes(bits, "little")


def positions_of(bitmap: int) -> Sequence[int]:
    """The positions of the ones, lowest first."""
    found = []
    for place, byte in enumerate(bitmap.to_bytes((bitmap.bit_length() + 7) // 8, "little")):
        while byte:
            lowest = byte & -byte
            found.append(place * 8 + lowest.bit_length() - 1)
            byte ^= lowest
    return found
