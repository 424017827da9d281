"""Published editions: each table and rule of a code or guide, answered with its citation and how well it is known.

A value between two rows is never interpolated: the next stricter row answers and the note says so. A case that the
edition does not list raises NotPublished, one past the end of a table OutOfRange. Local amendments and the firm's own
confirmations lie on top of the rules.

A room for each subject: `joists`, `beams`, `posts` (with footings), `ledgers` (with decking), `rules`; `rows` finds
the row that answers, `base` knows which table of which edition answers what.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from engine.codes.base import Amends, Confirms, questions
from engine.codes.beams import BeamTables
from engine.codes.joists import JoistTables
from engine.codes.ledgers import LedgerTables
from engine.codes.posts import PostTables, PublishedFooting
from engine.codes.rows import Published
from engine.errors import OutOfRange

__all__ = ["Edition", "Published", "PublishedFooting", "edition", "editions"]


class Edition(JoistTables, BeamTables, PostTables, LedgerTables):
    """One edition; make it with `edition(...)`."""


def editions() -> list[str]:
    """The names of the editions that are held, in the order of the data file."""
    return list(dict.fromkeys(name for name, _ in questions()))


def _find_edition(name: str) -> str:
    plain = re.sub(r"[^a-z0-9]", "", name.lower()) if isinstance(name, str) else ""
    if plain in ("dca6", "awcdca6", "awcdca62012"):
        plain = "dca62012"
    for known in editions():
        if re.sub(r"[^a-z0-9]", "", known.lower()) == plain:
            return known
    raise OutOfRange("edition", name, "one of " + ", ".join(editions()))


def edition(name: str, amendments: Iterable[Amends] = (), confirmations: Iterable[Confirms] = ()) -> Edition:
    """The edition of that name (`IRC 2021`, `DCA 6`), with local amendments and the firm's confirmations on top.

    A confirmation's key is a rule's key, the name of a table (`joist_spans_irc_2021`), or one row of a table
    (`joist_spans_irc_2021.17`, as `python -m engine sources` numbers them).
    Raises OutOfRange with the names that are held.
    """
    return Edition(_find_edition(name), tuple(amendments), frozenset(each.key for each in confirmations))
