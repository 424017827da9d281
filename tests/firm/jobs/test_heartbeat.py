import time

import pytest
from django.utils import timezone

from firm.mail.models import OutgoingMail

pytestmark = pytest.mark.django_db(
    transaction=True
)  # the thread has its own connection and sees only what is committed


def wait_until(true, within_s=5):
    deadline = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < deadline, "it never came true"
        time.sleep(0.02)


def test_work_that_takes_longer_than_the_lease_keeps_its_row(make_job, settings):
    settings.JOB_LEASE_S, settings.JOB_HEARTBEAT_S = 0.5, 0.1
    job = OutgoingMail.take(make_job().pk)
    with job.kept_alive() as heartbeat:
        time.sleep(1.2)
        assert OutgoingMail.take(job.pk) is None
        assert not heartbeat.is_lost
    assert job.finish()


def test_the_lease_runs_out_once_the_heart_stands_still(make_job, settings):
    settings.JOB_LEASE_S, settings.JOB_HEARTBEAT_S = 0.3, 0.1
    job = OutgoingMail.take(make_job().pk)
    with job.kept_alive():
        pass
    wait_until(lambda: OutgoingMail.take(job.pk) is not None)


def test_a_worker_is_told_when_its_row_was_cancelled(make_job, settings):
    settings.JOB_HEARTBEAT_S = 0.05
    job = OutgoingMail.take(make_job().pk)
    with job.kept_alive() as heartbeat:
        OutgoingMail.objects.get(pk=job.pk).cancel()
        wait_until(lambda: heartbeat.is_lost)


def test_the_heart_stops_when_the_work_breaks_down(make_job, settings):
    settings.JOB_HEARTBEAT_S = 0.05
    job = OutgoingMail.take(make_job().pk)
    with pytest.raises(ZeroDivisionError), job.kept_alive() as heartbeat:
        1 / 0  # noqa: B018
    assert not heartbeat.is_alive()
    before = OutgoingMail.objects.get(pk=job.pk).heartbeat_at
    time.sleep(0.2)
    assert OutgoingMail.objects.get(pk=job.pk).heartbeat_at == before <= timezone.now()
