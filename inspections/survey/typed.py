"""From what a person types to the value the engine keeps, and back.

`read(fact, typed)` refuses with `Unreadable`, whose `reason` stands beside the field: words for the person with the
tape in hand, never a word of the program.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from engine.deck_reader import MOST_IN_LIST
from engine.facts import label
from engine.units import UnreadableLength, format_feet_inches, format_inches, format_metric, parse_length_in
from engine.vocabulary import Fact

OF_CANDIDATES = ("length", "number", "count", "choice")  # kinds of facts that may be said as one of several values
LONGEST_TYPED = 200  # as wide as the column that keeps it
_MOST_DIGITS = 7  # more in a row is a slipped key, on a tape as on a scale

_NUMBER = re.compile(r"[-−]?(?:\d+(?:\.\d*)?|\.\d+)\Z", re.ASCII)
_SHARE = re.compile(r"(\d+)\s*(?:/|of|out of)\s*(\d+)\Z", re.ASCII | re.I)
_OR = re.compile(r"\s+or\s+", re.I)
_TIMES = re.compile(r"(\d{1,3})\s*[x×*]\s*(\S.*)\Z", re.ASCII | re.I)
_YES, _NO = ("yes", "y", "true"), ("no", "n", "false")


class Unreadable(ValueError):
    """What was typed is not a value of this fact; `reason` says why and what is taken."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True)
class Target:
    """A part that a reference may name: its key in the deck file, its id, its kind."""

    key: str
    id: str
    kind: str
    name: str


def read(fact: Fact, typed: str, targets: Sequence[Target] = ()) -> object:
    """The value of `fact` that `typed` says: inches, a number, one of its words, a boolean, a list of inches, a key.

    Where one is not sure and says "8 or 10", it is `{"one_of": [8, 10]}`, as in a deck file. `targets` are the parts of
    the visit that a reference may name. Raises Unreadable.
    """
    text = _tidy(typed)
    if not text:
        raise Unreadable(_nothing(fact))
    if len(candidates := candidates_in(fact, text)) > 1:
        return _one_of(fact, candidates)
    return _read_one(fact, text, targets)


def candidates_in(fact: Fact, text: str) -> list[str]:
    """The several values that a text says ("8 or 10"); the text alone where it says one. A word may hold an "or"."""
    if fact.kind not in OF_CANDIDATES:
        return [text] if text else []
    found: list[str] = []
    pieces = _OR.split(text)
    choices = {choice.lower() for choice in fact.choices}
    while pieces:
        # "soft or broken" is one answer, "good or soft or broken" are two.
        most = next((n for n in range(len(pieces), 1, -1) if " or ".join(pieces[:n]).lower() in choices), 1)
        found.append(" or ".join(pieces[:most]))
        pieces = pieces[most:]
    return [one for one in found if one]


def _one_of(fact: Fact, candidates: Sequence[str]) -> object:
    values: list[object] = []
    for each in candidates:
        try:
            value = _read_one(fact, each, ())
        except Unreadable as error:
            raise Unreadable(f"“{each}”: {error.reason}") from error
        if value not in values:
            values.append(value)
    return {"one_of": values} if len(values) > 1 else values[0]


def _read_one(fact: Fact, text: str, targets: Sequence[Target]) -> object:
    if fact.kind == "length":
        return _length(fact, text)
    if fact.kind == "lengths":
        return _lengths(fact, text)
    if fact.kind in ("number", "count"):
        return _number(fact, text)
    if fact.kind == "yes-no":
        return _yes_no(text)
    if fact.kind == "choice":
        return _choice(fact, text)
    if fact.kind == "reference":
        return _reference(fact, text, targets)
    return text


def _tidy(typed: str) -> str:
    """One line without surrounding blanks. Raises Unreadable for what no keyboard writes, or too much of it."""
    text = " ".join(";".join(line for line in typed.splitlines() if line.strip()).split())
    if not text.isprintable():
        raise Unreadable("There are characters in it that cannot be read. Type it again.")
    if len(text) > LONGEST_TYPED:
        raise Unreadable(f"This is longer than the {LONGEST_TYPED} characters that are kept.")
    return text


def _nothing(fact: Fact) -> str:
    if fact.kind in ("choice", "yes-no", "reference"):
        return "Nothing was chosen."
    return "Nothing was entered." + (" Write it like 12' 3 1/2\", 9 1/4 or 95 mm." if fact.kind == "length" else "")


def _refuse_long_digits(text: str) -> None:
    if re.search(rf"\d{{{_MOST_DIGITS + 1}}}", text):
        raise Unreadable("There are too many digits in this number. Check it.")


def _length(fact: Fact, text: str) -> float:
    _refuse_long_digits(text)
    try:
        value_in = parse_length_in(text)
    except UnreadableLength as error:
        raise Unreadable(error.reason) from error
    _require_in_range(fact, value_in)
    return round(value_in, 6)  # a millimetre typed is not kept to the last bit of a float


