"""Reading a deck file and refusing it with all its faults at once.

Two passes: `_Reader` takes each part by itself (keys, kinds, ranges); `_check_references` then looks at how the parts
hang together.
No input, however broken, may come out as anything but a Deck or DeckFaults.
"""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from engine.deck import FORMAT, LIVE_LOAD_RULE, UNKNOWN, Amendment, Basis, Confirmation, Deck, OneOf, Part, Plain, Value
from engine.errors import DeckFaults, Fault
from engine.vocabulary import BASIS_FACTS, BY_PLURAL, Fact, PartKind

LARGEST_TEXT = 8_000_000  # characters; a deck of the greatest number of parts stays below
MOST_PARTS = 2000  # a large house deck has some hundreds
MOST_IN_LIST = 60  # spans or steps; what a continuous beam costs grows with the cube of its spans
MOST_CANDIDATES = 64
MOST_FAULTS = 200  # a person reads the first few; a broken export must not print a book
LONGEST_NAME = 200
LARGEST_AMENDMENT = 100_000

_ID = re.compile(r"[A-Za-z0-9_-]{1,64}\Z")
_RESERVED_IDS = ("unknown", "basis")
_TOP_KEYS = ("format", "name", "basis", *BY_PLURAL)
_BASIS_INDEX = {fact.name: fact for fact in BASIS_FACTS}
# A tape laid along a beam does not end on the last sixteenth.
_PLACE_TOLERANCE_IN = 0.5


def read_deck(source: object) -> Deck:
    """The deck in `source` (JSON text, bytes, or the mapping it would give). Raises DeckFaults, and nothing else."""
    reader = _Reader()
    raw = reader.mapping_of(source)
    if raw is None:
        raise DeckFaults(reader.faults)
    deck = reader.deck(raw)
    if not reader.faults:
        _check_references(deck, reader)
    if reader.faults:
        raise DeckFaults(reader.faults[:MOST_FAULTS])
    return deck


def read_basis(raw: Mapping[str, object]) -> Basis:
    """A basis from its mapping alone. Raises DeckFaults."""
    reader = _Reader()
    basis = reader.basis(raw)
    if reader.faults:
        raise DeckFaults(reader.faults)
    return basis


class _RepeatedKey(ValueError):
    pass


def _object_without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:  # json would silently keep the last one
            raise _RepeatedKey(key)
        found[key] = value
    return found


def shown(value: object) -> object:
    """`value` as a fault may carry it: numbers and short text as they are, anything long cut down to its beginning."""
    if value is None or isinstance(value, (bool, float)):
        return value
    if isinstance(value, int):
        return value if abs(value) < 10**18 else "a number of very many digits"
    if isinstance(value, str):
        return value if len(value) <= 60 else value[:57] + "..."
    if isinstance(value, Mapping):
        return "an object"
    return "a list" if isinstance(value, (list, tuple)) else type(value).__name__


def _key(key: object) -> str:
    text = key if isinstance(key, str) else repr(key)
    return text if re.fullmatch(r"[\w-]{1,60}", text, re.ASCII) else ascii(text[:60])


