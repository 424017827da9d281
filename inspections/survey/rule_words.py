"""The engine names a published value by its key in the rules table; a reader gets the rule's own sentence."""

import re
from functools import cache

from engine.tables import load

_KEYED = re.compile(r"(?P<key>[a-z_]+(?:\.[a-z0-9_]+)+) = (?P<value>\S+) (?P<unit>[^()]+?)(?P<rest> \(.*\))?")
_NAMED = re.compile(r"(?P<key>[a-z_]+(?:\.[a-z0-9_]+)+): (?P<rest>.+)", re.DOTALL)
_BARE = ("-", "yes/no")  # a rule of these has no unit to print


def in_words(text: str) -> str:
    """ "guard_post.max_spacing = 72 in (DCA 6)" as the rule says it, with value and source; other texts unchanged.

    Of "guard_post.max_spacing: post to post", an assumption, the key goes and the sentence stays.
    """
    if (named := _NAMED.fullmatch(text)) and named["key"] in _rules():
        return named["rest"]
    found = _KEYED.fullmatch(text)
    rule = _rules().get(found["key"]) if found else None
    if not found or not rule:
        return text
    source = found["rest"] or ""
    if found["unit"] == "yes/no":
        return f"{rule}{source}"
    unit = "" if found["unit"] in _BARE else f" {found['unit']}"
    return f"{rule}: {found['value']}{unit}{source}"


@cache
def _rules() -> dict[str, str]:
    return {str(row["key"]): str(row["rule"]) for row in load("rules").rows}
