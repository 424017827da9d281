"""A clock that jumps by a day: no job is done twice for it, and none is lost."""

from datetime import timedelta

import pytest
from django.utils import timezone

from firm.jobs.sweep import sweep
from firm.mail.models import OutgoingMail
from tests.firm.jobs.conftest import make_job

A_DAY = timedelta(days=1)


@pytest.fixture
def clock(monkeypatch):
    """`clock(timedelta)`: the machine's clock jumps by so much."""
    real, ahead = timezone.now, [timedelta(0)]
    monkeypatch.setattr(timezone, "now", lambda: real() + ahead[0])

    def jump(by):
        ahead[0] += by

    return jump


@pytest.fixture
def rung(monkeypatch):
    rows = []
    monkeypatch.setattr("firm.jobs.sweep.ring_now", lambda kind, pk: rows.append(pk) or True)
    return rows


def test_a_jump_ahead_passes_the_row_on_and_the_first_worker_changes_nothing_any_more(db, clock):
    job = make_job()
    first = OutgoingMail.take(job.pk)
    clock(A_DAY)
    second = OutgoingMail.take(job.pk)
    assert second is not None and second.attempt == 2, "the lease looks run out"
    assert first.renew_lease() is False and first.finish(sent_at=timezone.now()) is False
    assert second.finish(sent_at=timezone.now()) is True


def test_a_jump_ahead_that_the_worker_survives_costs_nothing_once_it_renews_its_lease(db, clock):
    job = make_job()
    held = OutgoingMail.take(job.pk)
    clock(A_DAY)
    assert held.renew_lease() is True
    assert OutgoingMail.take(job.pk) is None
    assert held.finish() is True


def test_a_jump_back_leaves_the_row_with_its_worker(db, clock):
    job = make_job()
    clock(A_DAY)
    held = OutgoingMail.take(job.pk)
    clock(-A_DAY)
    sweep()
    assert OutgoingMail.take(job.pk) is None
    assert held.renew_lease() is True, "with the new time"
    clock(timedelta(minutes=1))
    assert OutgoingMail.take(job.pk) is not None, "its lease runs out by the new clock"


def test_the_row_of_a_worker_that_was_killed_before_a_jump_back_does_not_wait_for_a_day(db, clock, rung):
    job = make_job()
    clock(A_DAY)
    OutgoingMail.take(job.pk)
    OutgoingMail.objects.update(rung_at=timezone.now())
    clock(-A_DAY)
    sweep()
    clock(timedelta(minutes=1))
    sweep()
    assert rung == [job.pk]
    assert OutgoingMail.take(job.pk).attempt == 2


def test_what_was_asked_for_before_a_jump_back_is_not_put_off_by_it(db, clock, rung):
    clock(A_DAY)
    job = make_job(available_at=timezone.now(), rung_at=timezone.now())
    clock(-A_DAY)
    sweep()
    clock(timedelta(minutes=1))
    sweep()
    assert rung == [job.pk]


def test_what_is_put_off_on_purpose_goes_on_waiting(db, clock, rung):
    make_job(available_at=timezone.now() + timedelta(hours=5), rung_at=timezone.now() - A_DAY)
    sweep()
    assert rung == []
    clock(timedelta(hours=5, minutes=1))
    sweep()
    assert len(rung) == 1
