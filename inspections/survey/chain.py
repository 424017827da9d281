"""The load path of one deck as a chain: for each link its parts, what is open, and how it stands."""

from dataclasses import dataclass

from engine.vocabulary import Link
from inspections.drawings.gauge import percent
from inspections.survey.record import PartLike, Record
from inspections.survey.verdicts import Standing, Verdicts
from inspections.survey.wording import KIND_WORDS, STOPS, WATER_KINDS, Stop


@dataclass(frozen=True)
class ChainLink:
    stop: Stop
    parts: tuple[PartLike, ...]
    standing: Standing
    wanted_count: int
    loose_count: int
    is_silent: bool  # the record contradicts itself: nothing is judged

    @property
    def slug(self) -> str:
        return self.stop.slug

    @property
    def title(self) -> str:
        return self.stop.title

    @property
    def counted(self) -> str:
        """What is recorded there: `1 ledger, 15 fasteners`."""
        if self.stop.link == Link.WATER:
            return f"{len(self.parts)} parts to look at" if self.parts else "nothing recorded"
        counts = []
        for kind in self.stop.kinds:
            number = sum(part.kind == kind for part in self.parts)
            if number:
                counts.append(f"{number} {KIND_WORDS[kind][number != 1]}")
        return ", ".join(counts) or "nothing recorded"

    @property
    def open_words(self) -> str:
        words = []
        if self.wanted_count:
            words.append(f"{self.wanted_count} {'fact' if self.wanted_count == 1 else 'facts'} would settle more")
        if self.loose_count:
            words.append(f"{self.loose_count} not placed yet")
        return ", ".join(words)

    @property
    def state(self) -> str:
        """In two words, for the narrow chain."""
        if not self.parts and self.standing.worst is None:
            return "nothing recorded"
        if self.is_silent:
            return "not judged"
        worst = self.standing.worst
        if self.standing.fails and worst is not None:
            if worst.ratio is None:
                return "not as the rule asks"
            return f"at {percent(worst.ratio)}" if percent(worst.ratio)[0].isdigit() else percent(worst.ratio)
        if self.standing.apart:
            return "two answers"
        if self.standing.open:
            return "find out"
        return "holds" if self.standing.holds else "nothing judged"


def chain_of(record: Record, verdicts: Verdicts) -> list[ChainLink]:
    """The links in the order in which the load passes them, then what stands beside them."""
    return [_link(stop, record, verdicts) for stop in STOPS]


def _link(stop: Stop, record: Record, verdicts: Verdicts) -> ChainLink:
    kinds = WATER_KINDS if stop.link == Link.WATER else stop.kinds
    parts = tuple(part for part in record.parts if part.kind in kinds)
    return ChainLink(
        stop,
        parts,
        verdicts.standing(stop.link),
        len(verdicts.wanted_at(stop.link)),
        0 if stop.link == Link.WATER else sum(part.key in record.loose for part in parts),
        verdicts.assessment is None,
    )
