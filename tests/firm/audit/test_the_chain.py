"""The trail as evidence: what was done to it past the application comes to light."""

import hashlib
import json
import threading
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, connections, transaction
from django.db.migrations.executor import MigrationExecutor

from firm import audit
from firm.audit import chain, triggers
from firm.audit.models import AuditEntry, Unalterable
from firm.people.models import User


def commit_now():
    """What the commit does on PostgreSQL: the deferred trigger runs and chains the lines."""
    connection.check_constraints()


@pytest.fixture
def trail(manager, inspector):
    for number in range(5):
        audit.record(manager, f"step {number}", inspector, {"load_psf": number}, {"load_psf": number + 0.5})
    commit_now()
    return list(AuditEntry.objects.order_by("position"))


def tamper(sql, *words):
    """Somebody with the keys to the database, who takes the guard away first."""
    triggers.lift(connection)
    with connection.cursor() as cursor:
        cursor.execute(sql, words)
    triggers.put(connection)


def test_the_first_digest_is_what_sha256_of_the_told_gives(manager, inspector):
    """Computed here once more by hand, from the words of the docstring alone."""
    line = audit.record(manager, "booked", inspector, after={"day": "2026-04-07", "b": 1.5})
    commit_now()
    line.refresh_from_db()
    at = line.at.astimezone(UTC).isoformat(timespec="microseconds")
    told = [at, manager.pk, "booked", "people.user", str(inspector.pk), "inspector", None, line.after]
    text = json.dumps(told, sort_keys=True, separators=(",", ":"))
    content = hashlib.sha256(text.encode()).hexdigest()
    assert line.position == 1
    assert line.sha256 == hashlib.sha256(("0" * 64 + content).encode()).hexdigest()


def test_every_line_follows_the_one_before(trail):
    assert [line.position for line in trail] == [1, 2, 3, 4, 5]
    for before, line in pairwise(trail):
        assert line.sha256 == chain.link_digest(before.sha256, line.content_sha256)
    verdict = AuditEntry.objects.verify()
    assert verdict == (5, trail[-1].sha256, None)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("verb", "never happened"),
        ("subject_label", "another house"),
        ("subject_id", "999"),
        ("after", '{"load_psf": 99}'),
        ("by_id", None),
        ("at", datetime(2020, 1, 1, tzinfo=UTC)),
    ],
)
def test_a_line_that_was_changed_is_named(trail, column, value):
    tamper(f"UPDATE audit_auditentry SET {column} = %s WHERE id = %s", value, trail[2].pk)
    misfit = AuditEntry.objects.verify().misfit
    assert (misfit.pk, misfit.position, misfit.why) == (trail[2].pk, 3, "what it says was changed after it was written")


def test_a_line_changed_together_with_its_own_digest_is_named_all_the_same(trail):
    line = trail[2]
    line.verb = "never happened"
    tamper(
        "UPDATE audit_auditentry SET verb = %s, content_sha256 = %s WHERE id = %s",
        line.verb,
        chain.content_digest(line),
        line.pk,
    )
    assert AuditEntry.objects.verify().misfit == (line.pk, 3, "it does not follow the line before it")


def test_a_removed_line_leaves_a_gap(trail):
    tamper("DELETE FROM audit_auditentry WHERE id = %s", trail[1].pk)
    assert AuditEntry.objects.verify().misfit == (trail[2].pk, 2, "the line before it is missing")


def test_a_line_that_was_slipped_in_is_no_part_of_the_chain(trail):
    tamper(
        "INSERT INTO audit_auditentry (at, verb, subject_type, subject_id, subject_label, content_sha256, sha256)"
        " VALUES (%s, 'released', 'people.user', '1', 'x', '', '')",
        datetime(2026, 1, 1, tzinfo=UTC),
    )
    assert "past the application" in AuditEntry.objects.verify().misfit.why


def test_a_trail_that_was_cut_short_lacks_the_digest_noted_before(trail, capsys):
    call_command("verify_audit")
    noted = capsys.readouterr().out.split()[-1]
    assert noted == trail[-1].sha256
    call_command("verify_audit", "--holds", noted)
    tamper("DELETE FROM audit_auditentry WHERE id = %s", trail[-1].pk)
    call_command("verify_audit")
    with pytest.raises(CommandError, match="no longer in it"):
        call_command("verify_audit", "--holds", noted)


