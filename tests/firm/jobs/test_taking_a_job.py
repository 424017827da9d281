"""The row decides who works; the attempt number fences off whoever was too slow."""

from datetime import timedelta
from threading import Barrier, Thread

import pytest
from django.conf import settings
from django.db import IntegrityError, connection, connections, transaction
from django.utils import timezone

from firm.mail.models import OutgoingMail

LEASE = timedelta(seconds=settings.JOB_LEASE_S)
A_MOMENT = timedelta(seconds=1)


def test_a_waiting_row_is_taken_once(job):
    taken = OutgoingMail.take(job.pk)
    assert (taken.state, taken.attempt) == ("running", 1)
    assert OutgoingMail.take(job.pk) is None


def test_a_row_that_was_put_off_is_not_taken_before_its_time(make_job):
    now = timezone.now()
    job = make_job(available_at=now + timedelta(minutes=1))
    assert OutgoingMail.take(job.pk, now) is None
    assert OutgoingMail.take(job.pk, now + timedelta(minutes=1)) is not None


def test_a_row_whose_lease_ran_out_passes_to_the_next_attempt(job):
    now = timezone.now()
    OutgoingMail.take(job.pk, now)
    assert OutgoingMail.take(job.pk, now + LEASE) is None, "the lease still holds at its last instant"
    assert OutgoingMail.take(job.pk, now + LEASE + A_MOMENT).attempt == 2


def test_a_slow_worker_cannot_overwrite_the_one_that_took_over(job):
    now = timezone.now()
    slow = OutgoingMail.take(job.pk, now - LEASE - A_MOMENT)
    quick = OutgoingMail.take(job.pk, now)
    assert not slow.finish(text="from the slow one")
    assert not slow.fail("from the slow one")
    assert not slow.renew_lease()
    assert not slow.say("from the slow one")
    assert quick.finish(text="from the quick one")
    job.refresh_from_db()
    assert (job.state, job.text, job.error) == ("done", "from the quick one", "")


def test_a_slow_worker_may_still_finish_if_nobody_took_over(job):
    slow = OutgoingMail.take(job.pk, timezone.now() - 2 * LEASE)
    assert slow.finish()
    assert OutgoingMail.take(job.pk) is None


def test_a_row_is_tried_no_more_often_than_it_says(make_job):
    job = make_job(max_attempts=2)
    assert OutgoingMail.take(job.pk).fail("broken", retry_in=timedelta(0))
    second = OutgoingMail.take(job.pk)
    second.fail("still broken", retry_in=timedelta(0))
    job.refresh_from_db()
    assert (job.state, job.error, job.lease_until) == ("failed", "still broken", None)
    assert OutgoingMail.take(job.pk) is None


def test_trying_again_goes_on_counting_so_that_the_fence_holds(make_job):
    job = make_job(max_attempts=1)
    first = OutgoingMail.take(job.pk)
    first.fail("broken")
    assert first.try_again()
    second = OutgoingMail.take(job.pk)
    assert second.attempt == 2
    first.attempt = 1
    assert not first.finish()


def test_a_cancelled_row_is_not_taken_and_its_result_is_refused(job):
    taken = OutgoingMail.take(job.pk)
    assert job.cancel()
    assert not taken.finish()
    assert OutgoingMail.take(job.pk) is None
    assert not job.cancel(), "it is cancelled already"


def test_progress_is_stored_within_its_bounds(job):
    taken = OutgoingMail.take(job.pk)
    assert taken.say("Drawing page 3", 250)
    job.refresh_from_db()
    assert (job.stage, job.progress_percent) == ("Drawing page 3", 100)


def test_the_database_refuses_a_running_row_without_a_lease(job):
    with pytest.raises(IntegrityError), transaction.atomic():
        OutgoingMail.objects.filter(pk=job.pk).update(state="running")


@pytest.mark.django_db(transaction=True)
def test_of_eight_workers_at_one_row_one_gets_it(make_job):
    job, barrier, got = make_job(), Barrier(8), []

    def work():
        try:
            connection.ensure_connection()
            barrier.wait(timeout=10)
            got.append(OutgoingMail.take(job.pk))
        finally:
            connections.close_all()

    threads = [Thread(target=work) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    assert len(got) == 8
    assert [taken.attempt for taken in got if taken] == [1]
