"""The deck file's format as JSON Schema (draft 2020-12), made from the same vocabulary that validates it."""

from __future__ import annotations

from typing import Any

from engine.deck import FORMAT
from engine.deck_reader import LONGEST_NAME, MOST_CANDIDATES, MOST_IN_LIST, accepted
from engine.facts import candidates_of, in_words
from engine.vocabulary import BASIS_FACTS, KINDS, Fact

_ID = {"type": "string", "pattern": "^[A-Za-z0-9_-]{1,64}$", "not": {"enum": ["unknown", "basis"]}}
_TEXT = {"type": "string", "maxLength": LONGEST_NAME}


def deck_schema() -> dict[str, Any]:
    """JSON Schema of a deck file, units and ranges in the descriptions.

    What no schema can say (ids are unique, references lead to a part of the right kind, fasteners lie on their ledger)
    is checked when the file is read.
    """
    lists = {
        kind.plural: {
            "type": "array",
            "description": f"{kind.meaning}; link of the load path: {kind.link}",
            "items": _object({"id": _ID, "name": _TEXT} | {fact.name: _fact(fact) for fact in kind.facts},
                             ["id", *(fact.name for fact in kind.facts if fact.required)]),
        }
        for kind in KINDS
    }  # fmt: skip
    wanted = {"key": _TEXT, "value": {"type": "number"}, "unit": _TEXT, "citation": _TEXT}
    amendment = _object(wanted, list(wanted))
    confirmation = _object({"key": _TEXT, "by": _TEXT, "on": _TEXT}, ["key", "by", "on"])
    basis: dict[str, Any] = {fact.name: _fact(fact) for fact in BASIS_FACTS}
    basis["amendments"] = {"type": "array", "items": amendment, "description": "local rules that replace a value"}
    basis["confirmations"] = {
        "type": "array", "items": confirmation, "description": "rules and tables compared with the firm's own copy",
    }  # fmt: skip
    required = [fact.name for fact in BASIS_FACTS if fact.required]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "description": "A deck as recorded on site. Lengths in inches, loads in psf or lb unless stated.",
        **_object(
            {"format": {"const": FORMAT}, "name": _TEXT, "basis": _object(basis, required), **lists},
            ["format", "basis"],
        ),
    }


def _object(properties: dict[str, Any], required: list[str]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": required, "additionalProperties": False}


def _fact(fact: Fact) -> dict[str, Any]:
    words = f"{fact.meaning} ({accepted(fact)})"
    if fact.default is not None:
        words += f"; if left out: {in_words(fact.default)}, {fact.default_why}"
    elif fact.candidates:
        words += "; if left out each of these is tried: " + ", ".join(map(in_words, fact.candidates))
    if (tried := candidates_of(fact)) and fact.candidates:
        words += '; if "unknown" each of these is tried: ' + ", ".join(map(in_words, tried))
    value = _value(fact)
    if fact.kind == "reference":
        return {"description": words, **value}
    one_of = {"type": "array", "items": value, "minItems": 1, "maxItems": MOST_CANDIDATES}
    return {"description": words, "anyOf": [value, {"const": "unknown"}, _object({"one_of": one_of}, ["one_of"])]}


def _value(fact: Fact) -> dict[str, Any]:
    number = {"type": "number", "minimum": fact.low, "maximum": fact.high}
    if fact.kind in ("length", "number"):
        return number
    if fact.kind == "count":
        return {**number, "type": "integer"}
    if fact.kind == "lengths":
        return {"type": "array", "items": number, "minItems": 1, "maxItems": MOST_IN_LIST}
    if fact.kind == "yes-no":
        return {"type": "boolean"}
    if fact.kind == "choice":
        return {"enum": list(fact.choices)}
    return _ID if fact.kind == "reference" else _TEXT