class _Reader:
    """Collects faults while it reads; what it returns is only good if there are none."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self._ids: dict[str, str] = {}

    def fault(self, path: str, value: object, accepted: str) -> None:
        self.faults.append(Fault(path, shown(value), accepted))

    def mapping_of(self, source: object) -> Mapping[str, Any] | None:
        if isinstance(source, Mapping):
            return source
        if isinstance(source, (bytes, bytearray)):
            try:
                source = bytes(source).decode("utf-8-sig")
            except UnicodeDecodeError as error:
                self.fault("deck", f"byte {error.start}", "UTF-8 text")
                return None
        if not isinstance(source, str):
            self.fault("deck", source, "JSON text or a mapping")
            return None
        if len(source) > LARGEST_TEXT:
            self.fault("deck", f"{len(source)} characters", f"at most {LARGEST_TEXT} characters")
            return None
        try:
            raw = json.loads(source.removeprefix("\ufeff"), object_pairs_hook=_object_without_repeats)
        except _RepeatedKey as error:
            self.fault("deck", str(error), "each key once in an object")
        except json.JSONDecodeError as error:
            self.fault("deck", f"line {error.lineno} column {error.colno}", f"JSON ({error.msg})")
        except RecursionError:
            self.fault("deck", "nested too deeply", "lists of parts, nested no deeper than the format")
        except ValueError:  # an integer of more digits than Python converts
            self.fault("deck", "a number of very many digits", "numbers in the ranges of the schema")
        else:
            if isinstance(raw, dict):
                return raw
            self.fault("deck", raw, f'an object with "format": "{FORMAT}"')
        return None

    def deck(self, raw: Mapping[str, Any]) -> Deck:
        self._known_keys("", raw, _TOP_KEYS)
        if raw.get("format") != FORMAT:
            self.fault("format", raw.get("format"), f'"{FORMAT}"')
        name = self._words("name", raw.get("name", ""))
        if "basis" not in raw:
            self.fault("basis", None, "the building-rule basis, with the edition at least")
        basis = self.basis(raw.get("basis", {}), missing="basis" not in raw)
        parts: dict[str, tuple[Part, ...]] = {}
        count = 0
        for plural, kind in BY_PLURAL.items():
            items = raw.get(plural, [])
            if not isinstance(items, (list, tuple)):
                self.fault(plural, items, f"a list of {plural.replace('_', ' ')}")
                continue
            count += len(items)
            if count > MOST_PARTS:
                self.fault(plural, f"{count} parts so far", f"at most {MOST_PARTS} parts in a deck")
                break
            read = tuple(self._part(kind, index, item) for index, item in enumerate(items))
            if good := tuple(part for part in read if part is not None):
                parts[kind.name] = good
        return Deck(name, basis, parts)

    def basis(self, raw: object, missing: bool = False) -> Basis:
        if not isinstance(raw, Mapping):
            self.fault("basis", raw, "an object")
            return Basis({})
        self._known_keys("basis", raw, (*_BASIS_INDEX, "amendments", "confirmations"))
        facts = {} if missing else self._facts("basis", _BASIS_INDEX, raw)
        amendments = tuple(
            Amendment(str(entry["key"]), float(entry["value"]), str(entry["unit"]), str(entry["citation"]))
            for entry in self._entries("basis.amendments", raw, ("key", "value", "unit", "citation"))
        )
        confirmations = tuple(
            Confirmation(str(entry["key"]), str(entry["by"]), str(entry["on"]))
            for entry in self._entries("basis.confirmations", raw, ("key", "by", "on"))
        )
        return Basis(_not_below_local(facts, amendments), amendments, confirmations)

    def _entries(self, path: str, raw: Mapping[str, Any], keys: tuple[str, ...]) -> list[Mapping[str, Any]]:
        items = raw.get(path.rpartition(".")[2], [])
        if not isinstance(items, (list, tuple)) or len(items) > MOST_PARTS:
            self.fault(path, items, "a list of objects with " + ", ".join(keys))
            return []
        good = [item for index, item in enumerate(items) if self._entry_is_good(f"{path}[{index}]", item, keys)]
        for key, count in Counter(str(item["key"]) for item in good).items():
            if count > 1:
                self.fault(path, key, "each key once")
        return good

    def _keys_are_held(self, path: str, item: Mapping[str, Any], is_amendment: bool) -> None:
        # Imported here: only a basis with local rules pays for it.
        from engine.codes.keys import can_be_confirmed, unit_of_rule

        key = item["key"]
        if not is_amendment:
            if not can_be_confirmed(key):
                self.fault(f"{path}.key", key, "a rule, a table or a row, as `python -m engine sources` names it")
            return
        unit = unit_of_rule(key)
        if unit is None:
            self.fault(f"{path}.key", key, "a rule that is a number, as `python -m engine sources` names it")
        elif item.get("unit") != unit:
            self.fault(f"{path}.unit", item.get("unit"), f"{unit}, the unit of {key}")
        live = _BASIS_INDEX["live_psf"]
        low, high = (live.low, live.high) if key == LIVE_LOAD_RULE else (0, LARGEST_AMENDMENT)
        if not low <= item["value"] <= high:
            self.fault(f"{path}.value", item["value"], f"a number from {low:g} to {high:g}")

    def _entry_is_good(self, path: str, item: object, keys: tuple[str, ...]) -> bool:
        before = len(self.faults)
        if not isinstance(item, Mapping):
            self.fault(path, item, "an object with " + ", ".join(keys))
            return False
        self._known_keys(path, item, keys)
        for key in keys:
            value = item.get(key, "")
            if key == "value":
                if not _is_number(value):
                    self.fault(f"{path}.{key}", value, "a finite number")
            elif value == "" and key != "unit":
                self.fault(f"{path}.{key}", value, "text, not empty")
            else:
                self._words(f"{path}.{key}", value)
        if len(self.faults) == before:
            self._keys_are_held(path, item, "value" in keys)
        return len(self.faults) == before

    def _part(self, kind: PartKind, index: int, raw: object) -> Part | None:
        path = f"{kind.plural}[{index}]"
        if not isinstance(raw, Mapping):
            self.fault(path, raw, f"an object with the facts of {kind.meaning}")
            return None
        self._known_keys(path, raw, ("id", "name", *kind.index))
        part_id = raw.get("id")
        if not isinstance(part_id, str) or not _ID.match(part_id) or part_id in _RESERVED_IDS:
            self.fault(f"{path}.id", part_id, "letters, digits, - or _, up to 64 of them, and not a word of the format")
            part_id = ""
        elif part_id in self._ids:
            self.fault(f"{path}.id", part_id, f"an id of its own; {self._ids[part_id]} has this one")
        else:
            self._ids[part_id] = path
        name = self._words(f"{path}.name", raw.get("name", ""))
        return Part(kind, index, part_id, self._facts(path, kind.index, raw), name)

    def _facts(self, path: str, index: Mapping[str, Fact], raw: Mapping[str, Any]) -> dict[str, Value]:
        facts: dict[str, Value] = {}
        for name, fact in index.items():
            if name in raw:
                value = self._value(f"{path}.{name}", fact, raw[name])
                if value is not None:
                    facts[name] = value
            elif fact.required:
                self.fault(f"{path}.{name}", None, f"needed: {accepted(fact)}")
        return facts

    def _value(self, path: str, fact: Fact, raw: object) -> Value | None:
        if fact.kind != "reference":
            if raw == "unknown":
                return UNKNOWN
            if isinstance(raw, Mapping):
                return self._one_of(path, fact, raw)
        value = plain_value(fact, raw)
        if value is None:
            self.fault(path, raw, accepted(fact) + _closest(fact, raw))
        return value

    def _one_of(self, path: str, fact: Fact, raw: Mapping[str, Any]) -> OneOf | None:
        values = raw.get("one_of")
        if set(raw) != {"one_of"} or not isinstance(values, (list, tuple)) or not 0 < len(values) <= MOST_CANDIDATES:
            self.fault(path, raw, f'a value, "unknown", or {{"one_of": [1 to {MOST_CANDIDATES} values]}}')
            return None
        good: list[Plain] = []
        for place, candidate in enumerate(values):
            value = plain_value(fact, candidate)
            if value is None:
                self.fault(f"{path}.one_of[{place}]", candidate, accepted(fact) + _closest(fact, candidate))
            elif value not in good:
                good.append(value)
        return OneOf(tuple(good)) if good else None

    def _words(self, path: str, raw: object) -> str:
        if isinstance(raw, str) and len(raw) <= LONGEST_NAME and raw.isprintable():
            return raw
        self.fault(path, raw, f"plain text on one line, up to {LONGEST_NAME} characters")
        return ""

    def _known_keys(self, path: str, raw: Mapping[str, Any], known: tuple[str, ...]) -> None:
        for key in raw:
            if key not in known:
                close = _close_matches(key, known) if isinstance(key, str) else []
                hint = f"did you mean {close[0]}?" if close else "one of " + ", ".join(known)
                self.fault(f"{path}.{_key(key)}" if path else _key(key), "unknown key", hint)


def _not_below_local(facts: dict[str, Value], amendments: tuple[Amendment, ...]) -> dict[str, Value]:
    """The facts of a basis with the live load brought up to what a local rule asks of a deck."""
    for local in amendments:
        if local.key == LIVE_LOAD_RULE:
            given = facts.get("live_psf")
            recorded = given.values if isinstance(given, OneOf) else (given,)
            raised = dict.fromkeys(max(local.value, one) if isinstance(one, float) else local.value for one in recorded)
            facts["live_psf"] = OneOf(tuple(raised)) if len(raised) > 1 else next(iter(raised))
    return facts


def _is_number(raw: object) -> bool:
    """An int or a finite float; True and False are not numbers here, whatever Python thinks."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        return False
    return abs(raw) < 10**15 and math.isfinite(raw)


