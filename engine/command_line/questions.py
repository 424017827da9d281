"""One question at a time: options with units, tape-measure lengths, answers with every step."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Literal

from engine.caution import CAUTION
from engine.command_line.listing import figure, step_lines
from engine.errors import DeckFaults, EngineError, Fault, NotPublished
from engine.plain import finite
from engine.records import dataclass
from engine.results import Step


@dataclass(frozen=True)
class Option:
    """One option of a question. `kind` "length" takes what a tape says (10' 6", 126, 3.2 m); "flag" takes no value.

    A number or count lies from `low` to `high`, the range of the same fact in a deck file where it has one.
    """

    name: str
    meaning: str
    kind: Literal["length", "number", "count", "text", "flag"] = "text"
    unit: str = ""
    default: object = None
    required: bool = False
    low: float = 0.0
    high: float = 0.0


@dataclass(frozen=True)
class Answer:
    """What a question gave: named values with units in their names, the derivation, what was taken for granted."""

    values: Mapping[str, object]
    steps: Sequence[Step]
    assumptions: Sequence[str]


Ask = Callable[[dict[str, Any]], Answer]

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.ASCII | re.IGNORECASE)
_LONGEST_VALUE = 60


def answer(command: str, words: list[str]) -> int:
    """Answer one question; the exit code. Raises DeckFaults with every wrong option, or the engine's refusal."""
    from engine.command_line.catalogue import CATALOGUE

    options, ask, meaning = CATALOGUE[command]
    if "--help" in words or "-h" in words:
        print("\n".join(_help(command, meaning, options)))
        return 0
    wants_json = "--json" in words
    given = read_options(options, [word for word in words if word != "--json"])
    try:
        found = ask(given)
    except NotPublished as refusal:
        raise DeckFaults([Fault(command, " ".join(words), str(refusal))]) from refusal
    defaults = [
        f"--{each.name} not given: {each.default} {each.unit}".rstrip()
        for each in options
        if each.default is not None and each.name not in _names(words) and each.kind != "flag"
    ]
    assumptions = [*found.assumptions, *defaults]
    if wants_json:
        body = {"question": command, **found.values, "steps": [asdict(step) for step in found.steps]}
        print(json.dumps(finite({**body, "assumptions": assumptions, "caution": CAUTION}), indent=1))
        return 0
    for name, value in found.values.items():
        print(f"{name} = {figure(value) if isinstance(value, float) else value}")
    lines = [*step_lines(found.steps), *(f"    taken: {words}" for words in assumptions), CAUTION]
    print("\n".join(lines))
    return 0


class _Refused(EngineError):
    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def _names(words: Sequence[str]) -> set[str]:
    return {word[2:].split("=")[0] for word in words if word.startswith("--")}


def read_options(options: Sequence[Option], words: Sequence[str]) -> dict[str, Any]:
    """The values of the options by name. Raises DeckFaults with every fault."""
    known = {option.name: option for option in options}
    given: dict[str, Any] = {}
    faults: list[Fault] = []
    seen: set[str] = set()
    rest = list(words)
    while rest:
        word = rest.pop(0)
        name, joined, value = word.removeprefix("--").partition("=")
        option = known.get(name) if word.startswith("--") else None
        if option is None:
            faults.append(Fault("option", _short(word), "one of " + ", ".join(f"--{each}" for each in known)))
            continue
        is_flag = option.kind == "flag"
        if not joined and not is_flag:
            value = rest.pop(0) if rest else ""
        try:
            if name in seen:
                raise _Refused("given once")
            seen.add(name)
            if is_flag and joined:  # --dry=no would read as yes
                raise _Refused("no value: the word alone says yes, left out says no")
            given[name] = True if is_flag else _value(option, value)
        except EngineError as error:
            faults.append(Fault(f"--{name}", _short(value) or None, getattr(error, "reason", "") or _accepted(option)))
    faults += [
        Fault(f"--{each.name}", None, f"needed: {_accepted(each)}")
        for each in options
        if each.required and each.name not in seen
    ]
    if faults:
        raise DeckFaults(faults)
    return {each.name: given.get(each.name, False if each.kind == "flag" else each.default) for each in options}


def _value(option: Option, text: str) -> object:
    if option.kind == "length":
        from engine.units import parse_length_in

        return parse_length_in(text)
    if option.kind == "text":
        if not text.strip() or len(text) > _LONGEST_VALUE or not text.isprintable():
            raise EngineError
        return text
    number = float(text) if len(text) <= _LONGEST_VALUE and _NUMBER.fullmatch(text) else math.nan
    if not option.low <= number <= option.high or (option.kind == "count" and number != int(number)):
        raise EngineError
    return int(number) if option.kind == "count" else number


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_VALUE else text[: _LONGEST_VALUE - 3] + "..."


def _accepted(option: Option) -> str:
    if option.kind == "length":
        return f"a length as a tape says it, or inches; {option.meaning}"
    if option.kind == "text":
        return option.meaning
    kind = "a whole number" if option.kind == "count" else "a number"
    return f"{kind} {_range(option)}; {option.meaning}"


def _range(option: Option) -> str:
    unit = f" {option.unit}" if option.unit else ""
    return f"from {option.low:g} to {option.high:g}{unit}"


def _help(command: str, meaning: str, options: Sequence[Option]) -> list[str]:
    lines = [f"python -m engine {command}: {meaning}", ""]
    for option in options:
        unit = {"length": "in, or as a tape says it", "number": _range(option), "count": _range(option)}.get(
            option.kind, ""
        )
        facts = [part for part in (unit, "needed" if option.required else "") if part]
        if option.default is not None:
            facts.append(f"if left out {option.default}")
        tail = f" ({'; '.join(facts)})" if facts else ""
        lines.append(f"  --{option.name:<18} {option.meaning}{tail}")
    return [*lines, "  --json               the answer as JSON", "", CAUTION]
