"""What killed processes leave behind goes by itself; what is still being written stays."""

import os
from datetime import timedelta

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from firm.operations.tidying import Tidied, tidy


@pytest.fixture(autouse=True)
def folders(db, settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH = tmp_path, tmp_path / "media", tmp_path / "mail"


def lies_there(path, age):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"half")
    then = (timezone.now() - age).timestamp()
    os.utime(path, (then, then))
    return path


@pytest.mark.parametrize("name", ["media/photos/7/.0f1e.part", "mail/.x@y.part", "opened-backup-ab12.tar"])
def test_a_file_that_was_left_half_written_is_cleared_away_a_day_later(tmp_path, name):
    left = lies_there(tmp_path / name, timedelta(hours=25))
    assert tidy().files == 1
    assert not left.exists()


@pytest.mark.parametrize("name", ["media/photos/7/.0f1e.part", "opened-backup-ab12.tar"])
def test_one_that_is_being_written_stays(tmp_path, name):
    new = lies_there(tmp_path / name, timedelta(hours=2))
    assert tidy().files == 0
    assert new.exists()


@pytest.mark.parametrize("name", ["media/photos/7/beam.part", "media/photos/7/.hidden.jpg", "soundings.sqlite3"])
def test_nothing_else_is_touched_however_old(tmp_path, name):
    old = lies_there(tmp_path / name, timedelta(days=900))
    tidy()
    assert old.exists()


def test_what_an_upload_leaves_when_its_process_is_killed_is_one_of_these(tmp_path, monkeypatch):
    """The name that the storage writes under is the name that is looked for."""
    monkeypatch.setattr("firm.web.storage.os.unlink", lambda path: None)  # as if it never came to it
    monkeypatch.setattr("firm.web.storage.WholeFiles._give_name", lambda self, aside, name: name)
    default_storage.save("photos/7/beam.jpg", ContentFile(b"whole"))
    assert tidy(timezone.now() + timedelta(hours=25)).files == 1


def test_a_file_that_goes_while_we_look_is_no_trouble(tmp_path, monkeypatch):
    lies_there(tmp_path / "media/.a.part", timedelta(days=2)).unlink()
    monkeypatch.setattr("firm.operations.tidying._half_written", lambda: [tmp_path / "media/.a.part"])
    assert tidy() == Tidied(0, 0)


def test_sessions_that_ran_out_go_and_the_others_stay():
    for days in (-1, 3):
        store = SessionStore()
        store["who"] = "somebody"
        store.set_expiry(timezone.now() + timedelta(days=days))
        store.save()
    assert tidy().sessions == 1
    assert Session.objects.count() == 1


def test_the_scheduler_has_it_done():
    from firm.celery import app

    app.finalize()
    scheduled = {entry["task"] for entry in app.conf.beat_schedule.values()}
    assert "firm.operations.tidy" in scheduled and "firm.operations.tidy" in app.tasks
