"""One frozen check as a reader sees it: the words and numbers of `engine.results.Check`, out of a snapshot."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inspections.drawings.gauge import percent
from inspections.survey.rule_words import in_words
from inspections.survey.templatetags.judgement import quantity

_GRAVITY = {"fails": 3, "cannot tell": 1, "holds": 0}
_DISPUTED = 2  # fails by one way of judging and holds by the other: to be found out
WORDS = {"fails": "Falls short", "cannot tell": "Find out", "holds": "Holds"}


@dataclass(frozen=True)
class FrozenCheck:
    """A check of a snapshot; `data` is `engine.assessment.check_dict` of it."""

    data: dict[str, Any]
    twins: tuple["FrozenCheck", ...] = ()  # the same question about the same piece, answered the other way
    why_apart: str = ""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_") or name not in self.data:
            raise AttributeError(name)
        return self.data[name]

    @property
    def from_memory(self) -> list[str]:
        """Published values that it rests on and that are not confirmed against the page, in words."""
        return [in_words(text) for text in self.data["from_memory"]]

    @property
    def assumptions(self) -> list[str]:
        """What it took for granted, in words."""
        return [in_words(text) for text in self.data["assumptions"]]

    @property
    def steps(self) -> list[dict[str, Any]]:
        """Its steps, each once: where the rule's fastener and the one found are alike, the engine works both out."""
        latest: dict[str, dict[str, Any]] = {}
        shown = []
        for step in self.data["steps"]:
            if latest.get(step["symbol"]) != step:
                shown.append(step)
            latest[step["symbol"]] = step
        return shown

    @property
    def fails(self) -> bool:
        return self.data["verdict"] == "fails"

    @property
    def is_disputed(self) -> bool:
        """It fails by this way of judging, and holds by the other: calculation and published rule differ.

        The engine says so in the snapshot; one frozen before it did is told by the checks beside this one.
        """
        said = self.data.get("disputed")
        if said is not None:
            return bool(said)
        return self.fails and any(twin.holds for twin in self.twins)

    @property
    def gravity(self) -> int:
        return _DISPUTED if self.is_disputed else _GRAVITY[self.data["verdict"]]

    @property
    def is_open(self) -> bool:
        return self.data["verdict"] == "cannot tell"

    @property
    def holds(self) -> bool:
        return self.data["verdict"] == "holds"

    @property
    def is_yes_or_no(self) -> bool:
        """A rule without a number: no gauge can be drawn of it."""
        return not self.is_open and self.data["demand"] is None and self.data["ratio"] is None

    @property
    def ratio(self) -> float | None:
        """Demand over capacity; infinite where there is a demand and nothing to carry it (JSON knows no infinity)."""
        if self.data["ratio"] is None and self.fails and self.data["demand"] is not None:
            return math.inf
        return self.data["ratio"]

    @property
    def words(self) -> str:
        return "Two answers" if self.is_disputed else WORDS[self.data["verdict"]]

    @property
    def standing(self) -> str:
        """The verdict in a few words: "Falls short, 131 %", "Holds, 82 %", "Find out"."""
        return self.words if self.ratio is None or self.is_open else f"{self.words}, {percent(self.ratio)}"

    @property
    def method_words(self) -> str:
        return "Calculated" if self.data["method"] == "calculation" else "Published rule"

    @property
    def has_numbers(self) -> bool:
        return self.data["demand"] is not None and self.data["capacity"] is not None

    @property
    def numbers(self) -> str:
        """Both numbers in words. A rule's are only set side by side: which of them is the limit differs by rule."""
        if not self.has_numbers:
            return ""
        demand, capacity = (quantity(self.data[name], self.data["unit"]) for name in ("demand", "capacity"))
        if self.data["method"] == "calculation" and self.data["unit"] != "in":
            return f"Must carry {demand}, can carry {capacity}"
        return f"{demand} against {capacity}"

    def is_about(self, *names: str) -> bool:
        """Whether any of the names (a part's key, or what people call it) stands in the subject as a whole word."""
        return any(re.search(rf"(?<!\w){re.escape(name)}(?!\w)", self.data["subject"]) for name in names if name)


def worst_first(checks: Iterable[FrozenCheck]) -> list[FrozenCheck]:
    return sorted(checks, key=lambda check: (-check.gravity, -(check.ratio or 0.0)))


def with_twins(checks: Sequence[dict[str, Any]], witnesses: Mapping[str, Mapping[str, Any]]) -> tuple[FrozenCheck, ...]:
    """The checks of a snapshot, each with those that answer the same question about the same piece."""
    by_id: dict[str, list[FrozenCheck]] = {}
    for data in checks:
        by_id.setdefault(data["id"], []).append(FrozenCheck(data))
    found = []
    for data in checks:
        pair = witnesses.get(data["id"], {"twins": (), "why_apart": ""})
        twins = [
            other
            for twin in pair["twins"]
            for other in by_id.get(twin, ())
            if _same_piece(other.subject, data["subject"])
        ]
        found.append(FrozenCheck(data, tuple(worst_first(twins)), pair["why_apart"] if twins else ""))
    return tuple(found)


def _same_piece(one: str, other: str) -> bool:
    """A span of a beam is a piece of the beam: "beam B1, span 2"."""
    return one == other or one.startswith(other + ",") or other.startswith(one + ",")
