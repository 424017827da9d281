"""Before this version changes the database of an older one, a backup is made; the way back is a restore."""

import json
import tarfile

import pytest

from firm.backup import archive
from firm.backup.making import make_backup
from tests.make import make_visit

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def made(media, settings, inspector):
    make_visit(inspector)
    return make_backup(settings.BACKUP_DIR).path


def test_a_database_that_is_up_to_date_is_left_alone_and_half_a_restored_one_does_not_start(made, machine):
    there = machine()
    there.does("restore", made)
    assert there.does("upgrade") == ""
    assert there.backups() == []
    (there.folder / "restore-was-cut-off").touch()
    answer = there.run("upgrade")
    assert answer.returncode == 1 and "Run the restore again" in answer.stderr


def test_an_older_one_is_backed_up_at_its_own_schema_then_changed_and_can_be_put_back(made, machine):
    there = machine()
    there.does("restore", made)
    there.does("migrate", "backup", "zero")  # as a version without the backup's own table had it
    said = there.does("upgrade")
    [kept] = there.backups()
    assert "before-upgrade" in kept.name and str(kept) in said
    assert "backup" not in archive.check(kept)["schema"]
    assert there.run("migrate", "--check").returncode == 0
    there.does("restore", kept, "--replace")
    assert there.run("migrate", "--check").returncode == 0, "an old backup is brought up to date"


def test_a_backup_of_a_newer_version_is_refused_with_what_it_knows_more(made, machine, tmp_path):
    with tarfile.open(made) as tar:
        content = [(about.name, tar.extractfile(about).read()) for about in tar]
    newer = tmp_path / "newer.tar"
    with newer.open("wb") as stream:
        writer = archive.Writer(stream, tmp_path)
        for name, data in content[:-1]:
            if name == archive.MANIFEST:
                manifest = json.loads(data)
                manifest["schema"]["visits"].append("0999_later")
                data = json.dumps(manifest).encode()
            with writer.member(name) as out:
                out.write(data)
        writer.close()
    answer = machine().run("restore", newer)
    assert answer.returncode == 1 and "visits.0999_later" in answer.stderr and "newer version" in answer.stderr
