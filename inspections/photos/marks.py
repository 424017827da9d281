"""Reading the marks that somebody drew on a photo: what a browser sends is believed in nothing."""

import hashlib
import json
from typing import Any

from inspections.drawings.marks import KINDS
from inspections.visits.refusals import Refused

MOST_MARKS = 100
LONGEST_WORDS = 40
_MOST_CHARACTERS = 40_000
_ENDS = {"text": ("x1", "y1")}
_TWO_ENDS = ("x1", "y1", "x2", "y2")


class MarksRefused(Refused):
    """The marks are not kept; the reason is in words."""


def read_marks(sent: str) -> list[dict[str, Any]]:
    """The marks in the JSON that was sent: each with `kind`, its ends as shares of the picture, and `text`.

    Raises MarksRefused: for anything else than a list of at most 100 known kinds whose numbers lie in the picture and
    whose words are short and free of markup; words that stand alone must not be empty.
    """
    if len(sent) > _MOST_CHARACTERS:
        raise MarksRefused("That is more than can be kept on one photo. Take some marks away.")
    try:
        marks = json.loads(sent, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise MarksRefused("The marks arrived damaged. Save them again.") from error
    if not isinstance(marks, list):
        raise MarksRefused("The marks arrived damaged. Save them again.")
    if len(marks) > MOST_MARKS:
        raise MarksRefused(f"A photo may have {MOST_MARKS} marks. Take some away.")
    return [_read_mark(number, mark) for number, mark in enumerate(marks, 1)]


def digest_of(drawn: dict[str, Any]) -> str:
    """A short name for what is drawn now, to notice that somebody changed it in between."""
    text = json.dumps(drawn.get("marks", []), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _read_mark(number: int, mark: Any) -> dict[str, Any]:
    if not isinstance(mark, dict) or not isinstance(mark.get("kind"), str) or mark["kind"] not in KINDS:
        raise MarksRefused(f"Mark {number} is of no kind that is known here.")
    ends = _ENDS.get(mark["kind"], _TWO_ENDS)
    if set(mark) != {"kind", "text", *ends}:
        raise MarksRefused(f"Mark {number} is not complete.")
    return {"kind": mark["kind"], **{end: _share(number, mark[end]) for end in ends}, "text": _words(number, mark)}


def _share(number: int, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
        raise MarksRefused(f"Mark {number} lies outside the photo.")
    return round(float(value), 4)


def _words(number: int, mark: dict[str, Any]) -> str:
    if not isinstance(mark["text"], str):
        raise MarksRefused(f"The words of mark {number} are no words.")
    words = " ".join(mark["text"].split())
    if len(words) > LONGEST_WORDS:
        raise MarksRefused(f"The words of mark {number} are longer than {LONGEST_WORDS} letters.")
    if "<" in words or ">" in words or not words.isprintable():
        raise MarksRefused(f"Write the words of mark {number} without < and > and without control characters.")
    if mark["kind"] == "text" and not words:
        raise MarksRefused(f"Mark {number} has no words. Write some, or take it away.")
    return words


def _no_number(name: str) -> None:
    raise ValueError(name)
