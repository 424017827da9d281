"""The audit trail: who did what to which record, and what it was before. `audit.record(by, "released", report)`."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from firm.audit.models import AuditEntry


def record(
    by: Any, verb: str, subject: Any, before: dict[str, Any] | None = None, after: dict[str, Any] | None = None
) -> "AuditEntry":
    """Write one line, in the caller's transaction: if the change is rolled back, so is its line.

    `by` is the User, or None when the application itself acted. `before` and `after` hold only what changed.
    Raises ValueError if `subject` is not saved yet, or `verb` is empty.
    """
    from firm.audit.models import AuditEntry  # models cannot be imported while the apps are still loading

    return AuditEntry.write(by, verb, subject, before, after)
