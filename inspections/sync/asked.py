"""What a tablet asks for, read and checked: nothing in it may be believed to be of the right kind."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.utils import timezone
from django.utils.dateparse import parse_datetime

from inspections.survey.services import Unreadable

OLDEST = timedelta(days=90)  # an entry may wait on a tablet that long; a clock that says more is wrong
_LONGEST = 5000


class Malformed(ValueError):
    """What was sent is no operation at all, so there is nothing to answer to."""


@dataclass(frozen=True)
class Asked:
    """One operation as the tablet sent it. `at` is when it was made, by our clock."""

    id: UUID
    kind: str
    visit_id: int
    payload: Mapping[str, object]
    follows: UUID | None
    made_at: datetime | None
    at: datetime
    skew_s: int

    def text(self, name: str, *, default: str = "") -> str:
        """Raises Unreadable for what is no text."""
        value = self.payload.get(name, default)
        if not is_plain_text(value):
            raise Unreadable("This entry could not be read. Type it again.")
        return value

    def id_of(self, name: str) -> UUID:
        try:
            return UUID(self.text(name))
        except ValueError as error:
            raise Unreadable("This entry could not be read. Type it again.") from error

    def texts(self, name: str) -> dict[str, str]:
        """A table of texts. Raises Unreadable."""
        value = self.payload.get(name, {})
        if not isinstance(value, dict) or not all(map(is_plain_text, [*value, *value.values()])):
            raise Unreadable("This entry could not be read. Type it again.")
        return value


def is_plain_text(value: object) -> bool:
    """Text that every database takes: not overlong, no NUL, no half of a surrogate pair."""
    return isinstance(value, str) and len(value) <= _LONGEST and _storable(value) == value


def storable(value: object) -> object:
    """The same data with what no database takes replaced, so that also an entry that was refused can be kept."""
    if isinstance(value, str):
        return _storable(value)
    if isinstance(value, dict):
        return {_storable(str(name)): storable(one) for name, one in value.items()}
    return [storable(one) for one in value] if isinstance(value, list) else value


def _storable(text: str) -> str:
    return text.replace("\x00", "\ufffd").encode("utf-8", "replace").decode()


def read_asked(sent: object, sent_at: datetime | None) -> Asked:
    """Raises Malformed where there is no id to answer to."""
    if not isinstance(sent, dict):
        raise Malformed
    try:
        operation, visit = UUID(str(sent["id"])), int(sent["visit"])
        follows = UUID(str(sent["follows"])) if sent.get("follows") else None
    except (KeyError, ValueError, TypeError) as error:
        raise Malformed from error
    if not 0 < visit < 2**31:
        raise Malformed
    payload = sent.get("payload")
    now = timezone.now()
    made_at = read_moment(sent.get("made_at"))
    skew = now - sent_at if sent_at else timedelta()
    skew_s = max(-(2**31), min(2**31 - 1, round(skew.total_seconds())))
    kind = _storable(str(sent.get("kind", "")))[:20]
    return Asked(
        operation, kind, visit, payload if isinstance(payload, dict) else {}, follows,
        made_at, our_time(made_at, skew, now), skew_s,
    )  # fmt: skip


def our_time(made_at: datetime | None, skew: timedelta, now: datetime) -> datetime:
    """When something was made, by our clock: the tablet's, put right by how far it was off when it sent.

    Where that gives a time to come, or one too long ago, the clock was changed in between: our own time is taken.
    """
    if made_at is None:
        return now
    try:
        at = made_at + skew
    except OverflowError:
        return now
    return at if now - OLDEST < at <= now else now


def read_moment(text: object) -> datetime | None:
    if not isinstance(text, str):
        return None
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None
    return moment if moment is not None and moment.tzinfo is not None else None
