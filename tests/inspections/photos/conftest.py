import pytest

from tests.make import make_visit


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, state="under_way")


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    """The rows are made and no worker is told: tests call the work themselves."""
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture(autouse=True)
def _media_of_its_own(settings, tmp_path):
    """Numbers of visits come again from test to test; their folders must not."""
    settings.MEDIA_ROOT = tmp_path
