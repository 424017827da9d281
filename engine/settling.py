"""Which single fact would settle the most checks, and how far a measured number may be off before a verdict flips."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from engine.assessment import Assessment
from engine.deck import Deck, OneOf, Unknown
from engine.facts import BASIS_INDEX
from engine.judging import Judged, fact_words, verdicts_by_value
from engine.records import dataclass
from engine.results import Verdict
from engine.vocabulary import Fact


@dataclass(frozen=True)
class Settler:
    """A fact to find out next: `settles` checks for certain whatever its value turns out to be, `touches` at all."""

    path: str
    words: str
    settles: int
    touches: int
    check_ids: tuple[str, ...]


def what_would_settle(assessment: Assessment) -> tuple[Settler, ...]:
    """Rank single facts by how many open checks each would settle; those that settle most come first.

    A fact settles a check if, for every value that was tried, the check then has one verdict; a fact that is missing
    altogether counts as settling the checks that ask for nothing else.
    """
    certain: dict[str, list[str]] = {}
    touched: dict[str, list[str]] = {}
    for each in assessment.judged:
        if each.check.verdict is not Verdict.CANNOT_TELL:
            continue
        for path in each.check.depends_on:
            touched.setdefault(path, []).append(each.check.id)
            if _settles(path, each):
                certain.setdefault(path, []).append(each.check.id)
    found = [
        Settler(
            path, fact_words(assessment.deck, path), len(certain.get(path, ())), len(ids), tuple(dict.fromkeys(ids))
        )
        for path, ids in touched.items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.settles, -each.touches)))  # ties keep the order of the checks


def _settles(path: str, each: Judged) -> bool:
    by_value = verdicts_by_value(path, each.cases)
    if not by_value:
        return each.check.depends_on == (path,)
    return all(len(verdicts) == 1 and Verdict.CANNOT_TELL not in verdicts for verdicts in by_value.values())


@dataclass(frozen=True)
class Reserve:
    """How far one number may be off before one check changes its verdict; None where it never does in the fact's range.

    `down_to` and `up_to` are the nearest values, in the unit of the fact, at which the verdict is another.
    """

    path: str
    value: float
    check_id: str
    subject: str
    verdict: Verdict
    down_to: float | None
    up_to: float | None


_PROBES = 12
_HALVINGS = 16  # to within a fifteen-thousandth of the step between two probes
_MOST_OPEN_CASES = 64


def reserve(assessment: Assessment, path: str) -> tuple[Reserve, ...]:
    """The reserve of every check that reads the number at `path` (`J1.span_in`, `B1.spans_in[0]`, `basis.live_psf`).

    Only checks whose verdict can change are listed, the nearest change first. One that cannot be told over more than 64
    combinations of unknown facts is left out: what one number more would change there says nothing until some of those
    are found out. Raises KeyError for a path that leads to no recorded number.
    """
    plain_path, read, change, fact = _number_at(assessment.deck, path)
    value = read(assessment.deck)
    found = []
    for each in assessment.judged:
        if plain_path not in each.reads or _is_wide_open(each):
            continue
        flips = [_flip(assessment.deck, each, change, value, end) for end in (fact.low, fact.high)]
        if flips != [None, None]:
            check = each.check
            found.append(Reserve(path, value, check.id, check.subject, check.verdict, flips[0], flips[1]))
    return tuple(sorted(found, key=_nearest))


def _is_wide_open(each: Judged) -> bool:
    return each.check.verdict is Verdict.CANNOT_TELL and len(each.cases) > _MOST_OPEN_CASES


def _nearest(each: Reserve) -> float:
    return min(abs(each.value - end) for end in (each.down_to, each.up_to) if end is not None)


Change = Callable[[Deck, float], Deck]


def _number_at(deck: Deck, path: str) -> tuple[str, Callable[[Deck], float], Change, Fact]:
    plain_path, _, index_text = path.removesuffix("]").partition("[")
    owner, _, name = plain_path.partition(".")
    facts: Mapping[str, object] = deck.basis.facts if owner == "basis" else deck.by_id[owner].facts
    fact = BASIS_INDEX[name] if owner == "basis" else deck.by_id[owner].kind.index[name]
    value = facts[name]
    if isinstance(value, (Unknown, OneOf)):
        raise KeyError(f"{path}: not a recorded number")
    if index_text:
        if not isinstance(value, tuple) or not index_text.isdigit() or int(index_text) >= len(value):
            raise KeyError(f"{path}: no such number in the list")
        index, several = int(index_text), value

        def change_one(changed: Deck, number: float) -> Deck:
            return changed.with_fact(plain_path, (*several[:index], number, *several[index + 1 :]))

        return plain_path, lambda _: float(several[index]), change_one, fact
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise KeyError(f"{path}: not a recorded number")
    number_now, is_count = float(value), fact.kind == "count"

    def change(changed: Deck, number: float) -> Deck:
        return changed.with_fact(plain_path, round(number) if is_count else number)

    return plain_path, lambda _: number_now, change, fact


def _flip(deck: Deck, each: Judged, change: Change, value: float, end: float) -> float | None:
    """The value nearest to the recorded one, towards `end`, at which the verdict is another; None if there is none."""

    def differs(number: float) -> bool:
        again = each.again(change(deck, number))
        return (again.check.verdict if again else None) is not each.check.verdict

    same = value
    for probe in range(1, _PROBES + 1):
        number = value + (end - value) * (probe / _PROBES) ** 2  # closer together where it matters
        if number != value and differs(number):
            return _halve(same, number, differs)
        same = number
    return None


def _halve(same: float, other: float, differs: Callable[[float], bool]) -> float:
    for _ in range(_HALVINGS):
        middle = (same + other) / 2
        if differs(middle):
            other = middle
        else:
            same = middle
    return other
