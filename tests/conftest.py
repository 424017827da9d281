"""What all tests share: nothing is written outside temporary folders, and one person per role to sign in as."""

import os
import shutil
import tempfile
from pathlib import Path

import pytest

ROLES = {
    "office": {"is_office": True},
    "inspector": {"is_inspector": True},
    "manager": {"is_manager": True},
    "administrator": {"is_administrator": True},
}


def pytest_configure(config):
    from django.conf import settings

    folder = Path(tempfile.mkdtemp(prefix="soundings-test-"))
    settings.DATA_DIR = folder
    settings.MEDIA_ROOT = folder / "media"
    settings.EMAIL_FILE_PATH = folder / "mail"
    settings.STATIC_ROOT = folder / "static"
    settings.STATIC_ROOT.mkdir()
    config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))
    # The hashed names exist only after collectstatic; tests take the files where they lie.
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # quick; Argon2 has its own test
    if settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        # In a file, as in use: a database in memory locks whole tables and does not wait.
        settings.DATABASES["default"].setdefault("TEST", {})["NAME"] = str(folder / "test.sqlite3")
        settings.DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
    from firm.celery import app

    if "CELERY_BROKER_URL" not in os.environ:
        app.conf.broker_url = "memory://"
        app.conf.broker_transport_options = {}
    elif worker := os.environ.get("PYTEST_XDIST_WORKER"):
        # One of several processes that run the suite together: a Redis database of its own, counted down.
        server, _, number = os.environ["CELERY_BROKER_URL"].rpartition("/")
        broker = f"{server}/{int(number) - int(worker.removeprefix('gw'))}"
        os.environ["CELERY_BROKER_URL"] = settings.CELERY_BROKER_URL = app.conf.broker_url = broker


@pytest.fixture(autouse=True)
def _an_empty_cache():
    from django.core.cache import cache

    cache.clear()


@pytest.fixture
def make_person(db):
    """`make_person("inspector", "manager", username="pat")`: a person with these roles, password "open sesame 12"."""
    from firm.people.models import User

    def make(*roles, username=None, **fields):
        held = {flag: True for role in roles for flag in ROLES[role]}
        username = username or "-".join(roles) or "nobody"
        return User.objects.create_user(username, password="open sesame 12", **held, **fields)

    return make


@pytest.fixture
def office(make_person):
    return make_person("office")


@pytest.fixture
def inspector(make_person):
    return make_person("inspector")


@pytest.fixture
def manager(make_person):
    return make_person("manager")


@pytest.fixture
def administrator(make_person):
    return make_person("administrator")


@pytest.fixture
def signed_in(client):
    """`signed_in(person)`: the test client, signed in as that person and seen at its device a moment ago."""
    from django.core.cache import cache

    def sign_in(person):
        client.force_login(person)
        cache.set(f"device-{client.session.session_key}", 1)
        return client

    return sign_in


@pytest.fixture(autouse=True, scope="session")
def _tests_may_empty_what_is_guarded():
    """A test with transactions of its own empties every table at its end, which the guards would refuse."""
    from django.db import connection
    from django.test import TransactionTestCase

    from firm.audit import triggers
    from inspections.outside import guard as accepted
    from inspections.reports import guard

    empty = TransactionTestCase._fixture_teardown

    def empty_unguarded(self):
        triggers.lift(connection)
        guard.lift(connection)
        accepted.lift(connection)
        try:
            empty(self)
        finally:
            triggers.put(connection)
            guard.put(connection)
            accepted.put(connection)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", empty_unguarded)
        yield


def pytest_collection_modifyitems(config, items):
    """The tests that need real servers are left out unless SERVICES=1 says that they are there."""
    if os.environ.get("SERVICES") != "1":
        left_out = [item for item in items if item.get_closest_marker("services")]
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if not item.get_closest_marker("services")]


@pytest.fixture
def install(tmp_path):
    """`install(EMAIL_URL=...)`: a copy of the application that a test may start and kill."""
    from tests.installation import Installation, copy_checkout

    installed = []

    def make(**environment):
        folder = (tmp_path / f"copy{len(installed)}").resolve()
        copy_checkout(folder)
        installed.append(Installation(folder, **environment))
        return installed[-1]

    yield make
    for one in installed:
        one.clear_away()


@pytest.fixture
def mail_server():
    """A mail server that can be made to wait."""
    import threading

    from tests.mail_server import MailServer

    server = MailServer()
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.may_accept.set()
    server.shutdown()
    server.server_close()
