"""One question at a time: options with units, tape-measure lengths, answers with every step."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

from engine.caution import CAUTION
from engine.command_line.listing import figure, step_lines
from engine.errors import DeckFaults, EngineError, Fault
from engine.plain import finite
from engine.results import Step


@dataclass(frozen=True)
class Option:
    """One option of a question. `kind` "length" takes what a tape says (10' 6", 126, 3.2 m); "flag" takes no value."""

    name: str
    meaning: str
    kind: Literal["length", "number", "count", "text", "flag"] = "text"
    unit: str = ""
    default: object = None
    required: bool = False


@dataclass(frozen=True)
class Answer:
    """What a question gave: named values with units in their names, the derivation, what was taken for granted."""

    values: Mapping[str, object]
    steps: Sequence[Step]
    assumptions: Sequence[str]


Ask = Callable[[dict[str, Any]], Answer]


def answer(command: str, words: list[str]) -> int:
    """Answer one question; the exit code. Raises DeckFaults with every wrong option, or the engine's refusal."""
    from engine.command_line.catalogue import CATALOGUE

    options, ask, meaning = CATALOGUE[command]
    if "--help" in words or "-h" in words:
        print("\n".join(_help(command, meaning, options)))
        return 0
    wants_json = "--json" in words
    given = read_options(options, [word for word in words if word != "--json"])
    found = ask(given)
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


def _names(words: Sequence[str]) -> set[str]:
    return {word[2:].split("=")[0] for word in words if word.startswith("--")}


def read_options(options: Sequence[Option], words: Sequence[str]) -> dict[str, Any]:
    """The values of the options by name. Raises DeckFaults with every fault."""
    known = {option.name: option for option in options}
    given: dict[str, Any] = {}
    faults: list[Fault] = []
    rest = list(words)
    while rest:
        word = rest.pop(0)
        name, joined, value = word.removeprefix("--").partition("=")
        option = known.get(name) if word.startswith("--") else None
        if option is None:
            faults.append(Fault("option", word, "one of " + ", ".join(f"--{each}" for each in known)))
            continue
        if option.kind == "flag":
            given[name] = True
            continue
        if not joined:
            if not rest:
                faults.append(Fault(f"--{name}", None, _accepted(option)))
                continue
            value = rest.pop(0)
        try:
            given[name] = _value(option, value)
        except EngineError as error:
            faults.append(Fault(f"--{name}", value, getattr(error, "reason", "") or _accepted(option)))
    faults += [
        Fault(f"--{each.name}", None, f"needed: {_accepted(each)}")
        for each in options
        if each.required and each.name not in given and f"--{each.name}" not in {fault.path for fault in faults}
    ]
    if faults:
        raise DeckFaults(faults)
    return {each.name: given.get(each.name, False if each.kind == "flag" else each.default) for each in options}


def _value(option: Option, text: str) -> object:
    if option.kind == "length":
        from engine.units import parse_length_in

        return parse_length_in(text)
    if option.kind == "text":
        return text
    try:
        number = float(text)
    except ValueError as error:
        raise EngineError from error
    if not math.isfinite(number) or (option.kind == "count" and number != int(number)):
        raise EngineError
    return int(number) if option.kind == "count" else number


def _accepted(option: Option) -> str:
    if option.kind == "length":
        return f"a length as a tape says it, or inches; {option.meaning}"
    kind = {"number": "a number", "count": "a whole number"}.get(option.kind, "")
    unit = f" in {option.unit}" if option.unit else ""
    return f"{kind}{unit}; {option.meaning}" if kind else option.meaning


def _help(command: str, meaning: str, options: Sequence[Option]) -> list[str]:
    lines = [f"python -m engine {command}: {meaning}", ""]
    for option in options:
        unit = {"length": "in, or as a tape says it", "flag": ""}.get(option.kind, option.unit)
        facts = [part for part in (unit, "needed" if option.required else "") if part]
        if option.default is not None:
            facts.append(f"if left out {option.default}")
        tail = f" ({'; '.join(facts)})" if facts else ""
        lines.append(f"  --{option.name:<18} {option.meaning}{tail}")
    return [*lines, "  --json               the answer as JSON", "", CAUTION]
