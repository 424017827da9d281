"""Which rules and tables there are to amend or confirm.

The names are the engine's, which the firm does not know: whoever does (`inspections.survey`) tells this room when the
application starts. Until then only the form of a key is checked.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Known:
    """A rule or table: what it is in words, its value as published ("" for a table), its unit and its citation.

    `is_read` says whether any check judges by it: an amendment of another one would change nothing.
    """

    key: str
    words: str
    value: str = ""
    unit: str = ""
    citation: str = ""
    is_table: bool = False
    is_read: bool = True


_tellers: list[Callable[[], Mapping[str, Known]]] = []


def tell_keys(teller: Callable[[], Mapping[str, Known]]) -> None:
    """Have `teller` asked, each time, for every rule that is a number and every table."""
    if teller not in _tellers:
        _tellers.append(teller)


def known_keys() -> dict[str, Known]:
    """Key -> what it is; empty if nobody has told."""
    found: dict[str, Known] = {}
    for teller in _tellers:
        found.update(teller())
    return found


def known_rules() -> dict[str, Known]:
    """Those that have a number of their own which a check judges by, so that a place may amend it."""
    return {key: one for key, one in known_keys().items() if not one.is_table and one.is_read}
