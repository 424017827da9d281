import logging
from datetime import timedelta

from django.utils import timezone

from firm.jobs.work import GiveUp, backoff, run_job
from firm.mail.models import OutgoingMail


def test_the_fields_that_the_work_returns_are_stored_with_the_state(job):
    assert run_job(OutgoingMail, job.pk, lambda job: {"text": "done by " + job.subject})
    job.refresh_from_db()
    assert (job.state, job.text, job.progress_percent) == ("done", "done by A test", 100)
    assert job.finished_at is not None


def test_work_that_was_done_is_not_done_again(job):
    calls = []
    for _ in range(3):
        run_job(OutgoingMail, job.pk, calls.append)
    assert len(calls) == 1


def test_an_error_puts_the_row_off_and_stays_readable_in_it(job, caplog):
    def break_down(job):
        raise OSError("the disk is full")

    before = timezone.now()
    with caplog.at_level(logging.CRITICAL):
        assert not run_job(OutgoingMail, job.pk, break_down)
    job.refresh_from_db()
    assert (job.state, job.error) == ("waiting", "OSError: the disk is full")
    assert job.available_at >= before + backoff(1)


def test_giving_up_ends_the_row_at_the_first_attempt(job):
    def give_up(job):
        raise GiveUp("no such address")

    assert not run_job(OutgoingMail, job.pk, give_up)
    job.refresh_from_db()
    assert (job.state, job.error, job.attempt) == ("failed", "no such address", 1)


def test_a_result_that_comes_too_late_is_not_counted_as_finished(job):
    def lose_the_row(mine):
        OutgoingMail.objects.filter(pk=mine.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
        OutgoingMail.take(mine.pk)
        return {"text": "too late"}

    assert not run_job(OutgoingMail, job.pk, lose_the_row)
    job.refresh_from_db()
    assert (job.state, job.attempt, job.text) == ("running", 2, "Nothing.")


def test_the_wait_grows_with_each_attempt_up_to_five_minutes():
    waits = [backoff(attempt).total_seconds() for attempt in range(1, 8)]
    assert waits == sorted(waits)
    assert (waits[0], waits[-1]) == (5, 300)
