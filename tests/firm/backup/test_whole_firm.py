"""A backup is restored on another machine, on either kind of database, and nothing is missing."""

import gzip
import hashlib
import itertools
import json
import os
import random
import signal
import subprocess
import tarfile
import threading
import time
from urllib.parse import urlsplit

import pyrage
import pytest
from django.db import connection, connections, transaction
from django.utils import timezone

from firm import audit
from firm.backup import archive
from firm.backup.making import CannotBeMade, make_backup
from firm.clients.models import Client
from firm.mail.models import OutgoingMail
from firm.people import second_factor
from firm.people.models import SecondFactor
from inspections.photos.models import Photo
from inspections.sync.models import ArrivingPhoto, PhotoPiece
from tests.make import make_client, make_visit

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def firm(media, inspector, manager):
    """A small firm with one row of every awkward kind: odd letters, microseconds, fractions, bytes, a waiting mail."""
    visit = make_visit(inspector)
    make_client("Zoë Ωmega-Ñandú \U0001f333 'quoted' \"twice\" \\ back\nnext line")
    audit.record(manager, "measured", visit, {"gap_in": 0.1 + 0.2, "load": 1e22}, {"z": 1, "a": [None, 12.0, "ä"]})
    OutgoingMail.objects.create(
        kind="visit_confirmed", dedupe_key="visit 1 confirmed", to="zoe@example.com", subject="Your visit",
        text="Hello", message_id="<1@example.com>",
    )  # fmt: skip
    arriving = ArrivingPhoto.objects.create(by=inspector, sha256="0" * 64, byte_count=256)
    PhotoPiece.objects.create(photo=arriving, starts_at_byte=0, data=bytes(range(256)))
    (media / "photos" / "1").mkdir(parents=True)
    (media / "photos" / "1" / "ledger nach der Prüfung.jpg").write_bytes(random.Random(1).randbytes(5000))
    (media / "empty").touch()
    return visit


def make_photo(visit, by, name):
    return Photo.objects.create(
        visit=visit, by=by, original=name, sha256=hashlib.sha256(name.encode()).hexdigest(), byte_count=1, width_px=1,
        height_px=1,
    )  # fmt: skip


def told(path):
    """What a backup says: each table's rows and each file's digest; the table of the backups themselves left out."""
    rows, files = {}, {}
    with tarfile.open(path) as tar:
        for about in tar:
            content = tar.extractfile(about).read()
            if about.name.startswith("rows/"):
                lines = gzip.decompress(content).splitlines()
                rows[about.name] = sorted(json.dumps(json.loads(line), sort_keys=True) for line in lines)
            elif about.name.startswith("media/"):
                files[about.name] = hashlib.sha256(content).hexdigest()
    return rows, files


def differing(before, after):
    rows_before, files_before = before
    rows_after, files_after = after
    assert files_after == files_before
    return {name for name in rows_before.keys() | rows_after.keys() if rows_before.get(name) != rows_after.get(name)}


def restored_and_backed_up_again(there, path):
    there.does("restore", path)
    there.does("backup", "--no-trial")
    return told(there.backups()[-1])


def test_on_another_machine_every_row_and_file_is_as_it_was(firm, media, settings, machine):
    made = make_backup(settings.BACKUP_DIR)
    there = machine()
    again = restored_and_backed_up_again(there, made.path)
    assert differing(told(made.path), again) == {"rows/mail.outgoingmail.jsonl.gz"}
    assert "fits together" in there.does("verify_audit")
    [mail] = map(json.loads, again[0]["rows/mail.outgoingmail.jsonl.gz"])
    assert mail["state"] == "failed" and "may have been sent" in mail["error"], "a waiting mail is not sent twice"
    assert made.files == 2 and made.missing_files == []


def test_the_keys_of_authenticator_apps_stay_sealed_and_who_restores_elsewhere_is_told(
    firm, media, settings, machine, inspector
):
    factor = second_factor.begin(inspector)
    SecondFactor.objects.update(confirmed_at=timezone.now())
    made = make_backup(settings.BACKUP_DIR)
    [row] = map(json.loads, told(made.path)[0]["rows/people.secondfactor.jsonl.gz"])
    assert factor.key not in json.dumps(row) and row["secret"] == factor.secret
    there = machine()
    assert "cannot be judged here: 1." in there.does("restore", made.path)
    with_the_key = machine()
    (with_the_key.folder / "secret-key").write_text(settings.SECRET_KEY)
    assert "cannot be judged" not in with_the_key.does("restore", made.path)


@pytest.mark.services
def test_from_one_kind_of_database_to_the_other_and_back(firm, media, settings, machine):
    url, name = urlsplit(os.environ["DATABASE_URL"]), f"soundings_restore_{os.getpid()}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name}")
    try:
        made = make_backup(settings.BACKUP_DIR)
        sqlite, postgres = machine(), machine(url._replace(path=f"/{name}").geturl())
        in_sqlite = restored_and_backed_up_again(sqlite, made.path)
        assert differing(told(made.path), in_sqlite) == {"rows/mail.outgoingmail.jsonl.gz"}
        in_postgres = restored_and_backed_up_again(postgres, sqlite.backups()[-1])
        assert differing(in_sqlite, in_postgres) == set()
        assert "fits together" in postgres.does("verify_audit")
        # The numbers go on: a new row does not take the number of a restored one.
        postgres.does("shell", "-c", "from firm.clients.models import Client; Client.objects.create(name='New')")
        postgres.does("restore", made.path, "--replace")
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


