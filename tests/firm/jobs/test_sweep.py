from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from firm.jobs import sweep as sweeping
from firm.jobs.models import RING_AGAIN_AFTER
from firm.jobs.sweep import job_classes, sweep
from firm.jobs.tasks import answer_the_scheduler
from firm.mail.models import OutgoingMail

LONG_AGO = timedelta(minutes=10)


@pytest.fixture
def bells(monkeypatch):
    rung = []

    def ring_now(job_class, pk):
        rung.append(pk)
        return True

    monkeypatch.setattr(sweeping, "ring_now", ring_now)
    return rung


def test_a_row_whose_bell_was_lost_is_rung_for_again(make_job, bells):
    now = timezone.now()
    lost = make_job(rung_at=now - LONG_AGO)
    make_job(rung_at=now)  # told just now: give the worker time
    assert sweep(now) == 1
    assert bells == [lost.pk]


def test_a_row_is_not_rung_for_at_every_sweep(make_job, bells):
    now = timezone.now()
    make_job(rung_at=now - LONG_AGO)
    sweep(now)
    sweep(now + timedelta(seconds=5))
    assert len(bells) == 1
    sweep(now + RING_AGAIN_AFTER)
    assert len(bells) == 2


def test_a_killed_workers_row_is_taken_up_again(make_job, bells):
    now = timezone.now()
    job = make_job(rung_at=now - LONG_AGO)
    OutgoingMail.take(job.pk, now - LONG_AGO)
    assert sweep(now) == 1
    assert OutgoingMail.take(bells[0], now).attempt == 2


def test_a_row_that_is_being_worked_on_is_left_alone(make_job, bells):
    now = timezone.now()
    OutgoingMail.take(make_job(rung_at=now - LONG_AGO).pk, now)
    assert sweep(now) == 0


def test_a_row_that_was_put_off_is_rung_for_at_the_first_sweep_after_its_time(make_job, bells):
    now = timezone.now()
    job = OutgoingMail.take(make_job().pk, now)
    job.fail("broken", retry_in=timedelta(seconds=5))
    assert sweep(timezone.now()) == 0
    assert sweep(timezone.now() + timedelta(seconds=6)) == 1


def test_a_row_that_kills_every_worker_ends_as_failed(make_job, bells):
    now = timezone.now()
    job = make_job(max_attempts=1, rung_at=now - LONG_AGO)
    OutgoingMail.take(job.pk, now - LONG_AGO)
    assert sweep(now) == 0
    job.refresh_from_db()
    assert job.state == "failed"
    assert "stopped in the middle" in job.error


def test_rows_that_are_over_are_left_alone(make_job, bells):
    now = timezone.now()
    for state in ("done", "failed", "cancelled"):
        make_job(state=state, rung_at=now - LONG_AGO)
    assert sweep(now) == 0


def test_a_long_queue_is_rung_for_in_parts_the_oldest_first(make_job, bells, monkeypatch):
    monkeypatch.setattr(sweeping, "MOST_BELLS", 2)
    now = timezone.now()
    jobs = [make_job(rung_at=now - LONG_AGO, available_at=now - timedelta(minutes=age)) for age in (1, 3, 2)]
    sweep(now)
    assert bells == [jobs[1].pk, jobs[2].pk]


def test_the_last_sweep_tells_whether_scheduler_broker_and_worker_are_well(db, monkeypatch):
    with pytest.raises(CommandError, match="never yet"):
        call_command("worker_is_well")
    sweep()
    call_command("worker_is_well", stdout=StringIO())
    later = timezone.now() + timedelta(seconds=61)
    monkeypatch.setattr(sweeping.timezone, "now", lambda: later)
    with pytest.raises(CommandError, match="61 s ago"):
        call_command("worker_is_well")


def test_the_worker_of_the_long_jobs_answers_for_itself(db):
    sweep()
    with pytest.raises(CommandError, match="never yet"):
        call_command("worker_is_well", line="long")
    answer_the_scheduler("long")
    call_command("worker_is_well", line="long", stdout=StringIO())


def test_mail_is_among_the_jobs_that_are_swept():
    assert OutgoingMail in job_classes()
