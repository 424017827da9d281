"""The day's backup: asked for once, made by the worker, proved, and said to have failed in words."""

import os
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from firm.backup import services
from firm.backup.making import remove_unfinished
from firm.backup.models import Backup
from firm.backup.proving import NotProved, prove
from firm.jobs.work import run_job

HERE = ZoneInfo("America/New_York")


def at(day, hour, minute=0):
    return datetime(2026, 11, day, hour, minute, tzinfo=HERE)


@pytest.mark.parametrize(
    ("now", "due"),
    [
        (at(25, 2), at(25, 2)),
        (at(25, 1, 59), at(24, 2)),
        (at(25, 23, 59), at(25, 2)),
        (at(1, 12), at(1, 2)),  # the day on which the clock was put back
        (
            datetime(2026, 3, 8, 12, tzinfo=HERE),
            datetime(2026, 3, 8, 7, tzinfo=ZoneInfo("UTC")),
        ),  # 2 o'clock is no time
    ],
)
def test_it_is_due_at_two_in_the_morning_by_the_firms_clock(now, due):
    assert services.last_due(now) == due


@pytest.fixture
def asked(manager, monkeypatch):
    """When asked at a moment, the row's own time is that moment."""

    def ask(now):
        backup = services.ask_if_due(now)
        if backup:
            Backup.objects.filter(pk=backup.pk).update(created_at=now)
        return backup

    return ask


def test_one_a_day_and_after_a_night_switched_off_in_the_morning(asked):
    first = asked(at(24, 9))
    assert first.label == "daily"
    assert asked(at(24, 10)) is None, "it waits"
    Backup.objects.update(state="done")
    assert asked(at(25, 1)) is None, "the day's is made"
    assert asked(at(25, 2, 5)) is not None


def test_one_that_failed_is_tried_again_an_hour_later(asked):
    asked(at(24, 9))
    Backup.objects.update(state="failed", finished_at=at(24, 9, 1))
    assert asked(at(24, 9, 30)) is None
    assert asked(at(24, 10, 2)) is not None


def test_an_empty_installation_and_one_that_wants_none_are_not_asked(db, settings, make_person):
    assert services.ask_if_due() is None
    make_person("office")
    settings.BACKUP_DAILY = False
    assert services.ask_if_due() is None


@pytest.mark.django_db(transaction=True)
def test_the_worker_makes_it_proves_it_and_notes_what_it_made(media, settings, manager):
    backup = services.ask("daily")
    assert run_job(Backup, backup.pk, services.make)
    backup.refresh_from_db()
    [path] = settings.BACKUP_DIR.iterdir()
    assert (backup.state, backup.file_name, backup.size) == ("done", path.name, path.stat().st_size)
    assert backup.row_count >= 2 and backup.proved_at is not None


@pytest.mark.django_db(transaction=True)
def test_one_that_cannot_be_restored_is_not_kept_and_says_why(media, settings, manager, monkeypatch):
    def refuse(archive):
        raise NotProved("The rows of visits.visit did not come back as they were.")

    monkeypatch.setattr(services, "prove", refuse)
    backup = services.ask("daily")
    assert not run_job(Backup, backup.pk, services.make)
    backup.refresh_from_db()
    assert backup.state == "failed" and "did not come back" in backup.error
    assert list(settings.BACKUP_DIR.iterdir()) == []


@pytest.mark.django_db(transaction=True)
def test_what_a_killed_backup_left_is_cleared_away_after_a_day(media, settings, manager, monkeypatch):
    monkeypatch.setattr(services, "prove", lambda archive: None)
    settings.BACKUP_DIR.mkdir()
    old, new = (settings.BACKUP_DIR / f"soundings-daily-{n}.tar.unfinished" for n in (1, 2))
    for path in (old, new):
        path.touch()
    yesterday = (timezone.now() - timedelta(days=2)).timestamp()
    os.utime(old, (yesterday, yesterday))
    run_job(Backup, services.ask("daily").pk, services.make)
    assert new.exists() and not old.exists()


def test_of_a_backup_that_was_killed_in_its_trial_no_rows_lie_about_in_the_open(db, settings, tmp_path):
    """The trial's database is not encrypted, even where the backups are."""
    folder = tmp_path / "usb"
    names = ("soundings-trial-1a", "soundings-manual-1.tar.unfinished-age", "soundings-manual-1.tar", "trial-of-mine")
    for name in names:
        kept = folder / name / "soundings.sqlite3" if "trial" in name else folder / name
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(b"rows")
    yesterday = (timezone.now() - timedelta(days=2)).timestamp()
    for name in names:
        os.utime(folder / name, (yesterday, yesterday))
    (folder / "soundings-trial-2b").mkdir()  # one that runs
    remove_unfinished(folder)
    assert {path.name for path in folder.iterdir()} == {
        "soundings-manual-1.tar", "trial-of-mine", "soundings-trial-2b",
    }  # fmt: skip


def test_a_trial_lies_where_what_it_leaves_is_found(tmp_path, monkeypatch):
    seen = []

    def look(words, **told):
        seen.append(told["env"]["SOUNDINGS_DATA"])
        return SimpleNamespace(returncode=0)

    monkeypatch.setattr("firm.backup.proving.subprocess.run", look)
    prove(tmp_path / "soundings-manual-1.tar.unfinished")
    assert Path(seen[0]).parent == tmp_path and Path(seen[0]).name.startswith("soundings-trial-")
