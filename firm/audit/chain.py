"""The hash chain of the audit trail: a line that is changed, removed or slipped in later no longer fits.

Two digests stand in every line. `content_sha256` covers what the line says; `sha256` covers the digest of the line
before it and this line's content: SHA-256 of both as hexadecimal text, one after the other. The first line follows
`START`. `position` counts from 1 without a gap.

On SQLite the writer of a line holds the database for itself, so Python chains it as it is written. On PostgreSQL a
trigger chains it at the commit, under a lock (see `triggers`).
"""

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any, NamedTuple, Protocol

from django.core.serializers.json import DjangoJSONEncoder

START = "0" * 64


class Line(Protocol):
    at: datetime
    by_id: int | None
    verb: str
    subject_type: str
    subject_id: str
    subject_label: str
    before: Any
    after: Any
    position: int | None
    content_sha256: str
    sha256: str


class Misfit(NamedTuple):
    """The first line that does not fit, and why in words."""

    pk: int | None
    position: int
    why: str


class Verdict(NamedTuple):
    lines: int
    sha256: str  # of the last line: whoever noted it elsewhere can tell a trail that was cut short
    misfit: Misfit | None


def content_digest(line: Line) -> str:
    """SHA-256 of what the line says, the same whichever database kept it."""
    told = [
        line.at.astimezone(UTC).isoformat(timespec="microseconds"),
        line.by_id,
        line.verb,
        line.subject_type,
        line.subject_id,
        line.subject_label,
        plain(line.before),
        plain(line.after),
    ]
    return hashlib.sha256(json.dumps(told, sort_keys=True, separators=(",", ":")).encode("ascii")).hexdigest()


def link_digest(previous_sha256: str, content_sha256: str) -> str:
    return hashlib.sha256(f"{previous_sha256}{content_sha256}".encode("ascii")).hexdigest()


def plain(value: Any) -> Any:
    """The value as it comes back from a JSON column of either kind: PostgreSQL keeps 12.0 and 1e22 as it likes."""
    return _whole(json.loads(json.dumps(value, cls=DjangoJSONEncoder)))


def _whole(value: Any) -> Any:
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, list):
        return [_whole(one) for one in value]
    if isinstance(value, dict):
        return {key: _whole(one) for key, one in value.items()}
    return value


def verify(lines: Iterator[Line]) -> Verdict:
    """Go along the chain. `lines` come in the order of their position, those without one last."""
    count, previous = 0, START
    for line in lines:
        misfit = _misfit(line, count + 1, previous)
        if misfit:
            return Verdict(count, previous, misfit)
        count, previous = count + 1, line.sha256
    return Verdict(count, previous, None)


def _misfit(line: Any, position: int, previous_sha256: str) -> Misfit | None:
    if line.position is None:
        return Misfit(line.pk, position, "it was put in past the application and is no part of the chain")
    if line.position != position:
        missing = line.position - position
        gap = f"{missing} lines before it are missing" if missing > 1 else "the line before it is missing"
        return Misfit(line.pk, position, gap if missing > 0 else "its place in the chain is taken twice")
    if content_digest(line) != line.content_sha256:
        return Misfit(line.pk, position, "what it says was changed after it was written")
    if link_digest(previous_sha256, line.content_sha256) != line.sha256:
        return Misfit(line.pk, position, "it does not follow the line before it")
    return None
