import subprocess
import sys

import pytest

from tests.installation import ROOT


class Machine:
    """Another machine with nothing on it but the program: its commands run in processes of their own."""

    def __init__(self, folder, environment, database_url=None):
        self.folder = folder
        ours = ("DATABASE_URL", "CELERY_BROKER_URL", "EMAIL_URL", "PUBLIC_URL", "MEDIA_ROOT")
        clean = {name: value for name, value in environment.items() if name not in ours}
        self.environment = {**clean, "SOUNDINGS_SETUP": "no", "SOUNDINGS_DATA": str(folder)}
        if database_url:
            self.environment["DATABASE_URL"] = database_url

    def command(self, *words):
        return [sys.executable, str(ROOT / "manage.py"), *map(str, words)]

    def run(self, *words):
        return subprocess.run(self.command(*words), env=self.environment, capture_output=True, text=True, timeout=120)

    def does(self, *words):
        answer = self.run(*words)
        assert answer.returncode == 0, answer.stderr
        return answer.stdout

    def backups(self):
        return sorted((self.folder / "backups").glob("*.tar*"))


@pytest.fixture
def machine(tmp_path_factory, monkeypatch):
    """`machine()`, or `machine("postgres://...")`: an empty installation elsewhere."""
    import os

    def make(database_url=None):
        return Machine(tmp_path_factory.mktemp("machine"), dict(os.environ), database_url)

    return make


@pytest.fixture
def media(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.BACKUP_DIR = tmp_path / "backups"
    settings.MEDIA_ROOT.mkdir()
    return settings.MEDIA_ROOT