def plain_value(fact: Fact, raw: object) -> Plain | None:
    """The value of a fact as the engine holds it, or None if `raw` is not one that the fact may have."""
    if fact.kind in ("length", "number"):
        return float(raw) if _is_number(raw) and fact.low <= raw <= fact.high else None  # type: ignore[arg-type,operator]
    if fact.kind == "count":
        whole = _is_number(raw) and raw == int(raw)  # type: ignore[call-overload]
        return int(raw) if whole and fact.low <= raw <= fact.high else None  # type: ignore[call-overload,operator]
    if fact.kind == "yes-no":
        return raw if isinstance(raw, bool) else None
    if fact.kind == "lengths":
        if not isinstance(raw, (list, tuple)) or not 0 < len(raw) <= MOST_IN_LIST:
            return None
        good = all(_is_number(item) and fact.low <= item <= fact.high for item in raw)
        return tuple(float(item) for item in raw) if good else None
    if not isinstance(raw, str):
        return None
    if fact.kind == "choice":
        return raw if raw in fact.choices else None
    if fact.kind == "reference":
        return raw if _ID.match(raw) and raw not in _RESERVED_IDS else None
    return raw if len(raw) <= LONGEST_NAME and raw.isprintable() else None


def accepted(fact: Fact) -> str:
    """What a fact takes, in words with unit and range."""
    unit = f" {fact.unit}" if fact.unit else ""
    if fact.kind in ("length", "number"):
        return f"a number from {fact.low:g} to {fact.high:g}{unit}"
    if fact.kind == "count":
        return f"a whole number from {fact.low:g} to {fact.high:g}"
    if fact.kind == "yes-no":
        return "true or false"
    if fact.kind == "lengths":
        return f"a list of 1 to {MOST_IN_LIST} numbers, each from {fact.low:g} to {fact.high:g}{unit}"
    if fact.kind == "choice":
        return "one of " + ", ".join(fact.choices)
    if fact.kind == "reference":
        return f"the id of a {fact.refers_to.replace('_', ' ')}"
    return f"plain text on one line, up to {LONGEST_NAME} characters"


