"""Why a drawing failed, in words for whoever can help, and what to do about it."""

from inspections.reports.models import ReportBuild

# What the error says -> what a person can do. The first that fits.
_ADVICE = (
    ("is gone", "A file of the report is missing. Put the media folder back from the last backup, then try again."),
    ("is not what was issued", "A file was changed on the disk. Put it back from the last backup, then try again."),
    ("not of this report", "The record holds an address that no report may open. Reopen the record and take it out."),
    ("no space left", "The disk of the server is full. Make room, then try again."),
    ("disk is full", "The disk of the server is full. Make room, then try again."),
    ("memoryerror", "The server ran out of memory. Let other drawings finish, then try again."),
    (
        "stopped in the middle",
        "The worker was killed each time, as by a lack of memory. Look at its log, then try again.",
    ),
    ("operationalerror", "The database did not answer. Try again in a minute."),
)
_ELSE = "Try again. If it fails once more, give this page to the person who looks after the server."


def what_to_do(build: ReportBuild) -> str:
    """The advice for a drawing that failed; empty for one that did not."""
    if build.state != ReportBuild.State.FAILED:
        return ""
    error = build.error.lower()
    return next((advice for words, advice in _ADVICE if words in error), _ELSE)
