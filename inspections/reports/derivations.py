"""Checks gathered for print: one question is written out once, and the parts it was put to stand under it as rows."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inspections.reports.checks import FrozenCheck, worst_first
from inspections.reports.subjects import alike_as_one, in_few_words, shape_of


@dataclass(frozen=True)
class Row:
    """One answer and the parts that got it: the values that only they have, and what each step gives."""

    check: FrozenCheck
    subjects: str
    reason: str
    settles: tuple[str, ...]
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
    def only(self) -> Row | None:
        """The answer itself, where there is one alone."""
        return self.rows[0] if len(self.rows) == 1 else None


def derivations_of(checks: Iterable[FrozenCheck], numbers: Mapping[str, int]) -> list[Derivation]:
    """The checks by question and way of working out, the question with the worst answer first.

    `numbers` says for each assumption of a check where it stands in the list of all.
    """
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
    return Derivation(
        title=checks[0].title,
        method_words=checks[0].method_words,
        citations=tuple(dict.fromkeys(check.citation for check in checks if check.citation)),
        steps=tuple(_steps(checks)),
        shared_inputs=shared,
        rows=tuple(_rows(checks, [{n: v for n, v in own.items() if n not in shared} for own in inputs])),
        assumptions=tuple(sorted({numbers[words] for check in checks for words in check.assumptions})),
        from_memory=_each_once(check.from_memory for check in checks),
    )


def _steps(checks: Sequence[FrozenCheck]) -> Iterator[Mapping[str, Any]]:
    """The steps of the first; a note that does not hold for all is left out (what governs stands with each answer)."""
    for alike in zip(*(check.steps for check in checks), strict=True):
        notes = {step["note"] for step in alike}
        yield {**alike[0], "note": alike[0]["note"] if len(notes) == 1 else ""}


def _rows(checks: Sequence[FrozenCheck], own_inputs: Sequence[Mapping[str, float]]) -> Iterator[Row]:
    """One row for each answer; parts whose numbers and words are the same share it."""
    alike: dict[tuple[Any, ...], list[tuple[FrozenCheck, Mapping[str, float]]]] = {}
    for check, own in zip(checks, own_inputs, strict=True):
        values = tuple(step["value"] for step in check.steps)
        words = (check.standing, check.governs, shape_of(check.reason), tuple(map(shape_of, check.settles)))
        alike.setdefault((words, values, tuple(own.items())), []).append((check, own))
    for members in alike.values():
        check, own = members[0]
        results = tuple((step["symbol"], step["value"], step["unit"]) for step in check.steps)
        subjects = in_few_words([each.subject for each, _ in members])
        reason = alike_as_one(each.reason for each, _ in members)[check.reason]
        settles = alike_as_one(words for each, _ in members for words in each.settles).values()
        yield Row(check, subjects, reason, tuple(dict.fromkeys(settles)), own, results)


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
