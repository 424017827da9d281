import pytest

from tests.inspections.reports.records import handed_in_visit
from tests.make import make_client, make_property


@pytest.fixture(autouse=True)
def _no_bell(monkeypatch):
    """The rows are made and no worker is told: tests call the work themselves."""
    monkeypatch.setattr("inspections.reports.services.ring", lambda job: None)
    monkeypatch.setattr("inspections.reports.giving.ring", lambda job: None)
    monkeypatch.setattr("inspections.photos.services.ring", lambda job: None)


@pytest.fixture(autouse=True)
def _media_of_its_own(settings, tmp_path):
    """Numbers of visits come again from test to test; their folders must not."""
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def client_with_mail(db):
    return make_client("Ines Hallam", email="ines@mail.example")


@pytest.fixture
def visit(inspector, client_with_mail):
    """Handed in, ready for release, of a client with a mail address."""
    return handed_in_visit(inspector, property=make_property(client_with_mail))


@pytest.fixture(scope="module")
def issued(django_db_setup, django_db_blocker, tmp_path_factory):
    """See `tests.inspections.reports.issued`: drawn once for a module, whose tests only read it."""
    from tests.inspections.reports.issued import issue_once

    with django_db_blocker.unblock():
        return issue_once(tmp_path_factory.mktemp("media"))