def test_a_used_installation_is_not_overwritten_unless_told_and_then_kept(firm, media, settings, machine):
    made = make_backup(settings.BACKUP_DIR)
    there = machine()
    there.does("restore", made.path)
    refused = there.run("restore", made.path)
    assert refused.returncode == 1 and "nothing was touched" in refused.stderr
    there.does("shell", "-c", "from firm.clients.models import Client; Client.objects.create(name='Later')")
    there.does("restore", made.path, "--replace")
    [kept] = there.backups()
    assert "before-restore" in kept.name
    assert any('"Later"' in row for row in told(kept)[0]["rows/clients.client.jsonl.gz"])
    assert "Later" not in there.does("shell", "-c", "from firm.clients.models import *; print(Client.objects.all())")


def test_a_damaged_file_touches_nothing(firm, media, settings, machine):
    made = make_backup(settings.BACKUP_DIR)
    damaged = bytearray(made.path.read_bytes())
    with tarfile.open(made.path) as tar:
        largest = max(tar, key=lambda about: about.size)
    damaged[largest.offset_data + largest.size // 2] ^= 0xFF  # anywhere might be between two members, where nothing is
    made.path.write_bytes(damaged)
    there = machine()
    answer = there.run("restore", made.path)
    assert answer.returncode == 1 and "was not restored" in answer.stderr
    assert "nothing to back up" in there.run("backup").stderr


def test_an_encrypted_backup_opens_with_its_key_and_with_no_other(firm, media, settings, machine, tmp_path):
    there = machine()
    recipient = there.does("backup_key", tmp_path / "key").split()[0].removeprefix("BACKUP_RECIPIENT=")
    made = make_backup(settings.BACKUP_DIR, recipient=recipient)
    assert made.path.name.endswith(".tar.age") and b"clients" not in made.path.read_bytes()
    assert "encrypted" in there.run("restore", made.path).stderr
    (tmp_path / "other").write_text(str(pyrage.x25519.Identity.generate()))
    assert "does not open" in there.run("restore", made.path, "--key", tmp_path / "other").stderr
    assert "every row as it was" in there.does("check_backup", made.path, "--key", tmp_path / "key")
    assert [left.name for left in there.folder.glob("*.tar")] == [], "the opened file is gone again"


def test_while_people_work_the_backup_shows_one_moment(firm, media, settings, manager):
    """Each client is added together with its audit line: at no moment is one there without the other."""
    stop = threading.Event()

    def keep_adding():
        for number in itertools.count():
            if stop.is_set():
                break
            with transaction.atomic():
                audit.record(manager, "added", Client.objects.create(name=f"Busy {number}"))
        connections.close_all()

    thread = threading.Thread(target=keep_adding)
    thread.start()
    try:
        for _ in range(3):
            time.sleep(1.05)  # the name holds the second
            rows, _ = told(make_backup(settings.BACKUP_DIR).path)
            added = sum('"Busy ' in row for row in rows["rows/clients.client.jsonl.gz"])
            lines = sum('"verb": "added"' in row for row in rows["rows/audit.auditentry.jsonl.gz"])
            assert added == lines > 0
    finally:
        stop.set()
        thread.join()


def test_a_backup_that_is_killed_leaves_nothing_that_looks_like_one(firm, media, settings, machine):
    for number in range(40):
        (media / f"photo {number}").write_bytes(os.urandom(300_000))
    there = machine()
    there.does("restore", make_backup(settings.BACKUP_DIR).path)
    chance = random.Random(11)
    for _ in range(4):
        process = subprocess.Popen(
            there.command("backup", "--no-trial"),
            env=there.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        deadline = time.monotonic() + 60
        while not list((there.folder / "backups").glob("*.unfinished")) and process.poll() is None:
            assert time.monotonic() < deadline
            time.sleep(0.005)
        time.sleep(chance.uniform(0, 0.08))
        process.send_signal(signal.SIGKILL)
        process.communicate()
        for path in (there.folder / "backups").glob("*.tar"):
            archive.check(path)  # killed after the last step: then it must be whole
    there.does("backup", "--no-trial")
    assert archive.check(there.backups()[-1])["files"] == 42


def test_a_row_whose_photo_is_lost_is_reported_and_the_rest_is_kept(firm, media, settings, machine, inspector):
    make_photo(firm, inspector, "photos/1/gone.jpg")
    make_photo(firm, inspector, "photos/1/ledger nach der Prüfung.jpg")
    made = make_backup(settings.BACKUP_DIR)
    assert made.missing_files == ["photos/1/gone.jpg"] and made.files == 2
    there = machine()
    assert "photos/1/gone.jpg" in there.run("restore", made.path).stderr


def test_a_full_disk_is_said_in_words_and_leaves_no_file(firm, media, settings, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("firm.backup.making.os.fsync", full)
    with pytest.raises(CannotBeMade, match="No space left on device"):
        make_backup(settings.BACKUP_DIR)
    assert list(settings.BACKUP_DIR.iterdir()) == []


def test_an_empty_installation_has_nothing_to_back_up(media, settings):
    with pytest.raises(CannotBeMade, match="empty"):
        make_backup(settings.BACKUP_DIR)
