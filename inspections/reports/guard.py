"""What the database itself does for issued reports: no change but the drawing of the PDF, once; no deletion.

`put` and `lift` are for the migration, for a restore and for tests. A later migration that makes the table anew on
SQLite loses the triggers with the old table: it must put them again. A test looks.
"""

from typing import Any

TABLE = "reports_report"
FINAL = (
    "visit_id", "version", "supersedes_id", "what_changed", "changes", "snapshot", "snapshot_sha256", "issued_at",
    "issued_by_id", "kept_until",
)  # fmt: skip
DRAWN_ONCE = ("pdf", "pdf_sha256")
SAYS = "an issued report is never changed or deleted"

_POSTGRESQL_CHANGED = " OR ".join(
    [f"OLD.{name}::text IS DISTINCT FROM NEW.{name}::text" for name in FINAL]
    + [f"(OLD.{name} <> '' AND OLD.{name} <> NEW.{name})" for name in DRAWN_ONCE]
)
_SQLITE_CHANGED = " OR ".join(
    [f"OLD.{name} IS NOT NEW.{name}" for name in FINAL]
    + [f"(OLD.{name} <> '' AND OLD.{name} <> NEW.{name})" for name in DRAWN_ONCE]
)
_POSTGRESQL_PUT = [
    f"""CREATE OR REPLACE FUNCTION report_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION '{SAYS}'; END $$""",
    f"""CREATE TRIGGER report_keeps_update BEFORE UPDATE ON {TABLE} FOR EACH ROW
        WHEN ({_POSTGRESQL_CHANGED}) EXECUTE FUNCTION report_refuse()""",
    f"CREATE TRIGGER report_keeps_delete BEFORE DELETE ON {TABLE} FOR EACH ROW EXECUTE FUNCTION report_refuse()",
]
_POSTGRESQL_LIFT = [f"DROP TRIGGER IF EXISTS report_keeps_{word} ON {TABLE}" for word in ("update", "delete")]
_SQLITE_PUT = [
    f"""CREATE TRIGGER report_keeps_update BEFORE UPDATE ON {TABLE} WHEN {_SQLITE_CHANGED}
        BEGIN SELECT RAISE(ABORT, '{SAYS}'); END""",
    f"CREATE TRIGGER report_keeps_delete BEFORE DELETE ON {TABLE} BEGIN SELECT RAISE(ABORT, '{SAYS}'); END",
]
_SQLITE_LIFT = [f"DROP TRIGGER IF EXISTS report_keeps_{word}" for word in ("update", "delete")]


def put(connection: Any) -> None:
    _run(connection, _POSTGRESQL_PUT, _SQLITE_PUT)


def lift(connection: Any) -> None:
    """Take the triggers away: whoever does so must put them back."""
    _run(connection, _POSTGRESQL_LIFT, _SQLITE_LIFT)


def _run(connection: Any, postgresql: list[str], sqlite: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in postgresql if connection.vendor == "postgresql" else sqlite:
            cursor.execute(statement)
