"""Photos, mails and reports at once, and workers that are killed at random instants: all of it is there, each once."""

import os
import random
import signal
import time
from collections import Counter
from pathlib import Path

import pytest
from celery import current_app
from django.conf import settings
from django.core.mail.backends.base import BaseEmailBackend
from django.db import connections
from django.db.models import Q
from django.utils import timezone

from firm.jobs.sweep import sweep
from firm.mail.models import OutgoingMail
from firm.mail.services import send_mail_later
from inspections.photos.models import Photo, RenditionJob
from inspections.photos.services import take_in_photo
from inspections.reports.models import Report, ReportBuild, ReportMail
from inspections.reports.services import issue_report
from tests.inspections.photos.files import jpeg_bytes, upload
from tests.inspections.reports.records import handed_in_visit
from tests.make import make_client, make_property, make_visit

SEED = 2026
KILLS = 14
REPORTS, MAILS, PHOTOS = 2, 10, 8
KINDS = (ReportBuild, ReportMail, RenditionJob, OutgoingMail)


class Ledger(BaseEmailBackend):
    """A mail server that writes down what it took: one line a mail, at once."""

    def send_messages(self, messages):
        for message in messages:
            with open(settings.EMAIL_FILE_PATH, "ab") as ledger:
                ledger.write(f"{message.extra_headers['Message-ID']}\n".encode())
        return len(messages)


def work_until_nothing_is_left():
    """What a worker does, told by no bell: whatever waits or was left by a dead one, in no fixed order."""
    draw = random.Random()
    while open_rows := [(kind, pk) for kind in KINDS for pk in waiting(kind)]:
        free = [(kind, pk) for kind, pk in open_rows if kind.objects.filter(is_free(), pk=pk).exists()]
        if not free:
            time.sleep(0.05)
            continue
        kind, pk = draw.choice(free)
        current_app.tasks[kind.task_name](pk)


def waiting(kind):
    return kind.objects.filter(state__in=["waiting", "running"]).values_list("pk", flat=True)


def is_free():
    now = timezone.now()
    return Q(state="waiting", available_at__lte=now) | Q(state="running", lease_until__lt=now)


def started():
    """A worker of its own, forked from here so that it need not read its code first."""
    connections.close_all()
    pid = os.fork()
    if pid:
        return pid
    try:
        # Where a browser test ran before, its loop hides this thread's own connections from the test, but not from its
        # forks: one that was left open would be spoken over by all of them at once.
        for inherited in connections.all(initialized_only=True):
            del connections[inherited.alias]
        work_until_nothing_is_left()
    finally:
        os._exit(0)  # this copy of the test must do nothing more


def ended(pid):
    return os.waitpid(pid, os.WNOHANG)[0] == pid


@pytest.fixture
def workers():
    """The numbers of those that live; whatever happens, none outlives the test."""
    alive = set()
    yield alive
    for pid in alive:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)


@pytest.mark.django_db(transaction=True)
def test_all_of_it_is_there_once_after_many_kills(inspector, manager, settings, tmp_path, monkeypatch, workers):
    settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH = tmp_path / "media", str(tmp_path / "ledger")
    settings.EMAIL_BACKEND = f"{__name__}.Ledger"
    settings.JOB_LEASE_S, settings.JOB_HEARTBEAT_S = 1, 0.2
    monkeypatch.setattr("firm.jobs.bell.ring_now", lambda *_: False)
    monkeypatch.setattr("firm.jobs.sweep.ring_now", lambda *_: False)

    for number in range(REPORTS):
        client = make_client(f"Client {number}", email=f"client-{number}@mail.example")
        issue_report(handed_in_visit(inspector, property=make_property(client), photo=False), by=manager)
    visit = make_visit(inspector, state="under_way", begun_at=timezone.now())
    for number in range(PHOTOS):
        take_in_photo(visit, upload(jpeg_bytes(1800, 1400, seed=number)), by=inspector)
    broken = jpeg_bytes(900, 700, seed=99)
    take_in_photo(visit, upload(broken[: len(broken) // 2] + bytes(len(broken) // 2)), by=inspector)
    for number in range(MAILS):
        told = {"to": f"owner-{number}@mail.example", "subject": "Your visit", "text": "On Monday"}
        send_mail_later(**told, kind="test", dedupe_key=f"visit {number}")
    for kind in KINDS:  # the default of five attempts is for work that fails, not for what is shot at on purpose
        kind.objects.update(max_attempts=1000)

    draw, kills = random.Random(SEED), 0
    until = time.monotonic() + 120
    while any(waiting(kind).exists() for kind in KINDS):
        assert time.monotonic() < until, {kind.__name__: list(kind.objects.values("state", "error")) for kind in KINDS}
        while len(workers) < 2:
            workers.add(started())
        time.sleep(draw.uniform(0.02, 0.9) if kills < KILLS else 0.2)
        if kills < KILLS:
            victim = draw.choice(sorted(workers))
            os.kill(victim, signal.SIGKILL)
            os.waitpid(victim, 0)
            workers.discard(victim)
            kills += 1
        workers.difference_update([pid for pid in workers if ended(pid)])
        sweep()
        ReportMail.objects.filter(max_attempts__lt=1000).update(max_attempts=1000)  # those that came with a report
    assert kills == KILLS, "so little work that it was over before the last kill"

    for photo in Photo.objects.all():
        assert bool(photo.refused_because) != photo.is_ready
        for file in (photo.screen, photo.printable, photo.thumb) if photo.is_ready else ():
            assert file.storage.exists(file.name) and file.size > 0
    assert Photo.objects.exclude(refused_because="").count() == 1

    reports = list(Report.objects.all())
    drawn = sorted(path.name for path in Path(settings.MEDIA_ROOT, "reports").rglob("*.pdf"))
    assert len(reports) == REPORTS and drawn == sorted(Path(report.pdf.name).name for report in reports)

    sent = Path(settings.EMAIL_FILE_PATH).read_text().split()
    assert ReportMail.objects.filter(state="done").count() == REPORTS
    assert OutgoingMail.objects.filter(state="done").count() == MAILS
    # Only one whom the kill meets between the server's "accepted" and our note of it may come again: see DEVELOPERS.md.
    assert REPORTS + MAILS <= len(sent) <= REPORTS + MAILS + 1, Counter(sent)
    assert {mail.message_id for mail in OutgoingMail.objects.all()} <= set(sent)
