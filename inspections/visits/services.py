"""What can be done with a visit. Booked, under way, handed in, perhaps sent back and handed in again, released; or
called off. Release is `inspections.reports.services.issue_report`.
"""

from inspections.visits.booking import book_again, book_visit, call_off, confirm, move_visit
from inspections.visits.gaps import find_gaps
from inspections.visits.refusals import (
    ChangedMeanwhile,
    Gap,
    InspectorBusy,
    NoSuchTime,
    NotAnInspector,
    NotReady,
    NotYours,
    OnDayOff,
    OutsideHours,
    ReasonMissing,
    Refused,
    StartsInThePast,
    WrongState,
)
from inspections.visits.stages import begin, hand_in, put_back, send_back

__all__ = [
    "ChangedMeanwhile",
    "Gap",
    "InspectorBusy",
    "NoSuchTime",
    "NotAnInspector",
    "NotReady",
    "NotYours",
    "OnDayOff",
    "OutsideHours",
    "ReasonMissing",
    "Refused",
    "StartsInThePast",
    "WrongState",
    "begin",
    "book_again",
    "book_visit",
    "call_off",
    "confirm",
    "find_gaps",
    "hand_in",
    "move_visit",
    "put_back",
    "send_back",
]
