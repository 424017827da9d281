"""The page for whoever runs the machine, and the answer for a watcher."""

import shutil
from datetime import timedelta

import pytest
from django.core.cache import cache
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.backup.models import Backup
from firm.jobs.lines import LINES, LONG, QUICK
from firm.jobs.sweep import seen_key
from firm.mail.models import OutgoingMail
from firm.operations import state


@pytest.fixture
def all_is_well(db, settings, tmp_path, monkeypatch):
    settings.DATA_DIR = settings.MEDIA_ROOT = settings.BACKUP_DIR = settings.BROKER_DIR = tmp_path
    settings.CELERY_BROKER_URL = "folder://localhost//"
    roomy = shutil._ntuple_diskusage(100 * 10**9, 40 * 10**9, 60 * 10**9)
    monkeypatch.setattr(state.shutil, "disk_usage", lambda folder: roomy)
    cache.set_many({seen_key(line): timezone.now() for line in LINES}, timeout=None)
    return Backup.objects.create(
        label="daily", state="done", proved_at=timezone.now(), file_name="soundings-daily.tar", size=5_000_000
    )


@pytest.fixture
def failed_mail(db):
    return OutgoingMail.objects.create(
        kind="visit_confirmed", dedupe_key="x", to="a@example.com", subject="Your visit", text="Hello",
        message_id="<x>", state="failed", attempt=5, finished_at=timezone.now(), error="nobody at the mail server",
    )  # fmt: skip


@pytest.fixture
def page(signed_in, administrator):
    return lambda: signed_in(administrator).get(reverse("operations")).content.decode()


def test_where_all_is_well_nobody_is_alarmed(all_is_well, page):
    assert state.warnings() == []
    html = page()
    assert "Everything runs" in html and "soundings-daily.tar" in html and "Somebody should look" not in html


def test_each_trouble_is_said_in_words(all_is_well, failed_mail, monkeypatch, page):
    later = timezone.now() + timedelta(hours=37)
    Backup.objects.update(missing_files=["photos/1/gone.jpg"])
    cache.set_many({seen_key(line): timezone.now() - timedelta(minutes=3) for line in LINES}, timeout=None)
    full = shutil._ntuple_diskusage(100 * 10**9, 99 * 10**9, 10**9)
    monkeypatch.setattr(state.shutil, "disk_usage", lambda folder: full)
    told = " ".join(state.warnings(later))
    for words in ("for quick work", "for long work", "nearly full", "no backup", "1 files", "1 jobs failed"):
        assert words in told
    assert "Somebody should look" in page()


def test_a_worker_whose_hands_are_full_of_long_jobs_is_not_taken_for_dead(all_is_well):
    cache.set(seen_key(LONG), timezone.now() - timedelta(minutes=3), timeout=None)
    now = timezone.now()
    Backup.objects.create(label="daily", state="running", lease_until=now + timedelta(seconds=15), heartbeat_at=now)
    assert state.warnings() == [] and state.is_ready()
    Backup.objects.filter(state="running").update(heartbeat_at=now - timedelta(minutes=2))
    assert any("No worker" in words for words in state.warnings()) and not state.is_ready()


def test_a_machine_that_has_no_worker_for_long_jobs_is_not_ready_and_says_what_waits(all_is_well, page):
    cache.delete(seen_key(LONG))
    (told,) = state.warnings()
    assert "No worker for long work" in told and "reports, backups and tables wait" in told
    assert not state.is_ready()
    assert "its worker has not been seen yet" in page()


def test_a_failed_job_runs_again_at_a_tap_once_and_is_noted(all_is_well, failed_mail, page, client, administrator):
    assert "nobody at the mail server" in page()
    again = reverse("job-again", args=["mail.outgoingmail", failed_mail.pk])
    for _ in range(2):
        assert client.post(again).status_code == 302
    failed_mail.refresh_from_db()
    assert (failed_mail.state, failed_mail.max_attempts) == ("waiting", 8)
    assert AuditEntry.objects.about(failed_mail).filter(verb="let run again", by=administrator).count() == 1


def test_a_kind_of_job_that_there_is_not_is_not_found(signed_in, administrator):
    for kind in ("people.user", "no.such", "x"):
        assert signed_in(administrator).post(reverse("job-again", args=[kind, administrator.pk])).status_code == 404


def test_a_backup_is_asked_for_by_hand(all_is_well, signed_in, administrator):
    signed_in(administrator).post(reverse("backup-now"))
    assert Backup.objects.filter(label="backup", state="waiting").count() == 1


def test_a_watcher_is_told_whether_work_gets_done_and_nothing_else(all_is_well, client):
    answer = client.get(reverse("ready"))
    assert (answer.status_code, answer.content) == (200, b"ready")
    cache.delete(seen_key(QUICK))
    answer = client.get(reverse("ready"))
    assert (answer.status_code, answer.content) == (503, b"not ready")


@pytest.mark.services
def test_a_broker_that_is_gone_is_noticed_within_seconds(all_is_well, settings, monkeypatch):
    from celery import Celery

    monkeypatch.delenv("CELERY_BROKER_URL")  # Celery prefers it to what it is told
    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1/0"
    monkeypatch.setattr(state, "current_app", Celery("x", broker=settings.CELERY_BROKER_URL))
    assert not state.broker_answers()
    assert not state.is_ready()
