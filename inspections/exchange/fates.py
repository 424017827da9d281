"""The fate of every row of a table that was sent in, kept as a CSV file and read a page at a time."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from inspections.exchange.judging import ADDED, REFUSED, SKIPPED, WARNED
from inspections.exchange.models import Import
from inspections.exchange.reading import plain

EVERY = "every"
HEAD = ("Line", "Fate", "Why")
WORDS = {
    ADDED: "to be added",
    WARNED: "to be added, look again",
    SKIPPED: "left out",
    REFUSED: "refused",
}  # as the file says it
_FATES = {words: fate for fate, words in WORDS.items()}

Told = tuple[int, str, str]  # the line in the table that was sent in, the fate, why


def counts_of(job: Import) -> dict[str, int]:
    """How many rows met each fate, and all of them; what must be put right comes first."""
    counts = {REFUSED: job.refused, WARNED: job.warned, SKIPPED: job.skipped, ADDED: job.added - job.warned}
    return {**counts, EVERY: sum(counts.values())}


@dataclass(frozen=True)
class Fates:
    """The rows that met one fate, or every row; what a paginator cuts. Only the lines up to the page are read."""

    job: Import
    fate: str

    def __len__(self) -> int:
        if not self._is_kept:
            return sum(1 for _ in self._those())
        return counts_of(self.job)[self.fate]

    def __getitem__(self, part: slice) -> list[Told]:
        return list(islice(self._those(), part.start, part.stop))

    @property
    def _is_kept(self) -> bool:
        """Whether there is a file: tables that were looked at long ago told only of some rows."""
        held = self.job.fates_file
        return bool(held) and held.storage.exists(held.name)

    def _those(self) -> Iterator[Told]:
        return (told for told in self._all() if self.fate in (EVERY, told[1]))

    def _all(self) -> Iterator[Told]:
        if not self._is_kept:
            yield from ((line, fate, why) for line, fate, why in self.job.fates)
            return
        with self.job.fates_file.open("rb") as file:
            rows = csv.reader(io.TextIOWrapper(file, encoding="utf-8-sig", newline=""))
            next(rows, None)
            for line, words, why in rows:
                yield int(line), _FATES[words], plain(why)
