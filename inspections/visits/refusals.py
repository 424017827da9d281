"""Why a visit cannot be booked, moved or brought a step further. Each says so in words for the person who tried."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inspections.visits.models import Visit


class Refused(Exception):
    """Base of every refusal of this room; `str()` of it is a sentence to show."""


class StartsInThePast(Refused):
    """The time asked for is over."""


class NoSuchTime(Refused):
    """The clock is put forward over this time, so it never comes."""


class NotAnInspector(Refused):
    """The person does not record inspections, or no longer works here."""


class InspectorBusy(Refused):
    """The inspector is elsewhere, or on the way; `.other_visit` is the visit that is in the way."""

    def __init__(self, other_visit: "Visit", words: str) -> None:
        super().__init__(words)
        self.other_visit = other_visit


class OnDayOff(Refused):
    """The inspector is off that day, or nobody in the firm goes out."""


class OutsideHours(Refused):
    """The inspector does not work at that hour, or not on that day of the week."""


class ChangedMeanwhile(Refused):
    """Somebody else changed the visit since this person looked at it."""


class WrongState(Refused):
    """The visit is not at the step from which this could be done."""


class NotYours(Refused):
    """Only the visit's own inspector may do this."""


class ReasonMissing(Refused):
    """A step that others must understand later was asked for without a reason."""


@dataclass(frozen=True)
class Gap:
    """One thing that keeps a record from being handed in, as a sentence, and the page on which it is put right."""

    words: str
    url: str = ""


class NotReady(Refused):
    """The record still has gaps; `.gaps` lists them."""

    def __init__(self, gaps: list[Gap]) -> None:
        super().__init__(" ".join(gap.words for gap in gaps))
        self.gaps = gaps