def _close_matches(word: str, known: Iterable[str]) -> list[str]:
    from difflib import get_close_matches  # only a faulty file pays for it

    return get_close_matches(word, list(known), 1) if len(word) <= 60 else []


def _closest(fact: Fact, raw: object) -> str:
    if fact.kind != "choice" or not isinstance(raw, str):
        return ""
    by_lower = {choice.lower(): choice for choice in fact.choices}
    close = _close_matches(raw.lower(), by_lower)
    return f" (did you mean {by_lower[close[0]]}?)" if close else ""


def _check_references(deck: Deck, reader: _Reader) -> None:
    for part in deck:
        for name in part.kind.references:
            target_id = part.facts.get(name)
            if target_id is None:
                continue
            wanted = part.kind.index[name].refers_to
            target = deck.by_id.get(str(target_id))
            ids = ", ".join(other.id for other in deck.of_kind(wanted)[:12]) or "there is none"
            if target is None:
                reader.fault(f"{part.path}.{name}", target_id, f"the id of a {wanted.replace('_', ' ')} ({ids})")
            elif target.kind.name != wanted:
                reader.fault(
                    f"{part.path}.{name}", target_id,
                    f"the id of a {wanted.replace('_', ' ')} ({ids}), not of a {target.kind.name.replace('_', ' ')}",
                )  # fmt: skip
            elif part.kind.name in ("fastener", "post"):
                _check_place(part, target, reader)


def _check_place(part: Part, target: Part, reader: _Reader) -> None:
    """A fastener lies within its ledger and a post within its beam, as far as both are known."""
    position, length_in = part.facts.get("position_in"), _length_in(target)
    if isinstance(position, float) and length_in is not None and position > length_in + _PLACE_TOLERANCE_IN:
        reader.fault(
            f"{part.path}.position_in", position,
            f"from 0 to {length_in:g} in, the length of {target.subject}",
        )  # fmt: skip


def _length_in(part: Part) -> float | None:
    if part.kind.name == "ledger":
        length = part.facts.get("length_in")
        return length if isinstance(length, float) else None
    ends = [part.facts.get(f"overhang_{side}_in", 0.0) for side in ("left", "right")]
    spans = part.facts.get("spans_in")
    if not isinstance(spans, tuple) or not all(isinstance(end, float) for end in ends):
        return None
    return sum(spans) + sum(end for end in ends if isinstance(end, float))
