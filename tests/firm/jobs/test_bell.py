import os
import subprocess
import sys

import pytest
from celery import current_app
from django.core.checks import run_checks
from django.db import transaction

from firm.jobs.bell import ring, ring_now
from firm.mail.models import OutgoingMail


@pytest.fixture
def delivered(monkeypatch):
    """The ids that reach the broker."""
    sent = []
    monkeypatch.setattr(current_app.tasks[OutgoingMail.task_name], "delay", sent.append)
    return sent


def test_the_bell_rings_after_the_commit_and_not_before(job, delivered, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        ring(job)
        assert delivered == []
    assert delivered == [job.pk]


@pytest.mark.django_db(transaction=True)
def test_a_change_that_is_rolled_back_rings_no_bell(make_job, delivered):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        ring(make_job())
        1 / 0  # noqa: B018
    assert delivered == []


def test_a_dead_broker_does_not_break_the_request_that_rings(job, monkeypatch):
    def refuse(pk):
        raise ConnectionRefusedError("nobody listens")

    monkeypatch.setattr(current_app.tasks[OutgoingMail.task_name], "delay", refuse)
    assert ring_now(OutgoingMail, job.pk) is False


def test_a_dead_redis_holds_up_the_request_for_seconds_at_most():
    """In a process of its own: Celery keeps the connection to the first broker that it was given."""
    program = (
        "import django, time; django.setup()\n"
        "from firm.jobs.bell import ring_now; from firm.mail.models import OutgoingMail\n"
        "start = time.monotonic(); rung = ring_now(OutgoingMail, 1)\n"
        "print(rung, time.monotonic() - start)"
    )
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "firm.settings",
        "CELERY_BROKER_URL": "redis://127.0.0.1:1/0",  # a port that nobody listens on
        "SECRET_KEY": "for this test only",
    }
    answer = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, text=True, timeout=60, check=True
    )
    rung, seconds = answer.stdout.split()
    assert rung == "False"
    assert float(seconds) < 5


def test_a_job_whose_task_does_not_exist_is_reported_by_the_checks(monkeypatch):
    assert [error for error in run_checks() if error.id == "jobs.E001"] == []
    monkeypatch.setattr(OutgoingMail, "task_name", "nobody.answers")
    assert len([error for error in run_checks() if error.id == "jobs.E001"]) == 1


def test_a_bell_that_comes_twice_does_the_work_once(job, monkeypatch):
    from firm.mail import tasks

    sent = []
    monkeypatch.setattr(tasks, "deliver", sent.append)
    for _ in range(2):
        tasks.deliver_mail(job.pk)
    assert [mail.pk for mail in sent] == [job.pk]
    job.refresh_from_db()
    assert job.state == "done"
