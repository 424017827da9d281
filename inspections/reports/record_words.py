"""What a frozen record holds, as the trade writes it."""

from collections.abc import Mapping
from typing import Any

from inspections.survey.templatetags.judgement import quantity

_UNITS = ("_in", "_lb", "_psf", "_percent", "_sqft")


def figure(value: float | None) -> str:
    """A number with as many digits as a reader can use."""
    if value is None:
        return "no limit"
    if value == int(value) and abs(value) < 1e6:
        return f"{int(value):,}"
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def reading(row: Mapping[str, Any]) -> str:
    """What was read, with its unit."""
    value, unit = row["value"], row["unit"]
    if value is None:
        return "not reachable"
    if isinstance(value, Mapping):  # not sure which: one of these
        return " or ".join(reading({**row, "value": each}) for each in value["one_of"])
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(quantity(each, unit) for each in value)
    if isinstance(value, (int, float)):
        if unit == "fraction":
            return f"{figure(round(value * 100, 1))} %"
        return quantity(value, unit) if unit else figure(value)
    return str(value)


def fact_words(name: str) -> str:
    """A fact's name without its unit: `joist_span_in` -> "joist span"; `is_incised` -> "incised"."""
    for unit in _UNITS:
        name = name.removesuffix(unit)
    return name.removeprefix("is_").replace("_", " ")
