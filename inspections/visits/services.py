"""What can be done with a visit. Asked for, booked, under way, handed in, perhaps sent back and handed in again,
released; or called off. Release is `inspections.reports.services.issue_report`.
"""

from inspections.visits.asking import ask_for_visit, give_time, give_time_up, note_what_suits
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
    "ask_for_visit",
    "begin",
    "book_again",
    "book_visit",
    "call_off",
    "confirm",
    "find_gaps",
    "give_time",
    "give_time_up",
    "hand_in",
    "move_visit",
    "note_what_suits",
    "put_back",
    "send_back",
]
