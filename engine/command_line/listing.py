"""Answers as text that an engineer can follow with a pocket calculator."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from engine.results import Check, Step, Verdict

if TYPE_CHECKING:
    from engine.assessment import Assessment
    from engine.settling import Settler

_NAME = re.compile(r"[A-Za-z_][A-Za-z_0-9']*")


def figure(value: float) -> str:
    """A number with six digits, without trailing zeros."""
    return f"{value:.6g}"


def step_line(step: Step) -> str:
    """`M = w * l**2 / 8 = 5.55556 * 168**2 / 8 = 19600 in-lb  [statics]`."""
    put_in = _NAME.sub(lambda match: _put(match.group(), step), step.formula)
    middle = f" = {put_in}" if put_in != figure(step.value) else ""
    formula = "" if step.formula == step.symbol else f" = {step.formula}"
    unit = "" if step.unit in ("-", "") else f" {step.unit}"
    note = f"; {step.note}" if step.note else ""
    return f"{step.symbol}{formula}{middle} = {figure(step.value)}{unit}  [{step.source}{note}]"


def _put(name: str, step: Step) -> str:
    return figure(step.inputs[name]) if name in step.inputs else name


def step_lines(steps: Iterable[Step], indent: str = "    ") -> list[str]:
    """One line for each step."""
    return [indent + step_line(step) for step in steps]


def assessment_lines(assessment: Assessment, settlers: Sequence[Settler]) -> Iterator[str]:
    """The whole assessment, link by link."""
    yield f"{assessment.deck.name or 'Deck'}: judged by {assessment.edition}, engine {assessment.engine_version}"
    counts = {verdict: sum(check.verdict is verdict for check in assessment.checks) for verdict in Verdict}
    yield ", ".join(f"{count} {verdict}" for verdict, count in counts.items())
    yield assessment.caution
    for words in assessment.amendments_not_read:
        yield f"local amendment without effect: {words}"
    links = dict.fromkeys(check.link for check in assessment.checks)
    for link in links:
        yield ""
        yield f"== {link} =="
        for check in assessment.for_link(link):
            yield from check_lines(check)
    if assessment.disagreements:
        yield ""
        yield "== where calculation and published rule disagree =="
        for (calculation, published, why), subjects in _by_reason(assessment).items():
            yield f"{', '.join(subjects)}: {calculation}, {published}: {why}"
    if settlers:
        yield ""
        yield "== what would settle most =="
        for settler in settlers:
            ids = ", ".join(settler.check_ids)
            yield f"{settler.words}: settles {settler.settles}, touches {settler.touches} ({ids})"


def _by_reason(assessment: Assessment) -> dict[tuple[str, str, str], list[str]]:
    found: dict[tuple[str, str, str], list[str]] = {}
    for each in assessment.disagreements:
        calculation = f"{each.calculation.id} {each.calculation.verdict}"
        published = f"{each.published.id} {each.published.verdict}"
        found.setdefault((calculation, published, each.why), []).append(each.calculation.subject)
    return found


def check_lines(check: Check) -> Iterator[str]:
    """One check with its derivation, citation, assumptions and what would settle it."""
    yield f"{check.title}: {check.subject}: {check.verdict.upper()}  ({check.id}, {check.method})"
    if check.demand is not None and check.capacity is not None and check.ratio is not None:
        governs = f", {check.governs}" if check.governs else ""
        yield (
            f"    must {figure(check.demand)}, can {figure(check.capacity)} {check.unit}: {check.ratio:.0%}{governs}"
        )
    if check.reason:
        yield f"    {check.reason}"
    yield from step_lines(check.steps)
    if check.citation:
        yield f"    by: {check.citation}"
    for words in check.assumptions:
        yield f"    taken: {words}"
    for words in check.from_memory:
        yield f"    from memory, not yet confirmed: {words}"
    for words in check.settles:
        yield f"    to settle it: {words}"