def test_the_command_names_the_first_line_that_does_not_fit(trail):
    tamper("UPDATE audit_auditentry SET verb = 'x' WHERE id >= %s", trail[3].pk)
    with pytest.raises(CommandError, match=rf"Line 4 of the audit trail \(row {trail[3].pk}\) does not fit"):
        call_command("verify_audit")


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE audit_auditentry SET verb = 'never happened'",
        "UPDATE audit_auditentry SET sha256 = '0', position = 77",
        "DELETE FROM audit_auditentry",
    ],
)
def test_the_database_itself_refuses(trail, sql):
    with pytest.raises(DatabaseError, match="only ever added to"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
    assert AuditEntry.objects.verify() == (5, trail[-1].sha256, None)


@pytest.mark.services  # SQLite knows no TRUNCATE; its DELETE is refused above
def test_postgresql_refuses_to_empty_the_table(trail):
    assert connection.vendor == "postgresql"
    with pytest.raises(DatabaseError, match="only ever added to"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("TRUNCATE audit_auditentry")


def test_lines_are_not_written_in_bulk(manager):
    with pytest.raises(Unalterable):
        AuditEntry.objects.bulk_create([AuditEntry(verb="x")])


@pytest.mark.parametrize(
    "value", [12.0, 1e22, -0.0, 0.1, 1.5e-7, 2**53, "ü \u2028", [1.0, {"b": None, "a": True}], {}, None]
)
def test_a_value_reads_back_with_the_same_digest(manager, inspector, value):
    audit.record(manager, "measured", inspector, {"was": value}, {"now": value})
    commit_now()
    assert AuditEntry.objects.verify().misfit is None


@pytest.mark.django_db(transaction=True)
def test_writers_at_the_same_time_make_one_chain_without_a_fork(make_person):
    people = [make_person("inspector", username=f"writer {number}") for number in range(4)]
    failed = []

    def write(person):
        try:
            for number in range(15):
                with transaction.atomic():
                    # Each touches its own row and then another's: with a lock held from the line to the commit,
                    # two of them would wait for each other.
                    audit.record(person, f"step {number}", person)
                    User.objects.filter(pk=people[number % 4].pk).update(phone=str(number))
                    audit.record(person, f"after step {number}", person)
        except Exception as error:
            failed.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=write, args=[person]) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    verdict = AuditEntry.objects.verify()
    assert (verdict.lines, verdict.misfit) == (120, None)


@pytest.mark.django_db(transaction=True)
def test_a_rolled_back_line_leaves_no_gap(make_person):
    person = make_person("manager")
    audit.record(person, "first", person)
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        audit.record(person, "never", person)
        1 / 0  # noqa: B018
    audit.record(person, "second", person)
    assert list(AuditEntry.objects.order_by("position").values_list("position", "verb")) == [
        (1, "first"),
        (2, "second"),
    ]
    assert AuditEntry.objects.verify().misfit is None


@pytest.mark.django_db(transaction=True)
def test_the_migration_chains_the_lines_that_are_there_and_goes_back(make_person):
    person = make_person("manager")
    executor = MigrationExecutor(connection)
    latest = executor.loader.graph.leaf_nodes("audit")
    executor.migrate([("audit", "0001_first")])
    old = executor.loader.project_state([("audit", "0001_first"), ("people", "0001_first")]).apps
    entries = old.get_model("audit", "AuditEntry").objects
    for number in range(3):
        entries.create(by_id=person.pk, verb=f"old {number}", subject_type="people.user", subject_id="1")
    executor = MigrationExecutor(connection)
    executor.migrate(latest)
    assert AuditEntry.objects.verify()[0::2] == (3, None)
    audit.record(person, "new", person)
    verdict = AuditEntry.objects.verify()
    assert (verdict.lines, verdict.misfit) == (4, None)
    executor = MigrationExecutor(connection)
    executor.migrate([("audit", "0001_first")])
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM audit_auditentry")
        assert cursor.fetchone() == (4,)
    MigrationExecutor(connection).migrate(latest)
    assert AuditEntry.objects.verify()[0::2] == (4, None)
    assert AuditEntry.objects.last().at - timedelta(minutes=5) < person.date_joined
