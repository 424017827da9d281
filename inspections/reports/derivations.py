"""Checks gathered for print: one question is written out once, and the parts it was put to stand under it as rows."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inspections.reports.checks import FrozenCheck, worst_first


@dataclass(frozen=True)
class Row:
    """One part's answer: the values that only it has, and what each step gives."""

    check: FrozenCheck
    own_inputs: Mapping[str, float]
    results: tuple[tuple[str, float | None, str], ...]  # symbol, value, unit


@dataclass(frozen=True)
class Derivation:
    """One question with the same steps for every row. `shared_inputs` are the values that all rows have in common."""

    title: str
    method_words: str
    citations: tuple[str, ...]
    steps: tuple[Mapping[str, Any], ...]
    shared_inputs: Mapping[str, float]
    rows: tuple[Row, ...]
    assumptions: tuple[int, ...]  # numbers in the list of all assumptions
    from_memory: tuple[str, ...]

    @property
    def only(self) -> FrozenCheck | None:
        """The check itself, where the question was put to one part alone."""
        return self.rows[0].check if len(self.rows) == 1 else None

    @property
    def has_own_inputs(self) -> bool:
        return any(row.own_inputs for row in self.rows)


def derivations_of(checks: Iterable[FrozenCheck], assumptions: Sequence[str]) -> list[Derivation]:
    """The checks by question and way of working out, the question with the worst answer first.

    `assumptions` is the numbered list of all, from 1, to which each question refers.
    """
    numbers = {words: number for number, words in enumerate(assumptions, 1)}
    grouped: dict[tuple[Any, ...], list[FrozenCheck]] = {}
    for check in worst_first(checks):
        way = tuple((step["symbol"], step["formula"], step["unit"], step["source"]) for step in check.steps)
        grouped.setdefault((check.id, check.title, way), []).append(check)
    return [_derivation(group, numbers) for group in grouped.values()]


def _derivation(checks: list[FrozenCheck], numbers: Mapping[str, int]) -> Derivation:
    inputs = [_inputs(check) for check in checks]
    shared = {
        name: value
        for name, value in inputs[0].items()
        if len(checks) == 1 or all(other.get(name) == value for other in inputs)
    }
    rows = tuple(
        Row(
            check,
            {name: value for name, value in own.items() if name not in shared},
            tuple((step["symbol"], step["value"], step["unit"]) for step in check.steps),
        )
        for check, own in zip(checks, inputs, strict=True)
    )
    return Derivation(
        title=checks[0].title,
        method_words=checks[0].method_words,
        citations=tuple(dict.fromkeys(check.citation for check in checks if check.citation)),
        steps=tuple(checks[0].steps),
        shared_inputs=shared,
        rows=rows,
        assumptions=tuple(sorted(numbers[words] for words in _each_once(check.assumptions for check in checks))),
        from_memory=_each_once(check.from_memory for check in checks),
    )


def _inputs(check: FrozenCheck) -> dict[str, float]:
    """The values put into the steps, without those that an earlier step of the same check gave."""
    given: dict[str, float | None] = {}
    found: dict[str, float] = {}
    for step in check.steps:
        for name, value in step["inputs"].items():
            if given.get(name) != value:
                found[name] = value
        given[step["symbol"]] = step["value"]
    return found


def _each_once(lists: Iterable[Iterable[str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words for each in lists for words in each))
