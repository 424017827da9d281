"""The database itself keeps agreements and acceptances as they were written. See `inspections.reports.guard`."""

from typing import Any

TABLES = ("outside_agreement", "outside_acceptance")
SAYS = "what a client accepted is never changed or deleted"


def put(connection: Any) -> None:
    _run(connection, _put_postgresql() if connection.vendor == "postgresql" else _put_sqlite())


def lift(connection: Any) -> None:
    """Take the triggers away: whoever does so must put them back."""
    on = connection.vendor == "postgresql"
    _run(connection, [f"DROP TRIGGER IF EXISTS {name}{f' ON {table}' if on else ''}" for name, table, _ in _triggers()])


def _triggers() -> list[tuple[str, str, str]]:
    return [(f"{table}_keeps_{verb.lower()}", table, verb) for table in TABLES for verb in ("UPDATE", "DELETE")]


def _put_postgresql() -> list[str]:
    refuse = f"""CREATE OR REPLACE FUNCTION accepted_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION '{SAYS}'; END $$"""
    return [refuse] + [
        f"CREATE TRIGGER {name} BEFORE {verb} ON {table} FOR EACH ROW EXECUTE FUNCTION accepted_refuse()"
        for name, table, verb in _triggers()
    ]


def _put_sqlite() -> list[str]:
    return [
        f"CREATE TRIGGER {name} BEFORE {verb} ON {table} BEGIN SELECT RAISE(ABORT, '{SAYS}'); END"
        for name, table, verb in _triggers()
    ]


def _run(connection: Any, statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