def _lengths(fact: Fact, text: str) -> list[float]:
    values: list[float] = []
    for item in filter(None, (piece.strip() for piece in re.split(r"[,;]", text))):
        times, one = 1, item
        if repeated := _TIMES.match(item):
            times, one = int(repeated[1]), repeated[2]
        try:
            value_in = _length(fact, one)
        except Unreadable as error:
            raise Unreadable(f"“{item}”: {error.reason}") from error
        values += [value_in] * times
        if len(values) > MOST_IN_LIST:
            raise Unreadable(f"At most {MOST_IN_LIST} lengths are taken here.")
    if not values:
        raise Unreadable("There is no length in it. Write them like 7 1/2, 7 1/2, 7 3/4 or 3 x 7 1/2.")
    return values


def _number(fact: Fact, text: str) -> float | int:
    if fact.unit == "fraction" and (share := _SHARE.match(text)):
        _refuse_long_digits(text)
        if int(share[2]) == 0:
            raise Unreadable("There cannot be 0 below the line.")
        value = int(share[1]) / int(share[2])
    else:
        value = _plain_number(fact, text)
    if fact.kind == "count":
        if value != int(value):
            raise Unreadable("A count is a whole number.")
        value = int(value)
    _require_in_range(fact, value)
    return value


def _plain_number(fact: Fact, text: str) -> float:
    number = text
    is_percent = number.endswith("%")
    for ending in (fact.unit, "%"):
        if ending and number.lower().endswith(ending.lower()):
            number = number[: -len(ending)].strip()
            break
    number = re.sub(r"(?<=\d),(?=\d{3}(\D|\Z))", "", number)
    _refuse_long_digits(number)
    if not _NUMBER.match(number):
        unit = f" in {fact.unit}" if fact.unit and fact.unit != "fraction" else ""
        how = " like 8 of 10, 80 % or 0.8" if fact.unit == "fraction" else unit
        raise Unreadable(f"This cannot be read as a number. Write a number{how}.")
    value = float(number.replace("−", "-"))
    return value / 100 if is_percent and fact.unit == "fraction" else value


def _yes_no(text: str) -> bool:
    if text.lower() in _YES:
        return True
    if text.lower() in _NO:
        return False
    raise Unreadable("Say yes or no.")


def _choice(fact: Fact, text: str) -> str:
    for choice in fact.choices:
        if choice.lower() == text.lower():
            return choice
    raise Unreadable("This is not one of the answers: " + ", ".join(fact.choices) + ".")


def _reference(fact: Fact, text: str, targets: Sequence[Target]) -> str:
    wanted = fact.refers_to.replace("_", " ")
    for target in targets:
        if text.lower() in (target.key.lower(), target.id):
            if target.kind == fact.refers_to:
                return target.key
            raise Unreadable(f"{target.key} is a {target.kind.replace('_', ' ')}; a {wanted} belongs here.")
    there = ", ".join(target.key for target in targets if target.kind == fact.refers_to)
    raise Unreadable(f"There is no {wanted} {text}. " + (f"There is {there}." if there else f"Add a {wanted} first."))


def _require_in_range(fact: Fact, value: float) -> None:
    name, shown = label(fact), measure(fact, value)
    if value < fact.low:
        if value < 0 <= fact.low:
            raise Unreadable("This cannot be negative.")
        raise Unreadable(f"A {name} of {shown} is below the {measure(fact, fact.low)} that this takes.")
    if value > fact.high:
        raise Unreadable(f"A {name} of {shown} is beyond the {measure(fact, fact.high)} that this takes.")


def measure(fact: Fact, value: float) -> str:
    """A number of this fact with its unit: lengths as on a tape."""
    if fact.kind in ("length", "lengths"):
        return format_feet_inches(value) if value >= 24 else format_inches(value)
    if fact.unit == "fraction":
        return f"{value * 100:g} %"
    return f"{value:g} {fact.unit}".strip()


def in_words(fact: Fact, value: object) -> str:
    """A kept value as people read it; an empty text for None (it could not be reached)."""
    if value is None:
        return ""
    if isinstance(value, Mapping):
        return " or ".join(in_words(fact, each) for each in value["one_of"])
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(measure(fact, item) for item in value)
    if isinstance(value, int | float):
        return measure(fact, value)
    return str(value)


def in_field(fact: Fact, value: object, typed: str) -> str:
    """What the entry field shows: what was typed, as typed; else the value as one would type it."""
    if fact.kind in ("choice", "yes-no", "reference"):
        return in_words(fact, value)
    return typed or in_words(fact, value)


def read_back(fact: Fact, value: object) -> str:
    """A length read back in both systems, so that a slipped unit shows: `8' 8" (2.642 m)`."""
    if fact.kind == "length" and isinstance(value, int | float):
        return f"{measure(fact, value)} ({format_metric(value)})"
    return in_words(fact, value)
