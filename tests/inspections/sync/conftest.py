import pytest

from tests.inspections.sync.tablet import Tablet
from tests.make import make_visit


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, state="under_way")


@pytest.fixture
def tablet(signed_in, inspector, visit):
    return Tablet(signed_in(inspector), inspector, visit)


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch, settings, tmp_path):
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)
    settings.MEDIA_ROOT = tmp_path
