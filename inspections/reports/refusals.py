"""Why a report is not issued, or a link not made: words for the person who asked.

A gap in the record is `NotReady`, a visit at the wrong step `WrongState`; both are the visits' own.
"""

from inspections.visits.refusals import Gap, NotReady, ReasonMissing, Refused, WrongState

__all__ = ["Gap", "NoReportYet", "NotReady", "NothingChanged", "ReasonMissing", "Refused", "WrongState"]


class NothingChanged(Refused):
    """A corrected version was asked for, but the record is what it was."""


class NoReportYet(Refused):
    """A link was asked for, but the visit has no issued report."""
