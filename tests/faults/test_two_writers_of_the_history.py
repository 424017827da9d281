"""Two who commit at once, one of whom refers to a row that the other holds: each waits, neither for ever."""

import threading

import pytest
from django.db import DatabaseError, connection, connections, transaction

from firm import audit
from firm.audit.models import AuditEntry
from firm.people.models import User
from tests.installation import wait_until

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def waits_for_a_lock():
    """Whether a commit of ours waits for somebody."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
        return cursor.fetchone()[0] > 0


def test_a_line_about_somebody_who_is_being_changed_waits_without_holding_up_the_trail(manager, inspector, office):
    failed = []

    def refer():
        """The second line refers to the inspector, whose row somebody holds; the first is chained before it or not."""
        try:
            with transaction.atomic():
                audit.record(manager, "first", manager)
                audit.record(inspector, "second", manager)
        except DatabaseError as error:
            failed.append(error)
        finally:
            connections.close_all()

    with transaction.atomic():
        User.objects.select_for_update().get(pk=inspector.pk)
        audit.record(office, "changed", inspector)
        other = threading.Thread(target=refer)
        other.start()
        wait_until(waits_for_a_lock, 20, "the other commit")
    other.join(20)
    assert failed == []
    assert sorted(AuditEntry.objects.values_list("verb", flat=True)) == ["changed", "first", "second"]
    assert AuditEntry.objects.verify().misfit is None
