import pytest

from tests.make import make_visit


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, state="under_way")


@pytest.fixture(autouse=True)
def _media_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)
