"""What the database itself does for the audit trail: it refuses changes, and on PostgreSQL it chains the lines.

`put` and `lift` are for the migration, for a restore and for tests; nothing else takes the guard away.

On PostgreSQL the line is chained by a deferred trigger, which runs at the commit. A lock that was taken where the line
is written would be held until the commit, so every other writer would wait for the slowest service, and two that lock
rows in between would wait for each other for ever. For the same reason it takes two steps: the deferred checks of
foreign keys wait for rows that others hold, and those that are still to come when the lock is taken would wait with it
in their hand. So the first trigger only touches the line, which puts the second one behind every check of the
transaction; and the second takes the lock and chains. The guard lets through exactly these two updates of a line that
has no place yet.
"""

from typing import Any

TABLE = "audit_auditentry"
LOCK = 7_308_604  # any number will do, if all writers use the same one

POSTGRESQL_PUT = f"""
CREATE OR REPLACE FUNCTION audit_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF OLD.position IS NULL
           AND (to_jsonb(OLD) - 'position' - 'sha256') = (to_jsonb(NEW) - 'position' - 'sha256') THEN
            RETURN NEW;
        END IF;
    END IF;
    RAISE EXCEPTION 'the audit trail is only ever added to';
END $$;

CREATE OR REPLACE FUNCTION audit_chain_later() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE {TABLE} SET position = NULL WHERE id = NEW.id AND position IS NULL;
    RETURN NULL;
END $$;

CREATE OR REPLACE FUNCTION audit_chain() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last_position bigint;
    last_sha256 text;
BEGIN
    PERFORM pg_advisory_xact_lock({LOCK});
    SELECT position, sha256 INTO last_position, last_sha256
      FROM {TABLE} WHERE position IS NOT NULL ORDER BY position DESC LIMIT 1;
    UPDATE {TABLE}
       SET position = coalesce(last_position, 0) + 1,
           sha256 = encode(sha256(convert_to(coalesce(last_sha256, repeat('0', 64)) || content_sha256, 'UTF8')), 'hex')
     WHERE id = NEW.id AND position IS NULL;
    RETURN NULL;
END $$;

CREATE TRIGGER audit_keeps_lines BEFORE UPDATE OR DELETE ON {TABLE}
    FOR EACH ROW EXECUTE FUNCTION audit_refuse();
CREATE TRIGGER audit_keeps_table BEFORE TRUNCATE ON {TABLE}
    FOR EACH STATEMENT EXECUTE FUNCTION audit_refuse();
CREATE CONSTRAINT TRIGGER audit_zz_chain AFTER INSERT ON {TABLE}
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION audit_chain_later();
CREATE CONSTRAINT TRIGGER audit_zz_chain_last AFTER UPDATE ON {TABLE}
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN (NEW.position IS NULL) EXECUTE FUNCTION audit_chain();
"""  # noqa: S608  the only words put in are the two constants above
POSTGRESQL_LIFT = f"""
DROP TRIGGER IF EXISTS audit_keeps_lines ON {TABLE};
DROP TRIGGER IF EXISTS audit_keeps_table ON {TABLE};
DROP TRIGGER IF EXISTS audit_zz_chain ON {TABLE};
DROP TRIGGER IF EXISTS audit_zz_chain_last ON {TABLE};
"""
SQLITE_PUT = [
    f"""CREATE TRIGGER audit_keeps_{word.lower()} BEFORE {word} ON {TABLE}
        BEGIN SELECT RAISE(ABORT, 'the audit trail is only ever added to'); END"""
    for word in ("UPDATE", "DELETE")
]
SQLITE_LIFT = [f"DROP TRIGGER IF EXISTS audit_keeps_{word}" for word in ("update", "delete")]


def put(connection: Any) -> None:
    """Set the triggers. In a transaction on PostgreSQL, deferred checks of audit lines must have run before."""
    _run(connection, [POSTGRESQL_PUT], SQLITE_PUT)


def lift(connection: Any) -> None:
    """Take the triggers away: whoever does so must put them back."""
    _run(connection, [POSTGRESQL_LIFT], SQLITE_LIFT)


def _run(connection: Any, postgresql: list[str], sqlite: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in postgresql if connection.vendor == "postgresql" else sqlite:
            cursor.execute(statement)
