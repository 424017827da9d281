"""Reading and printing lengths the way a tape measure is read.

`parse_length_in` takes what people type; `format_feet_inches` prints to the nearest sixteenth; `format_metric` prints
millimetres or metres. 1 in = 25.4 mm exactly.
"""

from __future__ import annotations

import re
from fractions import Fraction

from engine.errors import EngineError

MM_PER_IN = 25.4
_LARGEST_IN = 1200.0  # 100 ft; a house deck is never longer, and a slipped digit is
_LONGEST_TEXT = 40

_MARKS = str.maketrans("’′‘”″“–—−⁄", "'''\"\"\"---/")
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_DECIMAL = r"\d+(?:\.\d*)?|\.\d+"
_INCHES = rf"(?:(?P<whole>{_DECIMAL})?(?:(?:^|[\s-])?(?P<num>\d+)/(?P<den>\d+))?)"
_METRIC = re.compile(rf"^(?P<value>{_DECIMAL})\s*(?P<unit>mm|cm|m)$", re.I | re.A)
_FEET = re.compile(rf"^(?P<feet>{_DECIMAL})\s*(?:'|ft\.?|feet|foot)\s*-?\s*(?P<rest>.*)$", re.I | re.A)
_FEET_DASH = re.compile(r"^(?P<feet>\d+)-(?P<rest>\d.*)$", re.A)
_INCH_MARK = re.compile(r"\s*(?:\"|''|in\.?|inch|inches)$", re.I | re.A)
_MIXED = re.compile(r"^(?:(?P<whole>\d+)(?:\s+|-))?(?P<num>\d+)/(?P<den>\d+)$", re.A)
_PLAIN = re.compile(rf"^(?:{_DECIMAL})$", re.A)

EXAMPLES = "12' 3 1/2\", 12-3 1/2, 147.5, 3.75 m or 95 mm"


class UnreadableLength(EngineError):
    """The text is not a length; `.reason` says what is wrong in words for the person who typed it."""

    def __init__(self, text: str, reason: str) -> None:
        super().__init__(f"{text!r}: {reason}")
        self.text = text
        self.reason = reason


def parse_length_in(text: str) -> float:
    """The length in inches that `text` says: feet, inches and fractions, decimal inches, or metric.

    Accepts 12' 3 1/2", 12-3 1/2 (feet-inches), 3 1/2, 3-1/2 (inches), 147.5, 3.75 m, 37.5 cm, 95 mm.
    Raises UnreadableLength for anything else, for a negative length, and for one above 100 ft.
    """
    if len(text) > _LONGEST_TEXT:
        raise UnreadableLength(text[:_LONGEST_TEXT], f"This is too long for a length. Write it like {EXAMPLES}.")
    cleaned = text.strip().translate(_MARKS)
    for sign, words in _VULGAR.items():
        cleaned = re.sub(rf"\s*{sign}", f" {words}", cleaned)
    cleaned = re.sub(r"\s+", " ", cleaned).strip()
    if not cleaned:
        raise UnreadableLength(text, f"Nothing was entered. Write it like {EXAMPLES}.")
    if cleaned.startswith("-"):
        raise UnreadableLength(text, "A length cannot be negative.")
    value_in = _value_in(text, cleaned)
    if value_in > _LARGEST_IN:
        raise UnreadableLength(text, f"{format_feet_inches(value_in)} is longer than the 100 ft taken. Check the unit.")
    return value_in


def _value_in(text: str, cleaned: str) -> float:
    if metric := _METRIC.match(cleaned):
        per_unit_mm = {"mm": 1.0, "cm": 10.0, "m": 1000.0}[metric["unit"].lower()]
        return float(metric["value"]) * per_unit_mm / MM_PER_IN
    if feet := _FEET.match(cleaned):
        return float(feet["feet"]) * 12 + _rest_in(text, feet["rest"], with_feet=True)
    if (dash := _FEET_DASH.match(cleaned)) and not _MIXED.match(_INCH_MARK.sub("", cleaned)):
        return int(dash["feet"]) * 12 + _rest_in(text, dash["rest"], with_feet=True)
    return _rest_in(text, cleaned, with_feet=False)


def _rest_in(text: str, rest: str, *, with_feet: bool) -> float:
    inches = _INCH_MARK.sub("", rest.strip()).strip()
    if not inches:
        if with_feet:
            return 0.0
        raise UnreadableLength(text, f"No number in it. Write it like {EXAMPLES}.")
    if _PLAIN.match(inches):
        value_in = float(inches)
    elif mixed := _MIXED.match(inches):
        denominator = int(mixed["den"])
        if denominator == 0:
            raise UnreadableLength(text, "A fraction cannot have 0 below the line.")
        if int(mixed["num"]) >= denominator and mixed["whole"]:
            raise UnreadableLength(text, f"The fraction {mixed['num']}/{mixed['den']} is 1 or more; check it.")
        value_in = float(int(mixed["whole"] or 0) + Fraction(int(mixed["num"]), denominator))
    else:
        raise UnreadableLength(text, f"This cannot be read as a length. Write it like {EXAMPLES}.")
    if with_feet and value_in >= 12:
        raise UnreadableLength(text, "After the feet, inches must be below 12.")
    return value_in


def format_inches(value_in: float) -> str:
    """Inches to the nearest sixteenth: `9 1/4"`, `0"`, `3/8"`."""
    return _sixteenths(value_in, feet=False)


def format_feet_inches(value_in: float) -> str:
    """Feet and inches to the nearest sixteenth: `12' 3 1/2"`; below a foot only inches: `9 1/4"`."""
    return _sixteenths(value_in, feet=True)


def format_metric(value_in: float) -> str:
    """Whole millimetres below a metre, else metres to the millimetre: `235 mm`, `3.747 m`."""
    millimetres = value_in * MM_PER_IN
    return f"{millimetres:.0f} mm" if abs(millimetres) < 999.5 else f"{millimetres / 1000:.3f} m"


def _sixteenths(value_in: float, *, feet: bool) -> str:
    sign = "-" if value_in < 0 else ""
    sixteenths = round(abs(value_in) * 16)
    whole, part = divmod(sixteenths, 16)
    fraction = Fraction(part, 16)
    feet_count, inches = divmod(whole, 12) if feet else (0, whole)
    words = f"{fraction.numerator}/{fraction.denominator}" if part else ""
    inches_text = f"{inches} {words}".strip() if inches and words else (words or str(inches))
    if feet_count:
        return f"{sign}{feet_count}' {inches_text}\"" if (inches or words) else f"{sign}{feet_count}'"
    return f'{sign}{inches_text}"'
