"""Placeholders put into a text. No template engine: a name between braces is replaced, once, and nothing is run."""

import re
from collections.abc import Mapping

from firm.letters.kinds import Kind

_PLACEHOLDER = re.compile(r"\{([^{}\n]*)\}")


def fill(text: str, values: Mapping[str, str]) -> str:
    """The text with each `{name}` that `values` knows replaced. What is put in is not read again."""
    return _PLACEHOLDER.sub(lambda found: values.get(found[1], found[0]), text)


def fill_line(text: str, values: Mapping[str, str]) -> str:
    """As `fill`, on one line: a line break in a mail's subject would write headers of its own."""
    return " ".join(fill(text, values).split())


def faults(text: str, kind: Kind) -> list[str]:
    """What is wrong with the placeholders of a text, as sentences."""
    found = []
    known = ", ".join(f"{{{name}}}" for name in kind.placeholders)
    for name in dict.fromkeys(_PLACEHOLDER.findall(text)):
        if name not in kind.placeholders:
            found.append(f"{{{name}}} is not known here. Known are {known}.")
    if re.search(r"[{}]", _PLACEHOLDER.sub("", text)):
        found.append(f"A brace stands alone. A placeholder has one on each side. Known are {known}.")
    return found


def missing(text: str, kind: Kind) -> list[str]:
    return sorted(kind.needed - set(_PLACEHOLDER.findall(text)))
